/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pace in even steps of way: the mean over each step where the log has several
 * samples in it, a straight line between two where it has fewer.
 *
 * Steps of way are what all laps share, whatever their pace and the rate of the
 * log. */
#include "analysis/lap_period.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* The way between two samples is credited to each step that it touches; mostly
 * that is one. */
static void add_piece(struct kw_lap_grid *grid,
                      double *weight,
                      const double way[2],
                      const double pace[2])
{
    const double from = (way[0] - grid->way_0) / grid->step;
    const double to = (way[1] - grid->way_0) / grid->step;
    const size_t first = (size_t)from;
    if (first < grid->n && to < (double)first + 1.0) {
        grid->pace[first] += 0.5 * (to - from) * (pace[0] + pace[1]);
        weight[first] += to - from;
        return;
    }
    for (size_t cell = first; cell < grid->n; cell++) {
        const double left = fmax(from, (double)cell);
        const double right = fmin(to, (double)cell + 1.0);
        if (!(right > left))
            break;
        const double part = (0.5 * (left + right) - from) / (to - from);
        grid->pace[cell] +=
            (right - left) * (pace[0] + part * (pace[1] - pace[0]));
        weight[cell] += right - left;
    }
}

/* A mean over way, not over time: a slow corner must not count for more because
 * the kart stays there longer. Steps that no sample touched take the pace
 * before them, and those at the very start that of a kart that just drives. */
static void fill(const struct kw_lap_axis *axis,
                 struct kw_lap_grid *grid,
                 double *weight)
{
    for (size_t i = 1; i < axis->n; i++) {
        if (axis->way[i] > axis->way[i - 1])
            add_piece(grid, weight, &axis->way[i - 1], &axis->pace[i - 1]);
    }
    double last = axis->drives;
    for (size_t i = 0; i < grid->n; i++) {
        if (weight[i] > 0.0)
            last = grid->pace[i] / weight[i];
        grid->pace[i] = last;
    }
}

/* Way by the time in which there was any: standing in the pits would lower
 * it. */
static double usual_pace(const struct kw_lap_axis *axis)
{
    double drive_s = 0.0;
    for (size_t i = 1; i < axis->n; i++) {
        if (axis->way[i] > axis->way[i - 1])
            drive_s += axis->time_s[i] - axis->time_s[i - 1];
    }
    return drive_s > 0.0 ? axis->way[axis->n - 1] / drive_s : NAN;
}

/* Even steps of way make laps of one length comparable cell by cell, however
 * fast they were driven. */
enum kw_status kw_lap_grid_new(const struct kw_lap_axis *axis,
                               double step,
                               struct kw_lap_grid *out,
                               struct kw_error *error)
{
    *out = (struct kw_lap_grid){.step = step, .pace_usual = usual_pace(axis)};
    const double way = axis->n > 0 ? axis->way[axis->n - 1] : 0.0;
    out->n = (size_t)(way / step);
    out->pace = kw_array_new(out->n, sizeof *out->pace, error);
    double *weight = kw_array_new(out->n, sizeof *weight, error);
    const bool ok = out->pace != NULL && weight != NULL;
    if (ok)
        fill(axis, out, weight);
    else
        kw_lap_grid_free(out);
    free(weight);
    return ok ? KW_OK : KW_NO_MEMORY;
}

/* Cells have their value in the middle, so half a step is taken off. */
double kw_lap_grid_pace_at(const struct kw_lap_grid *grid, double way)
{
    const double at = (way - grid->way_0) / grid->step - 0.5;
    if (!(at >= 0.0) || at >= (double)grid->n - 1.0)
        return NAN;
    const size_t i = (size_t)at;
    const double part = at - (double)i;
    return grid->pace[i] + part * (grid->pace[i + 1] - grid->pace[i]);
}

void kw_lap_grid_free(struct kw_lap_grid *grid)
{
    free(grid->pace);
    *grid = (struct kw_lap_grid){0};
}
