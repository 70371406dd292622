/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laying every lap over the common pattern. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_ALIGN_H
#define KARTWRIGHT_ANALYSIS_LAP_ALIGN_H

#include "analysis/lap_course.h"
#include "analysis/lap_period.h"

/* Makes a rough course of the whole drive fine.
 *
 * course   from lap_start.h, right to some per cent of a lap; filled in whole.
 *          Nothing happens where its n is 0.
 * returns  KW_OK; KW_NO_MEMORY: it stays the caller's to free. */
enum kw_status kw_align_laps(const struct kw_lap_axis *axis,
                             struct kw_lap_course *course,
                             struct kw_error *error);

#endif
