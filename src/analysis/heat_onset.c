/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The onset of heat: warm-up and one step, fitted together to the means of the
 * pulls.
 *
 * A step in the first two minutes looks like the end of the warm-up to a fit
 * that knows no steps, and a warm-up like a step to one that knows no warm-up.
 * Fitted side by side they part: a pipe warms up as exp(-t/T), a blocked jet
 * does not. */
#include "analysis/heat_onset.h"

#include "analysis/pull_means.h"
#include "analysis/warm_up_fit.h"

#include <math.h>

/* Before this the probe itself warms up. */
static const double WORKED_S = 20.0;
/* Time constants of a warm-up that are tried, from a bare probe to a thick pipe
 * (common practice, no source). The last is none: a session that began warm. */
static const double WARM_UP_S[] = {12.0, 25.0, 50.0, 100.0, INFINITY};
enum { N_WARM_UPS = sizeof WARM_UP_S / sizeof WARM_UP_S[0] };
/* Only so much of the session is looked at, and for a step in so much of that;
 * what comes later has a longer level before it (heat_shift.c). */
static const double LOOK_S = 900.0;
static const double EARLY_S = 300.0;
/* Pulls before and after it: two laps of a track with four straights. With
 * fewer the warm-up alone bends as sharply. */
enum { FEWEST_PULLS = 8 };
/* 3.5 % of fuel at 10 C for each (common practice, no source). */
static const double LEAST_STEP_C = 35.0;
/* In standard errors. In 2,400 simulated sessions the plainest step of a sound
 * one that passes the other limits has 9.8. */
static const double LEAST_T = 12.0;
/* So much of it comes from one pull to the next: the mean of three before it
 * and three after. */
static const double SUDDEN_SHARE = 0.6;
enum { NEXT_PULLS = 3 };
/* Scatter below this is the logger's. */
static const double LEAST_SCATTER_C = 1.0;
/* Between the two pulls: longer, and somebody may have turned a needle. */
static const double MOST_PAUSE_S = 15.0;
/* How fast RPM rose before against after, at the same RPM: a driver who only
 * then put his foot down is no fault. */
static const double LEAST_PULLING = 0.93;

/* A step before pull `at`; left is the sum of squares about the best fit. */
struct onset {
    size_t at;
    double step_c;
    double left;
};

/* A step: 0 before the pull `from`, 1 from it on. */
static double step(const struct kw_pull_means *s, size_t pull, double from)
{
    (void)s;
    return (double)pull >= from ? 1.0 : 0.0;
}

static struct onset fit_onset(const struct kw_pull_means *s, size_t at)
{
    static const struct kw_warm_up_search search = {step, WARM_UP_S,
                                                    N_WARM_UPS};
    const struct kw_warm_up_fit fit = kw_fit_warm_up(&search, s, (double)at);
    return (struct onset){at, fit.size, fit.left};
}

/* Mean of the pulls after it less that of the pulls before. */
static double jump_c(const struct kw_pull_means *s, size_t at)
{
    double sum_c = 0.0;
    for (size_t k = 0; k < NEXT_PULLS; k++)
        sum_c += s->mean_c[at + k] - s->mean_c[at - 1 - k];
    return sum_c / NEXT_PULLS;
}

/* Speed of the rise of RPM under load before a time as a share of that after
 * it, over the RPM that both have; NAN where they have none. */
static double pulling_before(const struct kw_heat_grid *g,
                             double from_s,
                             double at_s)
{
    double seconds[2][KW_RPM_BINS] = {{0}};
    double rise[2][KW_RPM_BINS] = {{0}};
    for (size_t i = 0; i < g->n; i++) {
        const size_t bin = kw_rpm_bin(g->rpm[i]);
        if (bin == KW_RPM_BINS || g->time_s[i] < from_s ||
            !kw_heat_cell_is_settled(g, i, true))
            continue;
        const int side = g->time_s[i] < at_s ? 0 : 1;
        seconds[side][bin] += g->step_s[i];
        rise[side][bin] += g->rise[i] * g->step_s[i];
    }
    double before = 0.0;
    double after = 0.0;
    for (size_t bin = 0; bin < KW_RPM_BINS; bin++) {
        const double both_s = fmin(seconds[0][bin], seconds[1][bin]);
        if (both_s > 0.0) {
            before += both_s * rise[0][bin] / seconds[0][bin];
            after += both_s * rise[1][bin] / seconds[1][bin];
        }
    }
    return after > 0.0 ? before / after : NAN;
}

/* In standard errors of a difference of two means; 0 where it is no fault. */
static double plainness(const struct kw_heat_grid *g,
                        const struct kw_pull_means *s,
                        const struct onset *onset)
{
    const double before = (double)onset->at;
    const double after = (double)(s->n - onset->at);
    const double scatter_c =
        sqrt(onset->left / (double)(s->n - KW_WARM_UP_TERMS - 1));
    const double t = onset->step_c / fmax(scatter_c, LEAST_SCATTER_C) /
                     sqrt(1.0 / before + 1.0 / after);
    const double at_s = s->start_s[onset->at];
    if (onset->step_c < LEAST_STEP_C || t < LEAST_T ||
        jump_c(s, onset->at) < SUDDEN_SHARE * onset->step_c ||
        at_s - s->end_s[onset->at - 1] > MOST_PAUSE_S ||
        !(pulling_before(g, s->start_s[0], at_s) >= LEAST_PULLING))
        return 0.0;
    return t;
}

/* The best place for a step among the first minutes.
 *
 * returns  false where there are too few pulls. */
static bool find_onset(struct kw_pull_means *s, struct onset *best)
{
    size_t last = 0;
    while (last < s->n && s->end_s[last] - s->end_s[0] < LOOK_S)
        last++;
    s->n = last;
    *best = (struct onset){.left = INFINITY};
    for (size_t at = FEWEST_PULLS;
         at + FEWEST_PULLS <= s->n && s->start_s[at] - s->end_s[0] < EARLY_S;
         at++) {
        const struct onset onset = fit_onset(s, at);
        if (onset.left < best->left)
            *best = onset;
    }
    return isfinite(best->left);
}

/* Each region has its own pulls; the plainest step is taken. What comes after
 * it is not needed to know what is right, and may be wrong to the end. */
enum kw_status kw_heat_find_onset(struct kw_heat_grid *grid,
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
        struct onset onset;
        kw_pull_means_collect(grid, level_c, region, WORKED_S, &s);
        if (!find_onset(&s, &onset))
            continue;
        const double t = plainness(grid, &s, &onset);
        if (t > plainest) {
            plainest = t;
            at_s = s.start_s[onset.at];
        }
    }
    for (size_t i = 0; i < grid->n; i++)
        grid->teaches[i] = grid->time_s[i] < at_s ? grid->teaches[i] : 0.0;
    *found = plainest > 0.0;
    kw_pull_means_free(&s);
    return KW_OK;
}
