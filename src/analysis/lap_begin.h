/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where laps begin that no line marks. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_BEGIN_H
#define KARTWRIGHT_ANALYSIS_LAP_BEGIN_H

#include "analysis/lap_drive.h"

/* How often a drive passes a place (0 to 1, from the pattern's own start). */
size_t kw_times_passed(const struct kw_lap_drive *drive, double place);

/* The place where the time of passing is known best among those that are passed
 * the likely number of times; where the driver brakes, so that no pull belongs
 * to two laps.
 *
 * course   whole (lap_align.h), n > 0.
 * returns  0 to 1; 0 where no place is passed so often.
 * cost     O(laps log samples) for each of KW_COURSE_LAP places. */
double kw_choose_place(const struct kw_lap_axis *axis,
                       const struct kw_lap_course *course,
                       const struct kw_lap_drive *drive);

#endif
