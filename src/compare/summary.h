/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison as a sentence or two that a person can act on. */
#ifndef KARTWRIGHT_COMPARE_SUMMARY_H
#define KARTWRIGHT_COMPARE_SUMMARY_H

#include "compare/alike.h"
#include "compare/heat_change.h"
#include "core/text.h"

/* Adds the summary: drop-outs and lean laps, heat, lap time, the surest change
 * of engine and clutch, what the air explains, and the safe side. What speaks
 * against comparing at all stands before everything, and then nothing is
 * decided.
 *
 * comparison  with its measures judged and its air shared out.
 * heat        as kw_read_heat_change() gives it. */
void kw_summarise_change(struct kw_text *text,
                         const struct kw_comparison *comparison,
                         const struct kw_heat_change *heat,
                         const struct kw_differences *found);

/* The same log twice, a kart that was not driven, two karts: nothing else is
 * told then. */
bool kw_is_hopeless(const struct kw_differences *found);

/* It runs cooler, and in equal air the change would have made it leaner. */
bool kw_air_hides_leaner(const struct kw_heat_change *heat,
                         const struct kw_air_share *air);

/* Laps on which a count was not 0.
 *
 * name  "dropouts_per_lap" or "lean_seconds_per_lap".
 * side  see enum kw_side. */
size_t kw_count_ill_laps(const struct kw_comparison *comparison,
                         const char *name,
                         int side);

/* EGT on both sides, if only the mean of the lap. */
bool kw_has_egt(const struct kw_comparison *comparison);

#endif
