/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Means of pulls. A pull is one witness, however long: its cells share the
 * driver, the wind and the kart in front. */
#include "analysis/pull_means.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* A piece of a pull that counts. */
static const double LEAST_PIECE_S = 0.5;
/* The same range as for the regions of the findings, nearly: a tail of odd
 * cells at either end is cut off. */
static const double RARE_LOW = 0.02;
static const double RARE_HIGH = 0.995;

static const double RPM_BIN = 500.0;

enum { N_ARRAYS = 3 };

/* NAN is on neither side of a comparison. */
size_t kw_rpm_bin(double rpm)
{
    const double bin = rpm / RPM_BIN;
    return bin >= 0.0 && bin < KW_RPM_BINS ? (size_t)bin : KW_RPM_BINS;
}

/* Where the thirds are cut. */
static void find_range(const struct kw_heat_grid *g,
                       struct kw_pull_means *means)
{
    double *rpm = means->numbers;
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (kw_heat_cell_is_settled(g, i, true))
            rpm[n++] = g->rpm[i];
    }
    means->low_rpm = kw_quantile(rpm, n, RARE_LOW, rpm);
    means->high_rpm = kw_quantile(rpm, n, RARE_HIGH, rpm);
}

/* A pull has a cell of its own at least. */
enum kw_status kw_pull_means_new(const struct kw_heat_grid *grid,
                                 struct kw_pull_means *out,
                                 struct kw_error *error)
{
    *out = (struct kw_pull_means){0};
    out->numbers =
        kw_array_new(grid->n, N_ARRAYS * sizeof *out->numbers, error);
    if (out->numbers == NULL)
        return KW_NO_MEMORY;
    out->mean_c = out->numbers;
    out->start_s = out->numbers + grid->n;
    out->end_s = out->numbers + 2 * grid->n;
    find_range(grid, out);
    return KW_OK;
}

/* Safe on the empty one. */
void kw_pull_means_free(struct kw_pull_means *means)
{
    free(means->numbers);
    *means = (struct kw_pull_means){0};
}

/* Only what is settled counts, and only inside the region. */
void kw_pull_means_collect(const struct kw_heat_grid *grid,
                           const double *level_c,
                           size_t region,
                           double worked_s,
                           struct kw_pull_means *means)
{
    const double third = (means->high_rpm - means->low_rpm) / 3.0;
    const double low_rpm =
        region == 0 ? 0.0 : means->low_rpm + third * (double)(region - 1);
    const double high_rpm = region == 0 ? INFINITY : low_rpm + third;
    double sum = 0.0;
    double seconds = 0.0;
    means->n = 0;
    for (size_t i = 0; i < grid->n; i++) {
        const double excess_c = grid->gas_c[i] - level_c[i];
        if (kw_heat_cell_is_settled(grid, i, true) && !isnan(excess_c) &&
            grid->worked_s[i] > worked_s && grid->rpm[i] >= low_rpm &&
            grid->rpm[i] <= high_rpm) {
            if (seconds <= 0.0)
                means->start_s[means->n] = grid->time_s[i];
            sum += excess_c * grid->step_s[i];
            seconds += grid->step_s[i];
        }
        if (i + 1 < grid->n && kw_under_load(grid->load[i + 1]))
            continue;
        if (seconds >= LEAST_PIECE_S) {
            means->mean_c[means->n] = sum / seconds;
            means->end_s[means->n++] = grid->time_s[i];
        }
        sum = seconds = 0.0;
    }
}
