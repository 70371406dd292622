/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laying every lap over the common pattern. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_ALIGN_H
#define KARTWRIGHT_ANALYSIS_LAP_ALIGN_H

#include "analysis/lap_course.h"
#include "analysis/lap_period.h"

/* Finds the course of the whole drive.
 *
 * lap      way of one lap, as kw_find_lap_period() gives it.
 * out      n is 0 where the drive is too short; the caller frees it with
 *          kw_lap_course_free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_align_laps(const struct kw_lap_axis *axis,
                             double lap,
                             struct kw_lap_course *out,
                             struct kw_error *error);

#endif
