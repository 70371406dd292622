/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the laps of one side look like, place by place, and how well the two
 * sides fit each other. */
#ifndef KARTWRIGHT_COMPARE_COURSE_H
#define KARTWRIGHT_COMPARE_COURSE_H

#include "kartwright/compare.h"

/* Fills course_rpm and course_egt_c of a side from its used laps.
 *
 * side     with its laps.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_draw_course(const struct kw_compare_sessions *sessions,
                              struct kw_compare_side *side,
                              struct kw_error *error);

/* Turns the after side so that it fits the before side best: where no line is
 * known, each session begins its laps at a place of its own.
 *
 * returns  correlation of RPM over the lap, 1 for the same track driven the
 *          same way; NAN where a side has no course. */
double kw_turn_course(const struct kw_compare_side *before,
                      struct kw_compare_side *after);

#endif
