/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far round the lap every sample is. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_PLACE_H
#define KARTWRIGHT_ANALYSIS_LAP_PLACE_H

#include "analysis/lap_axis.h"
#include "analysis/lap_course.h"
#include "kartwright/review.h"

/* Fills laps->place.
 *
 * axis     the way; NULL where there is none: then place is the share of the
 *          lap's time, for want of better.
 * course   laid over the common pattern, or NULL: then place is the share of
 *          the lap's way.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_place_samples(const struct kw_session *session,
                                const struct kw_lap_axis *axis,
                                const struct kw_lap_course *course,
                                struct kw_laps *laps,
                                struct kw_error *error);

#endif
