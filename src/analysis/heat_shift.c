/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of the heat, seen in the means of pulls (least squares, change.c), and
 * which of the levels between them is the right one.
 *
 * A step is believed when it is large, stands far out of the scatter of the
 * pulls, and is more of a step than of a slope: an engine that warms up, or a
 * day that does, climbs slowly. */
#include "analysis/heat_shift.h"

#include "analysis/change.h"
#include "analysis/pull_means.h"
#include "core/robust.h"

#include <math.h>

/* The first minute or so of work is warm-up. What teaches has to last longer
 * than one slow lap; beside a step of so much, which no warm-up hides, a little
 * less is enough (common practice, no source). */
static const double WARM_UP_S = 75.0;
static const double BEFORE_S = 90.0;
static const double LARGE_STEP_C = 45.0;
static const double BEFORE_LARGE_S = 70.0;
/* Pulls on either side. */
enum { FEWEST_PULLS = 12, FEWEST_ON_A_SIDE = 4 };
/* About 1.5 % of fuel (10 C for each: common practice, no source). */
static const double LEAST_STEP_C = 15.0;
/* Step in standard errors, by enum kw_heat_past. */
static const double LEAST_T[] = {14.0, 8.0};
/* What a step leaves unexplained against what a straight line does. */
static const double BETTER_THAN_A_SLOPE[] = {0.4, 0.65};
/* Less of the session than this at other levels does not move the quantile. */
static const double HARMLESS_SHARE = 0.25;
/* What held for most of the session is right, and so is what the engine went
 * out with and held for a while: it goes out right and then something happens
 * to it. Of two such levels the cooler is taken, for to call it rich would send
 * the owner the dangerous way. */
static const double MOST_OF_IT = 0.6;
static const double A_WHILE = 0.25;
/* A joint that leaks cools the exhaust off the throttle as well, by nearly half
 * of what it takes under load or more; a mixture does by a third or so, for the
 * pipe remembers (simulated sessions). */
static const double LEAK_SHARE = 0.47;
/* So much of a step below its middle, at the end of the warm-up (half is all
 * the way down; common practice, no source). */
static const double CAME_BACK_SHARE = 0.35;
/* The end of the warm-up, and the pulling in it that tells a level. Common
 * practice, no source. */
static const double LATE_S = 30.0;
static const double LEAST_LATE_S = 4.0;
/* Levels told apart in one session: a fault that came and went, twice. */
enum { MOST_LEVELS = 6 };

struct step {
    bool found;
    size_t at; /* the first pull after it */
    double t;
};

/* Pulls edge[k] .. edge[k + 1] - 1 are on level k; t is that of the plainest
 * step. A level has to have held for before_s to teach. */
struct levels {
    size_t n;
    size_t edge[MOST_LEVELS + 1];
    double mean_c[MOST_LEVELS];
    double t;
    double before_s;
};

/* Sum of squares about a straight line in time. */
static double about_a_line(const struct kw_pull_means *s,
                           size_t from,
                           size_t to)
{
    const double n = (double)(to - from);
    double t = 0.0;
    double v = 0.0;
    for (size_t i = from; i < to; i++) {
        t += s->end_s[i] / n;
        v += s->mean_c[i] / n;
    }
    double tt = 0.0;
    double tv = 0.0;
    double vv = 0.0;
    for (size_t i = from; i < to; i++) {
        tt += (s->end_s[i] - t) * (s->end_s[i] - t);
        tv += (s->end_s[i] - t) * (s->mean_c[i] - v);
        vv += (s->mean_c[i] - v) * (s->mean_c[i] - v);
    }
    return tt > 0.0 ? vv - tv * tv / tt : vv;
}

/* Each test kills one kind of false step: too few pulls, too small, lost in
 * scatter, or a slope in disguise. */
static struct step find_step(const struct kw_pull_means *s,
                             size_t from,
                             size_t to,
                             enum kw_heat_past past)
{
    struct kw_shift shift;
    const struct step none = {0};
    if (to - from < FEWEST_PULLS ||
        !kw_find_shift(s->mean_c + from, to - from, &shift) ||
        shift.at < FEWEST_ON_A_SIDE || to - from - shift.at < FEWEST_ON_A_SIDE)
        return none;
    const double n_before = (double)shift.at;
    const double n_after = (double)(to - from - shift.at);
    const double size_c = shift.after - shift.before;
    const double scatter_c = sqrt(shift.residual / (n_before + n_after - 2.0));
    const double t = fabs(size_c) / fmax(scatter_c, 1.0) /
                     sqrt(1.0 / n_before + 1.0 / n_after);
    if (fabs(size_c) < LEAST_STEP_C || t < LEAST_T[past] ||
        shift.residual > BETTER_THAN_A_SLOPE[past] * about_a_line(s, from, to))
        return none;
    return (struct step){true, from + shift.at, t};
}

/* The steps of all, then of what lies between them: a fault that came and went
 * leaves a step in one of the halves. */
static struct levels find_levels(const struct kw_pull_means *s,
                                 enum kw_heat_past past)
{
    struct levels l = {.n = 1, .edge = {0, s->n}};
    for (size_t k = 0; k < l.n;) {
        const struct step step = find_step(s, l.edge[k], l.edge[k + 1], past);
        if (!step.found || l.n == MOST_LEVELS) {
            k++;
            continue;
        }
        for (size_t e = l.n; e > k; e--)
            l.edge[e + 1] = l.edge[e];
        l.edge[k + 1] = step.at;
        l.n++;
        l.t = fmax(l.t, step.t);
    }
    for (size_t k = 0; k < l.n; k++) {
        for (size_t i = l.edge[k]; i < l.edge[k + 1]; i++)
            l.mean_c[k] += s->mean_c[i] / (double)(l.edge[k + 1] - l.edge[k]);
    }
    return l;
}

/* Half way between two pulls. The warm-up is on no level. */
static double level_start_s(const struct kw_pull_means *s,
                            const struct levels *l,
                            size_t k)
{
    if (k == 0)
        return s->end_s[0];
    if (k == l->n)
        return s->end_s[s->n - 1];
    return 0.5 * (s->end_s[l->edge[k] - 1] + s->end_s[l->edge[k]]);
}

/* Levels that differ by less than a step are the same. */
static bool is_like(const struct levels *l, size_t a, size_t b)
{
    return fabs(l->mean_c[a] - l->mean_c[b]) < LEAST_STEP_C;
}

/* How long the session was on a level, or on one like it. */
static double held_s(const struct kw_pull_means *s,
                     const struct levels *l,
                     size_t k)
{
    double seconds = 0.0;
    for (size_t i = 0; i < l->n; i++) {
        if (is_like(l, i, k))
            seconds += level_start_s(s, l, i + 1) - level_start_s(s, l, i);
    }
    return seconds;
}

/* Off the throttle, from .. to. */
static double lifted_mean_c(const struct kw_heat_grid *g,
                            const double *level_c,
                            double from_s,
                            double to_s)
{
    double sum = 0.0;
    double seconds = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        const double excess_c = g->gas_c[i] - level_c[i];
        if (g->time_s[i] < from_s || g->time_s[i] >= to_s || isnan(excess_c) ||
            !kw_heat_cell_is_settled(g, i, false))
            continue;
        sum += excess_c * g->step_s[i];
        seconds += g->step_s[i];
    }
    return seconds > 0.0 ? sum / seconds : NAN;
}

/* Mean gas under load, warm-up included, between two times at each RPM; NAN
 * where there was none.
 *
 * mean_c  mean_c[KW_RPM_BINS]. */
static void mean_by_rpm(const struct kw_heat_grid *g,
                        double from_s,
                        double to_s,
                        double *mean_c)
{
    double seconds[KW_RPM_BINS] = {0};
    double sum[KW_RPM_BINS] = {0};
    for (size_t i = 0; i < g->n; i++) {
        const size_t bin = kw_rpm_bin(g->rpm[i]);
        if (bin == KW_RPM_BINS || g->time_s[i] <= from_s ||
            g->time_s[i] > to_s || !kw_heat_cell_is_settled(g, i, true))
            continue;
        sum[bin] += g->gas_c[i] * g->step_s[i];
        seconds[bin] += g->step_s[i];
    }
    for (size_t bin = 0; bin < KW_RPM_BINS; bin++)
        mean_c[bin] = seconds[bin] > 0.0 ? sum[bin] / seconds[bin] : NAN;
}

/* How far above the middle between two levels the engine was at the end of its
 * warm-up, at the same RPM. */
static double above_middle_c(const struct kw_heat_grid *g,
                             const double *low_c,
                             const double *high_c)
{
    double sum = 0.0;
    double seconds = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        const size_t bin = kw_rpm_bin(g->rpm[i]);
        if (bin == KW_RPM_BINS || !kw_heat_cell_is_settled(g, i, true) ||
            !(g->worked_s[i] > WARM_UP_S - LATE_S) ||
            g->worked_s[i] > WARM_UP_S)
            continue;
        const double above_c = g->gas_c[i] - 0.5 * (low_c[bin] + high_c[bin]);
        if (isnan(above_c))
            continue;
        sum += above_c * g->step_s[i];
        seconds += g->step_s[i];
    }
    return seconds >= LEAST_LATE_S ? sum / seconds : NAN;
}

/* The last level is cold because the exhaust leaks, and not by its mixture; but
 * one that the engine went out with is no leak for having come back. A pipe
 * that warms up reads too cool, so it has to be near that level. */
static bool ends_thinned(const struct kw_heat_grid *g,
                         const double *level_c,
                         const struct kw_pull_means *s,
                         const struct levels *l)
{
    const size_t last = l->n - 1;
    if (is_like(l, 0, last))
        return false;
    const double start_s = level_start_s(s, l, last);
    const double before_s = level_start_s(s, l, last - 1);
    const double end_s = level_start_s(s, l, l->n);
    const double loaded_c = l->mean_c[last - 1] - l->mean_c[last];
    const double lifted_c = lifted_mean_c(g, level_c, before_s, start_s) -
                            lifted_mean_c(g, level_c, start_s, end_s);
    double low_c[KW_RPM_BINS];
    double high_c[KW_RPM_BINS];
    mean_by_rpm(g, start_s, end_s, low_c);
    mean_by_rpm(g, before_s, start_s, high_c);
    return loaded_c > 0.0 && lifted_c >= LEAK_SHARE * loaded_c &&
           !(above_middle_c(g, low_c, high_c) < -CAME_BACK_SHARE * loaded_c);
}

/* Whether the engine went out on a hotter level than the first, and the step
 * down fell into the warm-up: a pipe that warms up reads too cool, never too
 * hot. */
static bool was_hotter_before(const struct kw_heat_grid *g,
                              const struct kw_pull_means *s,
                              const struct levels *l)
{
    double low_c[KW_RPM_BINS];
    double high_c[KW_RPM_BINS];
    mean_by_rpm(g, level_start_s(s, l, 0), level_start_s(s, l, 1), low_c);
    for (size_t k = 1; k < l->n; k++) {
        if (is_like(l, k, 0) || l->mean_c[k] < l->mean_c[0])
            continue;
        mean_by_rpm(g, level_start_s(s, l, k), level_start_s(s, l, k + 1),
                    high_c);
        if (above_middle_c(g, low_c, high_c) > 0.0)
            return true;
    }
    return false;
}

/* How much hotter a level is than another at the same RPM, in the middle; NAN
 * where they share none. A fit to all of them has taken a part of it for the
 * warm-up. */
static double hotter_c(const struct kw_heat_grid *g,
                       const struct kw_pull_means *s,
                       const struct levels *l,
                       size_t level,
                       size_t than)
{
    double mean_c[KW_RPM_BINS];
    double than_c[KW_RPM_BINS];
    mean_by_rpm(g, level_start_s(s, l, level), level_start_s(s, l, level + 1),
                mean_c);
    mean_by_rpm(g, level_start_s(s, l, than), level_start_s(s, l, than + 1),
                than_c);
    for (size_t bin = 0; bin < KW_RPM_BINS; bin++)
        mean_c[bin] -= than_c[bin];
    return kw_median(mean_c, KW_RPM_BINS, mean_c);
}

/* How long a level has to have held to teach. */
static double least_before_s(const struct kw_heat_grid *g,
                             const struct kw_pull_means *s,
                             const struct levels *l)
{
    for (size_t k = 1; k < l->n; k++) {
        if (fabs(hotter_c(g, s, l, k, k - 1)) >= LARGE_STEP_C)
            return BEFORE_LARGE_S;
    }
    return BEFORE_S;
}

/* The engine went out with it; or with what held too briefly to teach, and did
 * not come back: then the cool one would be the exception. */
static bool is_first(const struct kw_pull_means *s,
                     const struct levels *l,
                     size_t k)
{
    if (is_like(l, k, 0))
        return true;
    for (size_t later = k + 1; later < l->n; later++) {
        for (size_t before = 0; before < k; before++) {
            if (is_like(l, before, later))
                return false;
        }
    }
    return level_start_s(s, l, k) - s->end_s[0] < l->before_s;
}

/* The coolest that is no exception; where all are, the one that held longest.
 *
 * went_out_with_it  the engine did with the first level. */
static size_t right_level(const struct kw_pull_means *s,
                          const struct levels *l,
                          bool went_out_with_it,
                          bool thinned)
{
    const double whole_s = level_start_s(s, l, l->n) - s->end_s[0];
    size_t longest = 0;
    size_t coolest = l->n;
    for (size_t k = 0; k < l->n; k++) {
        const double least_s = went_out_with_it && is_first(s, l, k)
                                   ? fmax(A_WHILE * whole_s, l->before_s)
                                   : MOST_OF_IT * whole_s;
        if (thinned && is_like(l, k, l->n - 1))
            continue;
        if (held_s(s, l, k) > held_s(s, l, longest))
            longest = k;
        if (held_s(s, l, k) >= least_s &&
            (coolest == l->n || l->mean_c[k] < l->mean_c[coolest]))
            coolest = k;
    }
    return coolest < l->n ? coolest : longest;
}

/* What is not on the right level does not teach.
 *
 * returns  false where that is harmless, or leaves too little to learn from. */
static bool choose_teachers(struct kw_heat_grid *grid,
                            const double *level_c,
                            const struct kw_pull_means *s,
                            const struct levels *l)
{
    const bool thinned = ends_thinned(grid, level_c, s, l);
    const size_t right =
        right_level(s, l, !was_hotter_before(grid, s, l), thinned);
    const double right_s = held_s(s, l, right);
    const double whole_s = level_start_s(s, l, l->n) - s->end_s[0];
    if (right_s < l->before_s || whole_s - right_s < HARMLESS_SHARE * whole_s)
        return false;
    for (size_t k = 0; k < l->n; k++) {
        const double start_s = k > 0 ? level_start_s(s, l, k) : -INFINITY;
        const double end_s =
            k + 1 < l->n ? level_start_s(s, l, k + 1) : INFINITY;
        for (size_t i = 0; i < grid->n && !is_like(l, k, right); i++) {
            if (grid->time_s[i] > start_s && grid->time_s[i] <= end_s)
                grid->teaches[i] = 0.0;
        }
    }
    return true;
}

/* The whole range is tried and its thirds; the plainest step wins. */
enum kw_status kw_heat_find_shift(struct kw_heat_grid *grid,
                                  enum kw_heat_past past,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error)
{
    struct kw_pull_means s;
    if (kw_pull_means_new(grid, &s, error) != KW_OK)
        return KW_NO_MEMORY;
    double plainest = 0.0;
    size_t best = 0;
    for (size_t k = 0; k < KW_PULL_REGIONS; k++) {
        kw_pull_means_collect(grid, level_c, k, WARM_UP_S, &s);
        const struct levels levels = find_levels(&s, past);
        best = levels.t > plainest ? k : best;
        plainest = fmax(plainest, levels.t);
    }
    kw_pull_means_collect(grid, level_c, best, WARM_UP_S, &s);
    struct levels levels = find_levels(&s, past);
    levels.before_s = least_before_s(grid, &s, &levels);
    *found = levels.n > 1 && choose_teachers(grid, level_c, &s, &levels);
    kw_pull_means_free(&s);
    return KW_OK;
}
