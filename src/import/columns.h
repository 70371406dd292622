/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which column holds what: headings, stated choices and the first values. */
#ifndef KARTWRIGHT_IMPORT_COLUMNS_H
#define KARTWRIGHT_IMPORT_COLUMNS_H

#include "core/units.h"
#include "import/head.h"
#include "kartwright/log.h"

/* One column of the table.
 *
 * role      KW_N_ROLES for a column that is left out.
 * claims    what its heading says, whatever the person or a better one says.
 * denied    without a role: the one that its words name and something else in
 *           the heading speaks against; else KW_N_ROLES.
 * doubtful  EGT only if its hottest readings are as hot as an exhaust.
 * readable  its first values are what such a column may hold, or blank.
 * highest   of the numbers among these; 0 without.
 * counts    each of them is one more than the one before.
 * score     of the heading; INT_MAX for one that was stated.
 * lesser    its heading says something less than the reading, see headings.h.
 * strangers words of the heading beside those that tell the role.
 * unit      as written, or NULL.
 * unsure    it stands in a row of units that is doubtful.
 * clock     its values are clock times and not numbers.
 * dated     these have a date.
 * zoned     these have a zone.
 * date      it has nothing but dates, which go with the clock.
 * own_time  it is the time of one channel and not of the log.
 * owner     index of the channel whose time it is, if it is one. */
struct kw_column {
    enum kw_role role;
    enum kw_role claims;
    enum kw_role denied;
    bool doubtful;
    bool readable;
    double highest;
    bool counts;
    int score;
    bool lesser;
    size_t strangers;
    const struct kw_unit *unit;
    bool unsure;
    bool clock;
    bool dated;
    bool zoned;
    bool date;
    bool own_time;
    size_t owner;
    char *heading; /* valid UTF-8, owned */
    char *why;     /* owned */
};

/* date_s  midnight of the first row's date, in seconds since 1970, where a
 *         column of its own has it; else NAN. */
struct kw_columns {
    struct kw_column *items;
    size_t n;
    double date_s;
};

/* Decides for every column.
 *
 * head     of the log at path.
 * options  choices and the rate; never NULL.
 * returns  KW_OK; KW_BAD_INPUT (no RPM, no time and no rate, a tie, a stated
 *          column that is not there); KW_NO_MEMORY. */
enum kw_status kw_columns_find(const struct kw_head *head,
                               const char *path,
                               const struct kw_import_options *options,
                               struct kw_columns *out,
                               struct kw_error *error);

void kw_columns_free(struct kw_columns *columns);

#endif
