/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many loggers smooth engine speed with a first-order filter of up to a quarter
 * of a second. A signal that is lost and comes back then has no edges: RPM
 * follows y' = (x - y) / lag towards what is read, and back. No engine falls or
 * climbs in that shape: friction takes RPM in a line, the clutch at once. */
#include "analysis/smoothed_step.h"

#include <math.h>

/* Time constants that are tried, from hardly any. Common practice, no source.
 */
static const double LAGS_S[] = {0.02, 0.04,  0.06, 0.08,  0.1,
                                0.12, 0.145, 0.17, 0.205, 0.25};
enum { N_LAGS = sizeof LAGS_S / sizeof LAGS_S[0] };

/* Moments of a step that are tried in each interval between two readings. */
enum { MOMENTS = 4 };

/* This much of the step has to arrive, or any dip would fit. */
static const double LEAST_SEEN = 0.65;

/* One way that it may have been. */
struct guess {
    double from_s;
    double until_s;
    double lag_s;
};

/* What is right at a time: on the line from before to settled. */
static double right_rpm(const struct kw_session *session,
                        const struct kw_smoothed_step *step,
                        double time_s)
{
    const double from_s = session->time_s[step->before];
    const double whole_s = session->time_s[step->settled] - from_s;
    const double rise =
        session->rpm[step->settled] - session->rpm[step->before];
    return session->rpm[step->before] + rise * (time_s - from_s) / whole_s;
}

/* The filter over one stretch in which the input does not leap. */
static double follow(double y, double x, double took_s, double lag_s)
{
    return x + (y - x) * exp(-took_s / lag_s);
}

/* What the logger writes one reading later: the interval is cut where the input
 * leaps. */
static double one_on(const struct kw_session *session,
                     const struct kw_smoothed_step *step,
                     const struct guess *guess,
                     size_t i,
                     double y)
{
    const double to_s = session->time_s[i + 1];
    for (double at_s = session->time_s[i]; at_s < to_s;) {
        const bool away = at_s >= guess->from_s && at_s < guess->until_s;
        double end_s = to_s;
        if (at_s < guess->from_s)
            end_s = fmin(end_s, guess->from_s);
        else if (at_s < guess->until_s)
            end_s = fmin(end_s, guess->until_s);
        const double right = right_rpm(session, step, (at_s + end_s) / 2.0);
        y = follow(y, away ? step->times * right : right, end_s - at_s,
                   guess->lag_s);
        at_s = end_s;
    }
    return y;
}

/* Mean square misfit of one guess, in squared shares of the step; infinite
 * where too little of the step arrives. */
static double misfit(const struct kw_session *session,
                     const struct kw_smoothed_step *step,
                     const struct guess *guess)
{
    double y = session->rpm[step->before];
    double sum = 0.0;
    double seen = 0.0;
    size_t n = 0;
    for (size_t i = step->before; i < step->settled; i++) {
        y = one_on(session, step, guess, i, y);
        const double right = right_rpm(session, step, session->time_s[i + 1]);
        const double depth = (step->times - 1.0) * right;
        seen = fmax(seen, (y - right) / depth);
        if (isnan(session->rpm[i + 1]))
            continue;
        const double off = (session->rpm[i + 1] - y) / depth;
        sum += off * off;
        n++;
    }
    return n > 0 && seen >= LEAST_SEEN ? sum / (double)n : INFINITY;
}

/* The k-th of the moments between reading i and the next. */
static double moment_s(const struct kw_session *session, size_t i, size_t k)
{
    const double step_s = session->time_s[i + 1] - session->time_s[i];
    return session->time_s[i] + step_s * ((double)k + 0.5) / MOMENTS;
}

/* Every way that it may have been is tried: a few hundred, each over the few
 * readings of a step. */
double kw_smoothed_misfit(const struct kw_session *session,
                          const struct kw_smoothed_step *step)
{
    double least = INFINITY;
    const size_t early = step->leaves > step->before + 1 ? 1 : 0;
    for (size_t lag = 0; lag < N_LAGS; lag++) {
        for (size_t k = 0; k < MOMENTS; k++) {
            for (size_t m = 0; m < (1 + early) * MOMENTS; m++) {
                const struct guess guess = {
                    .from_s = moment_s(session, step->before, k),
                    .until_s =
                        moment_s(session, step->leaves - early + m / MOMENTS,
                                 m % MOMENTS),
                    .lag_s = LAGS_S[lag],
                };
                least = fmin(least, misfit(session, step, &guess));
            }
        }
    }
    return isinf(least) ? NAN : sqrt(least);
}
