/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the course starts from: the tracked pattern, or passings that were
 * seen.
 */
#include "analysis/lap_start.h"

#include "analysis/lap_track.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* The first course: where the coarse track passes the middle of each block. */
static void start_course(const struct kw_lap_grid *coarse,
                         const double *turns,
                         struct kw_lap_course *course)
{
    size_t i = 0;
    for (size_t node = 0; node < course->n; node++) {
        while (i < coarse->n && turns[i] < course->turn[node])
            i++;
        const size_t at = i < coarse->n ? i : coarse->n - 1;
        const double missing = course->turn[node] - turns[at];
        const bool outside = i == 0 || i == coarse->n;
        course->way[node] = coarse->way_0 + ((double)at + 0.5) * coarse->step +
                            (outside ? missing * course->lap : 0.0);
    }
}

/* On a coarse grid first: following the pattern costs the square of the steps,
 * and the fine fit that comes later needs a start within a few percent of a lap
 * only. */
enum kw_status kw_course_by_pattern(const struct kw_lap_axis *axis,
                                    double lap,
                                    struct kw_lap_course *out,
                                    struct kw_error *error)
{
    struct kw_lap_grid coarse;
    *out = (struct kw_lap_course){0};
    if (kw_lap_grid_new(axis, lap / KW_LAP_STEPS, &coarse, error) != KW_OK)
        return KW_NO_MEMORY;
    double *turns = kw_array_new(coarse.n, sizeof *turns, error);
    enum kw_status status = turns != NULL ? KW_OK : KW_NO_MEMORY;
    if (status == KW_OK && coarse.n >= 2 * KW_LAP_STEPS) {
        status = kw_track_laps(&coarse, turns, error);
        if (status == KW_OK)
            status = kw_lap_course_new(lap, turns[0], turns[coarse.n - 1], out,
                                       error);
        if (status == KW_OK)
            start_course(&coarse, turns, out);
    }
    free(turns);
    kw_lap_grid_free(&coarse);
    return status;
}

/* Way of a lap in the middle of all; scratch[n]. */
static double usual_lap(const double *ways, size_t n, double *scratch)
{
    for (size_t i = 1; i < n; i++)
        scratch[i - 1] = ways[i] - ways[i - 1];
    return kw_median(scratch, n - 1, scratch);
}

/* Even between the passings, at the usual rate before and after them. */
static void spread_evenly(const double *ways,
                          const double *turns,
                          size_t n,
                          struct kw_lap_course *course)
{
    size_t i = 0;
    for (size_t node = 0; node < course->n; node++) {
        const double turn = course->turn[node];
        while (i + 1 < n && turns[i + 1] <= turn)
            i++;
        const bool between = turn >= turns[i] && i + 1 < n;
        const double rate =
            between ? (ways[i + 1] - ways[i]) / (turns[i + 1] - turns[i])
                    : course->lap;
        course->way[node] = ways[i] + (turn - turns[i]) * rate;
    }
}

/* A passing that was missed leaves a stretch of two laps or three: rounded to
 * whole ones, at least one. */
enum kw_status kw_course_by_passings(const struct kw_lap_axis *axis,
                                     const double *ways,
                                     size_t n,
                                     struct kw_lap_course *out,
                                     struct kw_error *error)
{
    *out = (struct kw_lap_course){0};
    double *turns = kw_array_new(n, sizeof *turns, error);
    if (turns == NULL)
        return KW_NO_MEMORY;
    const double lap = usual_lap(ways, n, turns);
    enum kw_status status = KW_OK;
    if (!(lap > 0.0))
        goto done;
    turns[0] = 0.0;
    for (size_t i = 1; i < n; i++)
        turns[i] =
            turns[i - 1] + fmax(round((ways[i] - ways[i - 1]) / lap), 1.0);
    const double rest = axis->way[axis->n - 1] - ways[n - 1];
    status = kw_lap_course_new(lap, -ways[0] / lap, turns[n - 1] + rest / lap,
                               out, error);
    if (status == KW_OK)
        spread_evenly(ways, turns, n, out);
done:
    free(turns);
    return status;
}
