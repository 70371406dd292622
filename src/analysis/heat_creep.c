/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heat that creeps: warm-up and a ramp, fitted together to the means of the
 * pulls. A pipe warms up as exp(-t/T), ever slower; what clogs does not. */
#include "analysis/heat_creep.h"

#include "analysis/pull_means.h"
#include "analysis/warm_up_fit.h"

#include <math.h>

/* Before this the probe itself warms up. */
static const double WORKED_S = 20.0;
/* Time constants of a warm-up that are tried, up to a pipe that is thicker than
 * any (common practice, no source). The last is none: a session that began
 * warm. */
static const double WARM_UP_S[] = {12.0, 25.0, 50.0, 100.0, 200.0, INFINITY};
enum { N_WARM_UPS = sizeof WARM_UP_S / sizeof WARM_UP_S[0] };
/* Pulls before the ramp and in it: two laps of a track with four straights. */
enum { FEWEST_PULLS = 8 };
/* A long session is looked at in means of a few pulls: what creeps does so over
 * many, and the fit costs as the square of their number. */
enum { MOST_PULLS = 200 };
/* It lasts for so long at least: what is quicker is a step (heat_shift.c). */
static const double SHORTEST_S = 80.0;
/* It rises by so much in all, four percent of fuel at 10 C for each, and by so
 * much in each minute: a day does 20 in some minutes, and less in a session
 * (common practice, no source). */
static const double LEAST_RISE_C = 40.0;
static const double LEAST_RISE_C_S = 5.0 / 60.0;
/* In standard errors (common practice, no source). */
static const double LEAST_T = 10.0;
/* What it has risen by where it is plain: about 1.5 % of fuel (common practice,
 * no source). */
static const double PLAIN_C = 15.0;
/* Scatter below this is the logger's. */
static const double LEAST_SCATTER_C = 1.0;

/* from_s     where it begins, since the first pull; INFINITY for no ramp.
 * rise_c_s   its slope.
 * left       sum of squares about the fit. */
struct ramp {
    double from_s;
    double rise_c_s;
    double left;
};

static double since_s(const struct kw_pull_means *s, size_t i)
{
    return s->end_s[i] - s->end_s[0];
}

/* Seconds since it began. */
static double risen_for_s(const struct kw_pull_means *s,
                          size_t pull,
                          double from_s)
{
    return isinf(from_s) ? 0.0 : fmax(since_s(s, pull) - from_s, 0.0);
}

static struct ramp fit_ramp(const struct kw_pull_means *s, double from_s)
{
    static const struct kw_warm_up_search search = {risen_for_s, WARM_UP_S,
                                                    N_WARM_UPS};
    const struct kw_warm_up_fit fit = kw_fit_warm_up(&search, s, from_s);
    return (struct ramp){from_s, fit.size, fit.left};
}

/* The best place for a ramp to begin. */
static struct ramp find_ramp(const struct kw_pull_means *s)
{
    struct ramp best = {.left = INFINITY};
    for (size_t at = FEWEST_PULLS; at + FEWEST_PULLS <= s->n; at++) {
        if (since_s(s, s->n - 1) - since_s(s, at) < SHORTEST_S)
            break;
        const struct ramp one = fit_ramp(s, since_s(s, at));
        if (one.left < best.left)
            best = one;
    }
    return best;
}

/* In standard errors; 0 where it is none. */
static double plainness(const struct kw_pull_means *s, const struct ramp *one)
{
    const double rise_c = one->rise_c_s * (since_s(s, s->n - 1) - one->from_s);
    if (!(rise_c >= LEAST_RISE_C) || one->rise_c_s < LEAST_RISE_C_S)
        return 0.0;
    const struct ramp alone = fit_ramp(s, INFINITY);
    const double scatter_c =
        sqrt(one->left / (double)(s->n - KW_WARM_UP_TERMS - 1));
    const double t = sqrt(fmax(alone.left - one->left, 0.0)) /
                     fmax(scatter_c, LEAST_SCATTER_C);
    return t >= LEAST_T ? t : 0.0;
}

/* Means of so many pulls in a row that MOST_PULLS are left at most. */
static void thin_out(struct kw_pull_means *s)
{
    const size_t each = (s->n + MOST_PULLS - 1) / MOST_PULLS;
    size_t n = 0;
    for (size_t from = 0; from < s->n; from += each, n++) {
        const size_t to = from + each < s->n ? from + each : s->n;
        double sum_c = 0.0;
        for (size_t i = from; i < to; i++)
            sum_c += s->mean_c[i];
        s->mean_c[n] = sum_c / (double)(to - from);
        s->start_s[n] = s->start_s[from];
        s->end_s[n] = s->end_s[to - 1];
    }
    s->n = n;
}

/* Each region has its own pulls; the plainest ramp is taken. */
enum kw_status kw_heat_find_creep(struct kw_heat_grid *grid,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error)
{
    struct kw_pull_means s;
    if (kw_pull_means_new(grid, &s, error) != KW_OK)
        return KW_NO_MEMORY;
    double plainest = 0.0;
    double at_s = INFINITY;
    for (size_t region = 0; region < KW_PULL_REGIONS; region++) {
        kw_pull_means_collect(grid, level_c, region, WORKED_S, &s);
        thin_out(&s);
        const struct ramp best = find_ramp(&s);
        const double t = isfinite(best.left) ? plainness(&s, &best) : 0.0;
        if (t > plainest) {
            plainest = t;
            at_s = s.end_s[0] + best.from_s + PLAIN_C / best.rise_c_s;
        }
    }
    for (size_t i = 0; i < grid->n; i++)
        grid->teaches[i] = grid->time_s[i] < at_s ? grid->teaches[i] : 0.0;
    *found = plainest > 0.0;
    kw_pull_means_free(&s);
    return KW_OK;
}
