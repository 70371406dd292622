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

/* How likely the blocks of a course are to fit the common pattern by turns as
 * much as they do: some in every second lap only, and others only in those
 * between. Halves that are less alike make such a pattern, a mixture of the
 * two; a driver who is out of it now and then does not.
 *
 * course   whole (lap_align.h).
 * returns  0 to 1; 1 where nothing fits by turns.
 * source   Fisher's exact test for the clearest block of each kind (Statistical
 *          Methods for Research Workers; from memory), times the number of
 *          blocks that it was chosen from (Bonferroni). */
double kw_chance_of_turns(const struct kw_lap_course *course);

#endif
