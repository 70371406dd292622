/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first, rough course, for kw_align_laps() to make fine. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_START_H
#define KARTWRIGHT_ANALYSIS_LAP_START_H

#include "analysis/lap_course.h"

/* By following the pattern of pace (lap_track.h).
 *
 * lap      way of one lap, as kw_find_lap_period() gives it.
 * out      n is 0 where the drive is too short; the caller frees it with
 *          kw_lap_course_free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_course_by_pattern(const struct kw_lap_axis *axis,
                                    double lap,
                                    struct kw_lap_course *out,
                                    struct kw_error *error);

/* By passings of one line that something else saw: even between them.
 *
 * ways     ways[n], rising, n > 0: the way at each passing. Two that are some
 *          laps apart had passings between them that were not seen.
 * out, returns  as above. */
enum kw_status kw_course_by_passings(const struct kw_lap_axis *axis,
                                     const double *ways,
                                     size_t n,
                                     struct kw_lap_course *out,
                                     struct kw_error *error);

#endif
