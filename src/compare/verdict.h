/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From tested measures to verdicts, corrected for how many they are. */
#ifndef KARTWRIGHT_COMPARE_VERDICT_H
#define KARTWRIGHT_COMPARE_VERDICT_H

#include "kartwright/compare.h"

/* Fills in p_adjusted, smallest and verdict of every measure, which are tested
 * and stand in their order: bands of one name from low RPM to high.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_judge_measures(struct kw_measures *measures,
                                 struct kw_error *error);

/* What was never seen on any lap is no measure: no drop-out. Lean seconds are
 * shown all the same, for programs that wait for them (the contract). */
bool kw_says_something(const struct kw_measure *measure);

#endif
