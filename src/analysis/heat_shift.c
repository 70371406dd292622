/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One step of the heat, seen in the means of pulls (least squares, change.c).
 *
 * A step is believed when it is large, stands far out of the scatter of the
 * pulls, and is more of a step than of a slope: an engine that warms up, or a
 * day that does, climbs slowly. */
#include "analysis/heat_shift.h"

#include "analysis/change.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* The first minute or so of work is warm-up. What teaches has to last longer
 * than one slow lap. */
static const double WARM_UP_S = 75.0;
static const double BEFORE_S = 90.0;
/* A piece of a pull that counts. */
static const double LEAST_PIECE_S = 0.5;
/* Pulls on either side. */
enum { FEWEST_PULLS = 12, FEWEST_ON_A_SIDE = 4 };
/* About 1.5 % of fuel (10 C for each: common practice, no source). */
static const double LEAST_STEP_C = 15.0;
/* Step in standard errors, by enum kw_heat_past. */
static const double LEAST_T[] = {14.0, 8.0};
/* What a step leaves unexplained against what a straight line does. */
static const double BETTER_THAN_A_SLOPE[] = {0.4, 0.65};
/* A side after the step smaller than this share does not move the quantile. */
static const double HARMLESS_SHARE = 0.25;
enum { REGIONS = 4 };

/* The means of the pulls in one region, and when they were. */
struct series {
    double *mean_c;
    double *time_s;
    size_t n;
    double low_rpm;
    double high_rpm;
};

struct step {
    bool found;
    double time_s;
    double size_c;
    double t;
};

/* A pull is one witness, however long: its cells share the driver, the wind
 * and the kart in front. Only what is settled counts, and only inside the
 * region. */
static void collect(const struct kw_heat_grid *g,
                    const double *level_c,
                    struct series *s)
{
    double sum = 0.0;
    double seconds = 0.0;
    s->n = 0;
    for (size_t i = 0; i < g->n; i++) {
        const double excess_c = g->gas_c[i] - level_c[i];
        if (kw_heat_cell_is_settled(g, i, true) && !isnan(excess_c) &&
            g->worked_s[i] > WARM_UP_S && g->rpm[i] >= s->low_rpm &&
            g->rpm[i] <= s->high_rpm) {
            sum += excess_c * g->step_s[i];
            seconds += g->step_s[i];
        }
        if (i + 1 < g->n && g->load[i + 1] > 0.5)
            continue;
        if (seconds >= LEAST_PIECE_S) {
            s->mean_c[s->n] = sum / seconds;
            s->time_s[s->n++] = g->time_s[i];
        }
        sum = seconds = 0.0;
    }
}

/* Sum of squares about a straight line in time. */
static double about_a_line(const struct series *s)
{
    double t = 0.0;
    double v = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        t += s->time_s[i] / (double)s->n;
        v += s->mean_c[i] / (double)s->n;
    }
    double tt = 0.0;
    double tv = 0.0;
    double vv = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        tt += (s->time_s[i] - t) * (s->time_s[i] - t);
        tv += (s->time_s[i] - t) * (s->mean_c[i] - v);
        vv += (s->mean_c[i] - v) * (s->mean_c[i] - v);
    }
    return tt > 0.0 ? vv - tv * tv / tt : vv;
}

/* Each test kills one kind of false step: too few pulls, too small, lost in
 * scatter, too short to matter, or a slope in disguise. */
static struct step find_step(const struct series *s, enum kw_heat_past past)
{
    struct kw_shift shift;
    struct step none = {0};
    if (s->n < FEWEST_PULLS || !kw_find_shift(s->mean_c, s->n, &shift) ||
        shift.at < FEWEST_ON_A_SIDE || s->n - shift.at < FEWEST_ON_A_SIDE ||
        s->time_s[shift.at - 1] - s->time_s[0] < BEFORE_S)
        return none;
    const double n_before = (double)shift.at;
    const double n_after = (double)(s->n - shift.at);
    const double size_c = shift.after - shift.before;
    const double scatter_c = sqrt(shift.residual / (n_before + n_after - 2.0));
    const double t = fabs(size_c) / fmax(scatter_c, 1.0) /
                     sqrt(1.0 / n_before + 1.0 / n_after);
    const double share_after = n_after / (n_before + n_after);
    if (fabs(size_c) < LEAST_STEP_C || t < LEAST_T[past] ||
        share_after < HARMLESS_SHARE ||
        shift.residual > BETTER_THAN_A_SLOPE[past] * about_a_line(s))
        return none;
    const double time_s = 0.5 * (s->time_s[shift.at - 1] + s->time_s[shift.at]);
    return (struct step){true, time_s, size_c, t};
}

/* All of the range, then its thirds. */
static void set_region(struct series *s, double low, double high, size_t k)
{
    const double third = (high - low) / 3.0;
    s->low_rpm = k == 0 ? 0.0 : low + third * (double)(k - 1);
    s->high_rpm = k == 0 ? INFINITY : s->low_rpm + third;
}

/* The same range as for the regions of the findings, nearly: a tail of odd
 * cells at either end is cut off. */
static void range_under_load(const struct kw_heat_grid *g,
                             double *low,
                             double *high,
                             double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (kw_heat_cell_is_settled(g, i, true))
            scratch[n++] = g->rpm[i];
    }
    *low = kw_quantile(scratch, n, 0.02, scratch);
    *high = kw_quantile(scratch, n, 0.995, scratch);
}

/* A wrong main jet shows at the top only and a pilot jet at the bottom only,
 * so the thirds are tried as well as the whole; the plainest step wins. */
enum kw_status kw_heat_find_shift(struct kw_heat_grid *grid,
                                  enum kw_heat_past past,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error)
{
    double *values = kw_array_new(grid->n, 2 * sizeof *values, error);
    if (values == NULL)
        return KW_NO_MEMORY;
    double low = 0.0;
    double high = 0.0;
    range_under_load(grid, &low, &high, values);
    struct series s = {.mean_c = values, .time_s = values + grid->n};
    struct step best = {0};
    for (size_t k = 0; k < REGIONS; k++) {
        set_region(&s, low, high, k);
        collect(grid, level_c, &s);
        const struct step step = find_step(&s, past);
        if (step.found && step.t > best.t)
            best = step;
    }
    free(values);
    *found = best.found;
    for (size_t i = 0; best.found && i < grid->n; i++) {
        if (grid->time_s[i] > best.time_s)
            grid->teaches[i] = 0.0;
    }
    return KW_OK;
}
