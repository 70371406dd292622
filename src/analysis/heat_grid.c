/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells of a tenth of a second, and what each knows of the past.
 *
 * Gas follows the flame at once, the pipe by seconds and the engine by minutes.
 * A cell is short beside all of them, and long enough for a logger of 10 Hz to
 * have a reading in it. Heat already in the pipe is kept as two sums that
 * decay, which is what a body does that is heated and cools in the wind. */
#include "analysis/heat_grid.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

static const double CELL_S = 0.1;
/* The moment of a lift is known no better than this. */
static const double UNSURE_S = 0.3;
/* A slope of RPM below this share of the usual strong one is no pull. */
static const double COASTING = -0.15;
/* Slope of RPM is taken over twice this. */
static const double RISE_REACH_S = 0.3;
/* The usual strong slope: one cell in four is steeper, under brakes and at the
 * beginning of a pull. Steeper by more than this is a free engine or an odd
 * reading and says no more (common practice, no source). */
static const double STRONG = 0.75;
static const double MOST_RISE = 1.5;
/* RPM as a share of the top, which one cell in a hundred passes; further above
 * it is an odd reading and heats nothing. */
static const double TOP_QUANTILE = 0.99;
static const double MOST_WORK = 1.2;
/* A cell is wholly under load up to what rounding leaves of its mean. */
static const double WHOLLY = 0.99;
/* Seconds over which a pipe, its flange and the probe's boss remember: from
 * memory of how long a kart's EGT creeps after a stop. */
static const double MEMORY_S[KW_N_HEATS] = {12.0, 45.0};

enum { N_PLAIN = 10, N_ARRAYS = N_PLAIN + KW_N_HEATS };

/* One block holds all arrays of numbers: they live and die together, and a
 * grid of an hour is a few megabytes. */
static enum kw_status allocate(struct kw_heat_grid *g,
                               size_t most,
                               struct kw_error *error)
{
    g->first = kw_array_new(most + 1, sizeof *g->first, error);
    g->lap = kw_array_new(most + 1, sizeof *g->lap, error);
    g->numbers = kw_array_new(most + 1, N_ARRAYS * sizeof *g->numbers, error);
    if (g->first == NULL || g->lap == NULL || g->numbers == NULL)
        return KW_NO_MEMORY;
    double **const arrays[] = {
        &g->time_s, &g->step_s,    &g->rpm,   &g->gas_c,    &g->load,
        &g->rise,   &g->settled_s, &g->place, &g->worked_s, &g->teaches,
    };
    for (size_t k = 0; k < N_PLAIN; k++)
        *arrays[k] = g->numbers + k * most;
    for (size_t k = 0; k < KW_N_HEATS; k++)
        g->heat[k] = g->numbers + (N_PLAIN + k) * most;
    return KW_OK;
}

/* Cuts the samples into cells. */
static size_t cut(const struct kw_session *session, size_t *first)
{
    const double *time_s = session->time_s;
    size_t n = 0;
    size_t gap = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        bool begins =
            n == 0 || time_s[i] - time_s[first[n - 1]] > CELL_S - 1e-6;
        if (gap < session->gaps.n && session->gaps.items[gap].to == i) {
            begins = true;
            gap++;
        }
        if (begins)
            first[n++] = i;
    }
    first[n] = session->n_samples;
    return n;
}

/* An upper bound. A cell ends at a gap and may hold one sample only, so a
 * slow log has as many cells as samples, and jitter may nearly double the
 * rest. */
static size_t count_cells(const struct kw_session *session)
{
    const double whole_s =
        session->time_s[session->n_samples - 1] - session->time_s[0];
    const double by_time = 2.0 * whole_s / CELL_S + 2.0;
    const double most = (double)session->n_samples;
    return (size_t)fmin(most, by_time + (double)session->gaps.n);
}

/* Missing readings are left out: a cell with one reading is as good as any. */
static double mean_of(const double *values, size_t from, size_t to)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = from; values != NULL && i < to; i++) {
        if (!isnan(values[i])) {
            sum += values[i];
            n++;
        }
    }
    return n > 0 ? sum / (double)n : NAN;
}

/* The last cell before a gap stands for its usual length and not for the
 * gap. */
static void fill_means(struct kw_heat_grid *g,
                       const struct kw_heat_source *source)
{
    const struct kw_session *s = source->session;
    for (size_t i = 0; i < g->n; i++) {
        const size_t from = g->first[i];
        const size_t to = g->first[i + 1];
        g->time_s[i] = 0.5 * (s->time_s[from] + s->time_s[to - 1]);
        g->rpm[i] = mean_of(s->rpm, from, to);
        g->gas_c[i] = mean_of(s->gas_c, from, to);
        g->load[i] = mean_of(source->load, from, to);
        const double next_s =
            to < s->n_samples ? s->time_s[to] : s->time_s[to - 1];
        g->step_s[i] = fmin(next_s - s->time_s[from],
                            fmax(2.0 * CELL_S, 2.0 / s->rate_hz));
    }
}

/* Laps and cells both rise in time, so one walk places all. A spoilt lap (a
 * spin, a stop) is compared with nothing and teaches no place. */
static void fill_laps(struct kw_heat_grid *g, const struct kw_laps *laps)
{
    size_t lap = 0;
    const size_t n_laps = laps != NULL ? laps->n : 0;
    for (size_t i = 0; i < g->n; i++) {
        g->lap[i] = n_laps;
        g->place[i] = NAN;
        while (lap < n_laps && laps->items[lap].end_s <= g->time_s[i])
            lap++;
        if (lap == n_laps || g->time_s[i] < laps->items[lap].start_s ||
            laps->place == NULL)
            continue;
        g->place[i] =
            laps->place[g->first[i] + (g->first[i + 1] - g->first[i]) / 2];
        if (!laps->items[lap].spoilt && !isnan(g->place[i]))
            g->lap[i] = lap;
    }
}

/* The slope is scaled by the usual strong slope of this engine on this
 * track, so that the models need to know neither gearing nor power. */
static void fill_rise(struct kw_heat_grid *g, double *scratch)
{
    size_t from = 0;
    size_t to = 0;
    for (size_t i = 0; i < g->n; i++) {
        while (g->time_s[from] < g->time_s[i] - RISE_REACH_S)
            from++;
        while (to + 1 < g->n &&
               g->time_s[to + 1] <= g->time_s[i] + RISE_REACH_S)
            to++;
        const double span_s = g->time_s[to] - g->time_s[from];
        const double rise = (g->rpm[to] - g->rpm[from]) / span_s;
        g->rise[i] = isfinite(rise) ? rise : 0.0;
    }
    for (size_t i = 0; i < g->n; i++)
        scratch[i] = fabs(g->rise[i]);
    const double strong = kw_quantile(scratch, g->n, STRONG, scratch);
    for (size_t i = 0; i < g->n; i++) {
        const double share = strong > 0.0 ? g->rise[i] / strong : 0.0;
        g->rise[i] = fmax(-MOST_RISE, fmin(share, MOST_RISE));
    }
}

/* Walks through time with what the pipe remembers. */
static void fill_past(struct kw_heat_grid *g, double top_rpm)
{
    double heat[KW_N_HEATS] = {0};
    double settled_s = 0.0;
    double worked_s = 0.0;
    bool loaded = false;
    for (size_t i = 0; i < g->n; i++) {
        const double before_s = i > 0 ? g->time_s[i] - g->time_s[i - 1] : 0.0;
        const bool now = kw_under_load(g->load[i]);
        const bool works = worked_s > 0.0 || now;
        settled_s = now == loaded ? settled_s + before_s : 0.5 * g->step_s[i];
        worked_s += works ? fmax(before_s, g->step_s[i]) : 0.0;
        loaded = now;
        const double work = now && !isnan(g->rpm[i])
                                ? fmin(g->rpm[i] / top_rpm, MOST_WORK)
                                : 0.0;
        for (size_t k = 0; k < KW_N_HEATS; k++) {
            heat[k] = work + (heat[k] - work) * exp(-before_s / MEMORY_S[k]);
            g->heat[k][i] = heat[k];
        }
        g->settled_s[i] = settled_s;
        g->worked_s[i] = worked_s;
        g->teaches[i] = 1.0;
    }
}

/* The order matters: the past needs the load, the load needs the means. */
enum kw_status kw_heat_grid_new(const struct kw_heat_source *source,
                                struct kw_heat_grid *out,
                                struct kw_error *error)
{
    const struct kw_session *session = source->session;
    *out = (struct kw_heat_grid){0};
    const size_t most = count_cells(session) + 1;
    double *scratch = kw_array_new(most, sizeof *scratch, error);
    enum kw_status status = allocate(out, most, error);
    if (scratch == NULL || status != KW_OK) {
        kw_heat_grid_free(out);
        free(scratch);
        return KW_NO_MEMORY;
    }
    out->n = cut(session, out->first);
    fill_means(out, source);
    fill_laps(out, source->laps);
    fill_rise(out, scratch);
    const double top_rpm = kw_quantile(out->rpm, out->n, TOP_QUANTILE, scratch);
    fill_past(out, top_rpm > 0.0 ? top_rpm : 1.0);
    free(scratch);
    return KW_OK;
}

void kw_heat_grid_free(struct kw_heat_grid *grid)
{
    free(grid->first);
    free(grid->lap);
    free(grid->numbers);
    *grid = (struct kw_heat_grid){0};
}

/* A probe with a second of lag smears the moment of a lift over several
 * cells, and the load itself is known to a few tenths only. */
bool kw_heat_cell_is_settled(const struct kw_heat_grid *grid,
                             size_t cell,
                             bool loaded)
{
    const double load = loaded ? grid->load[cell] : 1.0 - grid->load[cell];
    /* RPM that sinks for long is a coasting kart, whatever the load says. */
    if (loaded && grid->rise[cell] < COASTING)
        return false;
    return load > WHOLLY && grid->settled_s[cell] >= UNSURE_S &&
           !isnan(grid->gas_c[cell]) && !isnan(grid->rpm[cell]);
}
