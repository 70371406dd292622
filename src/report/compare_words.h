/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the report of a comparison names and rounds things. */
#ifndef KARTWRIGHT_REPORT_COMPARE_WORDS_H
#define KARTWRIGHT_REPORT_COMPARE_WORDS_H

#include "core/text.h"
#include "kartwright/compare.h"
#include "kartwright/report.h"

/* Decimals that laps can carry in this measure's unit. */
int kw_measure_decimals(const struct kw_measure *measure);

/* "EGT, 12,000 to 13,000 RPM, C", "lap time, s". */
void kw_add_measure_title(struct kw_text *text,
                          const struct kw_measure *measure);

/* Both sides by the names of their logs: "saturday.csv and sunday.csv", "a.csv
 * (and 2 more) and b.csv". */
void kw_add_compared_logs(struct kw_text *text,
                          const struct kw_comparison_source *source);

/* A value of the measure with as many decimals as its unit carries, and
 * thousands set apart; NAN gives "-". */
void kw_add_measured(struct kw_text *text,
                     const struct kw_measure *measure,
                     double value);

/* Why a band of EGT may be hotter than the hottest reading of the lap. */
extern const char kw_measures_note[];

/* For a person: "rose", "no clear change". */
const char *kw_say_change(enum kw_change change);

/* "9 laps used, 3 left out: lap 1 (out lap), laps 4, 5 (slow)"; with several
 * logs the lap is told with its log, "log 2 lap 1". */
void kw_add_laps_used(struct kw_text *text, const struct kw_compare_side *side);

#endif
