/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the report of a comparison names and rounds things. */
#ifndef KARTWRIGHT_REPORT_COMPARE_WORDS_H
#define KARTWRIGHT_REPORT_COMPARE_WORDS_H

#include "core/text.h"
#include "kartwright/compare.h"

/* Decimals that laps can carry in this measure's unit. */
int kw_measure_decimals(const struct kw_measure *measure);

/* "EGT under load, 12,000 to 13,000 rpm", "lap time". */
void kw_add_measure_title(struct kw_text *text,
                          const struct kw_measure *measure);

/* For a person: "rose", "no clear change". */
const char *kw_say_change(enum kw_change change);

/* "9 laps used, 3 left out: lap 1 (out lap), laps 4, 5 (slow)"; with several
 * logs the lap is told with its log, "log 2 lap 1". */
void kw_add_laps_used(struct kw_text *text, const struct kw_compare_side *side);

#endif
