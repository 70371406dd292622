/* SPDX-License-Identifier: GPL-3.0-or-later */
/* After which way the pattern of pace comes back: the length of a lap. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_PERIOD_H
#define KARTWRIGHT_ANALYSIS_LAP_PERIOD_H

#include "analysis/lap_axis.h"

/* Pace in even steps of way.
 *
 * pace      pace[n], never NAN.
 * step      way from one to the next.
 * way_0     way of the first.
 * pace_usual  mean pace, so that way / pace_usual is about the time. */
struct kw_lap_grid {
    double *pace;
    size_t n;
    double step;
    double way_0;
    double pace_usual;
};

/* returns  KW_OK (n is 0 where nothing was driven); KW_NO_MEMORY. The caller
 *          frees it with kw_lap_grid_free(). */
enum kw_status kw_lap_grid_new(const struct kw_lap_axis *axis,
                               double step,
                               struct kw_lap_grid *out,
                               struct kw_error *error);
void kw_lap_grid_free(struct kw_lap_grid *grid);

/* Pace at a way, on a straight line between two steps; NAN outside the grid. */
double kw_lap_grid_pace_at(const struct kw_lap_grid *grid, double way);

/* Likeness of a series with itself, shifted: 2 sum x[i] x[i + lag] over the sum
 * of both squares, 1 for a perfect repetition, about 0 for none (the normalised
 * square difference of McLeod and Wyvill, ICMC 2005, from memory).
 *
 * values  values[n], mean near 0.
 * out     out[n_lags], out[0] is 1.
 * cost    O(n log n). */
enum kw_status kw_likeness(const double *values,
                           size_t n,
                           double *out,
                           size_t n_lags,
                           struct kw_error *error);

/* The way of one lap, in steps of the grid, to a fraction of a step.
 *
 * period   NAN where nothing repeats that could be laps.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_lap_period(const struct kw_lap_grid *grid,
                                  double *period,
                                  struct kw_error *error);

#endif
