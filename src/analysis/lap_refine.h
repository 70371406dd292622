/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Passings by a column or by position, steadied by the pattern of pace. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_REFINE_H
#define KARTWRIGHT_ANALYSIS_LAP_REFINE_H

#include "analysis/lap_passings.h"

/* Moves each passing towards the moment at which the course is at the place
 * where the passings are on the whole. A receiver drifts by metres and a column
 * knows whole rows only; over one lap the way is known better.
 *
 * most_s    no passing moves by more than this (half a row for a column);
 *           INFINITY for no bound.
 * passings  rising before and after.
 * course    filled in for the whole drive; n is 0 where the passings are too
 *           few, or not one lap apart, or the pace has no pattern. The caller
 *           frees it with kw_lap_course_free().
 * returns   KW_OK; KW_NO_MEMORY. */
enum kw_status kw_refine_passings(const struct kw_lap_axis *axis,
                                  double most_s,
                                  struct kw_passings *passings,
                                  struct kw_lap_course *course,
                                  struct kw_error *error);

#endif
