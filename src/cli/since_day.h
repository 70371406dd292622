/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was changed on a kart since a day of the logbook. */
#ifndef KARTWRIGHT_CLI_SINCE_DAY_H
#define KARTWRIGHT_CLI_SINCE_DAY_H

#include "cli/from_book.h"

/* Adds "the main jet was changed from 145 to 142 (noted 2026-06-20), the
 * gearing from 11/78 to 11/79 (noted 2026-06-27)": settings that the day's
 * setup names and a later one of the kart names otherwise. What was put back
 * since is no change, and where nothing is known nothing is added.
 *
 * last     the session to look up to; NULL for the newest. One that is older
 *          than the day has nothing before it.
 * returns  KW_OK; as reading the book does. */
enum kw_status add_changes_since(struct kw_text *text,
                                 const struct from_book *from,
                                 const struct book_day *day,
                                 const struct kw_entry *last,
                                 struct kw_error *error);

#endif
