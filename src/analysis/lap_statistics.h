/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a lap was like, and whether it counts. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_STATISTICS_H
#define KARTWRIGHT_ANALYSIS_LAP_STATISTICS_H

#include "analysis/lap_axis.h"
#include "kartwright/review.h"

/* Fills in rpm_* and egt_* of every lap from the cleaned readings in it. */
void kw_measure_laps(const struct kw_session *session, struct kw_laps *laps);

/* Marks the flying laps that have a spin, a stop, a gap or a pit visit in them,
 * or are far from the usual time.
 *
 * axis     NULL where there is none.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_mark_spoilt_laps(const struct kw_session *session,
                                   const struct kw_lap_axis *axis,
                                   struct kw_laps *laps,
                                   struct kw_error *error);

#endif
