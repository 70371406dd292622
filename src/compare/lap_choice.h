/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which laps may be held against each other. */
#ifndef KARTWRIGHT_COMPARE_LAP_CHOICE_H
#define KARTWRIGHT_COMPARE_LAP_CHOICE_H

#include "compare/lap_figures.h"

/* What can be told from the review of one lap alone.
 *
 * wants_egt  a lap without EGT is no use then. */
enum kw_lap_use kw_judge_lap(const struct kw_review *review,
                             const struct kw_lap *lap,
                             bool wants_egt);

/* What shows only beside the other laps of the side: slow laps, and the first
 * ones of each log while the pipe still warms up (two at most).
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_choose_laps(struct kw_lap_table *table,
                              struct kw_error *error);

/* Laps of the table that count. */
size_t kw_count_used(const struct kw_lap_table *table);

#endif
