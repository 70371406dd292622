/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a heading to the role of its column and its unit. */
#ifndef KARTWRIGHT_IMPORT_HEADINGS_H
#define KARTWRIGHT_IMPORT_HEADINGS_H

#include "core/units.h"
#include "kartwright/log.h"

#include <stdbool.h>

/* What a heading most likely means.
 *
 * role       KW_N_ROLES when it is not understood.
 * score      how sure, comparable between headings; above 0 with a role.
 * lesser     taken only where no plainer heading is there: "Time left".
 * strangers  other words in it, which say something more than the role.
 * unit       as written in the heading or the units row; NULL when not stated.
 * words      the row of the table that matched, for the person; "" for none.
 * denied     without a role: the one of its words, which something else in it
 *            speaks against; else KW_N_ROLES.
 * why        what that is, for the person; "" for none. */
struct kw_heading {
    enum kw_role role;
    int score;
    bool lesser;
    size_t strangers;
    const struct kw_unit *unit;
    const char *words;
    enum kw_role denied;
    const char *why;
};

/* Reads a heading and the cell of the units row below it ("" for none). */
struct kw_heading kw_heading_read(const char *heading, const char *unit_cell);

/* true for "Temp", "Temperatur": a temperature of nobody knows what. */
bool kw_is_bare_temperature(const char *heading);

/* The words of a heading without the one that says time: "rpm" of "RPM Time
 * [s]".
 *
 * rest     rest[KW_FOLDED_SIZE], the other words, in the order of the heading.
 * returns  false where no word says time; then rest has all words. */
bool kw_heading_without_time(const char *heading, char *rest);

#endif
