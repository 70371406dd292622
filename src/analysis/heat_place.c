/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same place on the other laps.
 *
 * Each lap is cut into pieces of equal share. A piece holds the mean of what
 * the model leaves over there; a lap is then compared with the other laps in
 * the same piece, itself left out, at the level that the model was fitted to.
 */
#include "analysis/heat_place.h"

#include "analysis/heat_model.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* Pieces of a lap: half a second of a usual one. */
enum { PIECES = 96 };
/* Fewer other laps than this say nothing about a place. */
enum { FEWEST_LAPS = 3 };
/* A level from n laps is believed by n / (n + this). */
static const double DOUBT_LAPS = 1.0;
/* A place of 1 is the end of the lap and belongs to its last piece. */
static const double END_OF_LAP = 0.9999;

/* left[lap * PIECES + piece]: mean residual, NAN where the lap has none. */
static void fill_left(const struct kw_heat_grid *g,
                      size_t n_laps,
                      const double *level_c,
                      double *left)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++) {
        const size_t lap = g->lap[i];
        const double residual = g->gas_c[i] - level_c[i];
        if (lap >= n_laps)
            continue;
        const size_t piece = (size_t)(fmin(g->place[i], END_OF_LAP) * PIECES);
        if (!isnan(residual) && g->teaches[i] > 0.0) {
            sum += residual;
            n++;
        }
        const bool ends =
            i + 1 == g->n || g->lap[i + 1] != lap ||
            (size_t)(fmin(g->place[i + 1], END_OF_LAP) * PIECES) != piece;
        if (!ends)
            continue;
        if (n > 0)
            left[lap * PIECES + piece] = sum / (double)n;
        sum = 0.0;
        n = 0;
    }
}

/* What one lap has in a piece. */
struct reading {
    double left_c;
    size_t lap;
};

static int by_size(const void *a, const void *b)
{
    const double x = ((const struct reading *)a)->left_c;
    const double y = ((const struct reading *)b)->left_c;
    return (x > y) - (x < y);
}

/* The level of sorted[n] without one of them; none is left out for n. By rank,
 * as kw_quantile() has it: to sort the others for each lap would cost the
 * square of the laps. */
static double level_without(const struct reading *sorted,
                            size_t n,
                            size_t left_out)
{
    const size_t others = left_out < n ? n - 1 : n;
    if (others < FEWEST_LAPS)
        return 0.0;
    const double share = (double)others / ((double)others + DOUBT_LAPS);
    const double at = KW_HEAT_SHARE_BELOW * (double)(others - 1);
    const size_t below = (size_t)at;
    const size_t above = below + 1;
    const double low_c = sorted[below + (below >= left_out)].left_c;
    const double high_c = sorted[above + (above >= left_out)].left_c;
    return share * (low_c + (at - (double)below) * (high_c - low_c));
}

/* level[lap * PIECES + piece] from the other laps. */
static void fill_level(const double *left,
                       size_t n_laps,
                       struct reading *scratch,
                       double *level)
{
    for (size_t piece = 0; piece < PIECES; piece++) {
        size_t n = 0;
        for (size_t lap = 0; lap < n_laps; lap++) {
            const double left_c = left[lap * PIECES + piece];
            if (!isnan(left_c))
                scratch[n++] = (struct reading){left_c, lap};
        }
        qsort(scratch, n, sizeof *scratch, by_size);
        for (size_t lap = 0; lap < n_laps; lap++)
            level[lap * PIECES + piece] = level_without(scratch, n, n);
        for (size_t k = 0; k < n; k++)
            level[scratch[k].lap * PIECES + piece] =
                level_without(scratch, n, k);
    }
}

/* Between the middles of two pieces the level is a straight line. */
static double level_at(const double *level, double place)
{
    const double at = place * PIECES - 0.5;
    const double below = floor(at);
    const double part = at - below;
    const size_t first = (size_t)(below + PIECES) % PIECES;
    const size_t second = (first + 1) % PIECES;
    return (1.0 - part) * level[first] + part * level[second];
}

/* With fewer laps than can outvote a bad one the model stands alone. */
enum kw_status kw_heat_add_place(const struct kw_heat_grid *grid,
                                 size_t n_laps,
                                 double *level_c,
                                 struct kw_error *error)
{
    if (n_laps <= FEWEST_LAPS)
        return KW_OK;
    double *left = kw_array_new_nan(n_laps * PIECES, error);
    double *level = kw_array_new(n_laps * PIECES, sizeof *level, error);
    struct reading *scratch = kw_array_new(n_laps, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (left == NULL || level == NULL || scratch == NULL)
        goto done;
    fill_left(grid, n_laps, level_c, left);
    fill_level(left, n_laps, scratch, level);
    for (size_t i = 0; i < grid->n; i++) {
        if (grid->lap[i] < n_laps)
            level_c[i] +=
                level_at(&level[grid->lap[i] * PIECES], grid->place[i]);
    }
    status = KW_OK;
done:
    free(left);
    free(level);
    free(scratch);
    return status;
}
