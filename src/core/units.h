/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units as logs write them, and how they become the project's own. */
#ifndef KARTWRIGHT_CORE_UNITS_H
#define KARTWRIGHT_CORE_UNITS_H

enum kw_quantity {
    KW_QUANTITY_NONE,
    KW_QUANTITY_ENGINE_SPEED, /* rpm */
    KW_QUANTITY_TEMPERATURE,  /* C */
    KW_QUANTITY_SPEED,        /* m/s */
    KW_QUANTITY_TIME,         /* s */
    KW_QUANTITY_ANGLE,        /* degrees */
    KW_QUANTITY_FRACTION,     /* 0 to 1 */
    KW_QUANTITY_ACCELERATION, /* m/s2 */
    KW_QUANTITY_VOLTAGE,      /* V */
    KW_QUANTITY_OTHER         /* known to be none of these */
};

/* value in our unit = value in the log * factor + offset.
 *
 * name     as shown to a person: "km/h".
 * aliases  other ways to write it, lower case, no accents, spaces, dots or
 *          degree signs; separated by spaces. */
struct kw_unit {
    const char *name;
    enum kw_quantity quantity;
    double factor;
    double offset;
    const char *aliases;
};

/* Finds a unit of a quantity by one of its aliases; of engine speed also by a
 * plain factor before or behind one ("x10rpm", "rpm/10", "1/10rpm").
 *
 * text     written as the aliases are.
 * returns  constant; NULL for none. */
const struct kw_unit *kw_unit_find(enum kw_quantity quantity, const char *text);

/* Finds a unit by its name, as it is shown.
 *
 * returns  constant; NULL for none. */
const struct kw_unit *kw_unit_named(const char *name);

/* The unit of a factor that is meant the other way round: "0.1 rpm" for "rpm x
 * 10".
 *
 * returns  constant; NULL for a unit of engine speed without a factor, and for
 *          any other. */
const struct kw_unit *kw_unit_turned(const struct kw_unit *unit);

/* Finds a unit of any quantity by an alias: is this word a unit at all? */
const struct kw_unit *kw_unit_find_any(const char *text);

#endif
