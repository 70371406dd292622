/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units where they stand in a heading or in the row of units below it.
 *
 * Between brackets, as the last words, or as all that there is; folded first,
 * with their blanks left out. */
#include "import/heading_units.h"

#include "import/fold.h"

#include <string.h>

enum kw_quantity kw_role_quantity(enum kw_role role)
{
    /* A role that is not named here holds a plain number: zero is
     * KW_QUANTITY_NONE. */
    static const enum kw_quantity quantities[KW_N_ROLES] = {
        [KW_ROLE_TIME] = KW_QUANTITY_TIME,
        [KW_ROLE_RPM] = KW_QUANTITY_ENGINE_SPEED,
        [KW_ROLE_EGT] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_SPEED] = KW_QUANTITY_SPEED,
        [KW_ROLE_LATITUDE] = KW_QUANTITY_ANGLE,
        [KW_ROLE_LONGITUDE] = KW_QUANTITY_ANGLE,
        [KW_ROLE_WATER_TEMP] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_HEAD_TEMP] = KW_QUANTITY_TEMPERATURE,
        [KW_ROLE_THROTTLE] = KW_QUANTITY_FRACTION,
        [KW_ROLE_AXLE_RPM] = KW_QUANTITY_ENGINE_SPEED,
        [KW_ROLE_ACCEL_LONG] = KW_QUANTITY_ACCELERATION,
        [KW_ROLE_ACCEL_LAT] = KW_QUANTITY_ACCELERATION,
        [KW_ROLE_BATTERY_V] = KW_QUANTITY_VOLTAGE,
    };
    return role < KW_N_ROLES ? quantities[role] : KW_QUANTITY_NONE;
}

/* Finds the unit in a stretch of folded text, its spaces left out. A quantity
 * of none asks for a unit of any. */
const struct kw_unit *kw_unit_in(const char *text,
                                 size_t length,
                                 enum kw_quantity quantity)
{
    /* "deg / s" and "deg/s" are one unit. Longer than any spelling in the
     * table; what is cut off cannot match. */
    char squeezed[32];
    size_t n = 0;
    for (size_t i = 0; i < length && n + 1 < sizeof squeezed; i++) {
        if (text[i] != ' ')
            squeezed[n++] = text[i];
    }
    squeezed[n] = '\0';
    if (n == 0)
        return NULL;
    return quantity == KW_QUANTITY_NONE ? kw_unit_find_any(squeezed)
                                        : kw_unit_find(quantity, squeezed);
}

/* A unit between brackets; NULL where there are none, or none with a unit. */
static const struct kw_unit *unit_in_brackets(const char *folded,
                                              enum kw_quantity quantity)
{
    for (const char *p = folded; *p != '\0'; p++) {
        if (strchr("([{<", *p) == NULL)
            continue;
        const size_t length = strcspn(p + 1, ")]}>");
        const struct kw_unit *unit = kw_unit_in(p + 1, length, quantity);
        if (unit != NULL)
            return unit;
    }
    return NULL;
}

/* "RPM [rps]" says it in plain letters. */
static bool says_turns_a_second(const char *folded)
{
    static const char *const plain[] = {"rps", "rev/s", "revs/s", "r/s", "u/s"};
    for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++) {
        if (strstr(folded, plain[i]) != NULL)
            return true;
    }
    return false;
}

static bool is_turns_a_second(const struct kw_unit *unit)
{
    return unit != NULL && unit == kw_unit_named("rev/s");
}

/* Hertz are turns in a second only where nothing else in the heading may have
 * them: in "RPM 20 Hz" they are how often it was read. */
bool kw_unit_is_doubtful(const struct kw_unit *unit,
                         const char *folded_heading,
                         const char *folded_cell)
{
    const bool may_be_readings = strstr(folded_heading, "rpm") != NULL ||
                                 strpbrk(folded_heading, "23456789") != NULL;
    return is_turns_a_second(unit) && may_be_readings &&
           !says_turns_a_second(folded_heading) &&
           !says_turns_a_second(folded_cell);
}

/* The K of "EGT type K" is the pair of metals (IEC 60584-1), not kelvin. */
static bool is_kind_of_probe(const char *folded, size_t at)
{
    static const char *const words[] = {
        "type ", "typ ", "tipo ", "tc ", "thermocouple ", "termocoppia "};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        const size_t n = strlen(words[i]);
        const bool whole = at >= n && (at == n || folded[at - n - 1] == ' ');
        if (whole && memcmp(folded + at - n, words[i], n) == 0)
            return true;
    }
    return false;
}

/* A unit as the last word or words: "EGT C", "speed_km/h", "Zeit / s". */
static const struct kw_unit *unit_at_end(const char *folded,
                                         enum kw_quantity quantity)
{
    const size_t length = strlen(folded);
    /* From the left, so that the longest end is tried first: of "speed km/h"
     * that is "km/h" and not "h". */
    for (size_t i = 1; i < length; i++) {
        /* A factor has its sign with it: "Engine speed/10". */
        const bool factor =
            (folded[i] == '/' || folded[i] == '*') && folded[i + 1] == '1';
        const bool starts = folded[i - 1] == ' ' || folded[i - 1] == '/' ||
                            folded[i - 1] == '-' || factor;
        if (!starts || folded[i] == ' ')
            continue;
        const struct kw_unit *unit =
            kw_unit_in(folded + i, length - i, quantity);
        if (unit != NULL && !kw_unit_is_doubtful(unit, folded, "") &&
            !(unit == kw_unit_named("K") && is_kind_of_probe(folded, i)))
            return unit;
    }
    return NULL;
}

/* "km/h GPS", "U/min Motor". Without a stroke a first word is a word: "C head",
 * "g lat". */
static const struct kw_unit *unit_in_front(const char *folded,
                                           enum kw_quantity quantity)
{
    const size_t length = strcspn(folded, " ");
    return (quantity == KW_QUANTITY_SPEED ||
            quantity == KW_QUANTITY_ENGINE_SPEED) &&
                   memchr(folded, '/', length) != NULL
               ? kw_unit_in(folded, length, quantity)
               : NULL;
}

/* The units row is the plainest statement, then brackets in the heading, then
 * all of it ("rpm", "10 rpm"), then its last words, then its first. */
const struct kw_unit *kw_find_stated_unit(const char *folded_heading,
                                          const char *folded_cell,
                                          enum kw_quantity quantity)
{
    /* Of the right quantity only: a time column called "RPM clock [s]" is in
     * seconds. */
    const struct kw_unit *unit = unit_in_brackets(folded_cell, quantity);
    if (unit == NULL)
        unit = kw_unit_in(folded_cell, strlen(folded_cell), quantity);
    if (unit == NULL)
        unit = unit_in_brackets(folded_heading, quantity);
    if (unit == NULL)
        unit = kw_unit_in(folded_heading, strlen(folded_heading), quantity);
    if (unit == NULL)
        unit = unit_at_end(folded_heading, quantity);
    if (unit == NULL)
        unit = unit_in_front(folded_heading, quantity);
    return unit;
}

const struct kw_unit *kw_heading_unit(enum kw_role role,
                                      const char *heading,
                                      const char *unit_cell)
{
    const enum kw_quantity quantity = kw_role_quantity(role);
    char folded_heading[KW_FOLDED_SIZE];
    char folded_cell[KW_FOLDED_SIZE];
    if (quantity == KW_QUANTITY_NONE)
        return NULL;
    kw_fold(heading, folded_heading);
    kw_fold(unit_cell, folded_cell);
    const struct kw_unit *unit =
        kw_find_stated_unit(folded_heading, folded_cell, quantity);
    /* Racers say "G lat" and "G long" where others say "lateral acceleration
     * [g]". */
    if (unit == NULL && quantity == KW_QUANTITY_ACCELERATION &&
        strncmp(folded_heading, "g ", 2) == 0)
        unit = kw_unit_find(quantity, "g");
    return unit;
}

/* Also "hh:mm:ss", which is how a clock states its form. */
bool kw_is_unit_cell(const char *cell)
{
    char folded[KW_FOLDED_SIZE];
    kw_fold(cell, folded);
    return unit_in_brackets(folded, KW_QUANTITY_NONE) != NULL ||
           kw_unit_in(folded, strlen(folded), KW_QUANTITY_NONE) != NULL ||
           strstr(folded, "hh") != NULL;
}

bool kw_is_unit_alone(const char *cell)
{
    static const char brackets[] = " ([{<>}])";
    char folded[KW_FOLDED_SIZE];
    kw_fold(cell, folded);
    const char *first = folded + strspn(folded, brackets);
    size_t length = strlen(first);
    while (length > 0 && strchr(brackets, first[length - 1]) != NULL)
        length--;
    return kw_unit_in(first, length, KW_QUANTITY_NONE) != NULL ||
           strncmp(first, "hh", 2) == 0;
}

/* A unit that we do not know, but that is for sure one of a rate or a share:
 * "C/s", "%". Of an engine "/min" is short for its own. */
static bool is_rate_or_share(const char *text,
                             size_t length,
                             enum kw_quantity quantity)
{
    static const char *const ends[] = {"/s", "/sec", "/h", "%", "/min"};
    const size_t n_ends = sizeof ends / sizeof ends[0] -
                          (quantity == KW_QUANTITY_ENGINE_SPEED ? 1 : 0);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    for (size_t i = 0; i < n_ends; i++) {
        const size_t n = strlen(ends[i]);
        if (length >= n && memcmp(text + length - n, ends[i], n) == 0)
            return true;
    }
    return false;
}

/* A time is written "h/min/s", and a lap has no unit at all. */
static bool states_rate_or_share(const char *folded, enum kw_quantity quantity)
{
    const char *bracket = strpbrk(folded, "([{<");
    if (quantity == KW_QUANTITY_TIME || quantity == KW_QUANTITY_NONE)
        return false;
    return is_rate_or_share(folded, strlen(folded), quantity) ||
           (bracket != NULL &&
            is_rate_or_share(bracket + 1, strcspn(bracket + 1, ")]}>"),
                             quantity));
}

/* "EGT mV": what the probe gives, before it is a temperature. */
static bool ends_in_millivolts(const char *folded)
{
    const struct kw_unit *unit = unit_at_end(folded, KW_QUANTITY_VOLTAGE);
    return unit != NULL && unit == kw_unit_named("mV");
}

bool kw_states_other_unit(const char *folded_heading,
                          const char *folded_cell,
                          enum kw_quantity quantity)
{
    return states_rate_or_share(folded_heading, quantity) ||
           states_rate_or_share(folded_cell, quantity) ||
           (quantity == KW_QUANTITY_TEMPERATURE &&
            ends_in_millivolts(folded_heading)) ||
           unit_in_brackets(folded_heading, KW_QUANTITY_NONE) != NULL ||
           unit_in_brackets(folded_cell, KW_QUANTITY_NONE) != NULL ||
           kw_unit_in(folded_cell, strlen(folded_cell), KW_QUANTITY_NONE) !=
               NULL;
}
