/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether what was taken for a lap is half of one. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_HALVES_H
#define KARTWRIGHT_ANALYSIS_LAP_HALVES_H

#include "analysis/lap_course.h"

/* How likely the laps of a course are to differ as much as they do, every
 * second one from those between: next to 0 on a track of two like halves that
 * was cut in two.
 *
 * course   whole (lap_align.h), n > 0.
 * returns  NAN where there are too few laps to tell.
 * source   Student's t for each block, put together by Fisher's method
 *          (Statistical Methods for Research Workers, 1932; from memory). */
double kw_chance_of_halves(const struct kw_lap_axis *axis,
                           const struct kw_lap_course *course);

#endif
