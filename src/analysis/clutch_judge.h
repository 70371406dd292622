/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a hold of the engine was a start through the clutch, and from when to
 * when. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_JUDGE_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_JUDGE_H

#include "analysis/clutch_meet.h"

/* Of the hold: where the clutch takes hold when the profile does not say. The
 * capacity that the engine needs comes some 7 to 20 % above it (common
 * practice, no source). */
#define KW_TAKES_HOLD_SHARE 0.87

/* The RPM at which this clutch takes hold: as stated, else from its hold. */
double kw_takes_hold_rpm(const struct kw_clutch_trace *s, double hold_rpm);

/* Judges one hold, by the shape of RPM and by the speed where there is one.
 *
 * start  filled in; whole where the result is KW_STARTS. */
enum kw_judgement kw_judge_hold(const struct kw_clutch_trace *s,
                                const struct kw_rise *rise,
                                struct kw_start *start);

#endif
