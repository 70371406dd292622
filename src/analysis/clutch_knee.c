/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A broken line through a hold and the climb after it.
 *
 * While a centrifugal clutch slips it lets the engine turn at the RPM at which
 * it carries the engine's torque, whatever the kart does: RPM is level. Once it
 * is locked RPM rises with the kart. The moment between the two is the knee;
 * with RPM alone it is the only sign of locking there is. */
#include "analysis/clutch_knee.h"

#include "signal/least_squares.h"

#include <math.h>

/* The terms of y = level + climb * max(t - knee, 0) + drift * (t - t0): flat,
 * then a climb; the hold itself may drift a little as the lining warms. */
enum { LEVEL, CLIMB, DRIFT, N_TERMS };

/* The points, and the inverse squares of how large the terms may be. */
struct points {
    const double *t;
    const double *y;
    size_t n;
    double ridge[N_TERMS];
};

/* Least squares for a knee at one place; the sum of squares that is left. */
static double fit_at(const struct points *points,
                     double knee_s,
                     double *coefficients)
{
    struct kw_least_squares fit;
    const double drift_ridge = points->ridge[DRIFT];
    const size_t n_terms = isfinite(drift_ridge) ? N_TERMS : DRIFT;
    kw_least_squares_start(&fit, n_terms);
    for (size_t i = 0; i < points->n; i++) {
        const double t = points->t[i];
        const double row[N_TERMS] = {1.0, fmax(t - knee_s, 0.0),
                                     t - points->t[0]};
        kw_least_squares_add(&fit, row, points->y[i], 1.0);
    }
    /* Points that all lie on one side of the knee leave the climb open. */
    if (!kw_least_squares_solve(&fit, points->ridge, coefficients))
        return INFINITY;
    const double drift = n_terms == N_TERMS ? coefficients[DRIFT] : 0.0;
    return kw_least_squares_residual(&fit, coefficients) +
           (n_terms == N_TERMS ? drift_ridge * drift * drift : 0.0);
}

/* Where the parabola through three neighbours has its lowest point. */
static double lowest_between(const double *t, const double *left, size_t i)
{
    const double a = t[i - 1] - t[i];
    const double b = t[i + 1] - t[i];
    const double fa = left[0] - left[1];
    const double fb = left[2] - left[1];
    const double bend = a * fb - b * fa;
    if (!isfinite(fa) || !isfinite(fb) || !(fabs(bend) > 0.0))
        return t[i];
    const double at = 0.5 * (a * a * fb - b * b * fa) / bend;
    return t[i] + fmin(fmax(at, a), b);
}

/* A drift beyond what is expected is held back, in units of the noise of a
 * reading (1 % of it). */
static double drift_ridge(double level, double most_drift)
{
    const double noise = 0.01 * fabs(level) + 1.0;
    return most_drift > 0.0 ? noise * noise / (most_drift * most_drift)
                            : INFINITY;
}

/* The best of the points as a knee, made finer between its neighbours; NAN when
 * none fits. */
static double best_knee_s(const struct points *points)
{
    double coefficients[N_TERMS] = {0};
    double least = INFINITY;
    double before = INFINITY;
    double around[3] = {INFINITY, INFINITY, INFINITY};
    size_t best = 0;
    for (size_t i = 1; i + 2 < points->n; i++) {
        const double left = fit_at(points, points->t[i], coefficients);
        if (best > 0 && best + 1 == i)
            around[2] = left;
        if (left < least) {
            least = left;
            best = i;
            around[0] = before;
            around[1] = left;
            around[2] = INFINITY;
        }
        before = left;
    }
    return best > 0 ? lowest_between(points->t, around, best) : NAN;
}

/* The knee is the one term that is not linear, so it is searched: each point in
 * turn, then between the best and its neighbours. The method is that of
 * two-phase regression (Hinkley, Biometrika 56, 1969, 495; from memory). */
bool kw_fit_knee(const double *t,
                 const double *y,
                 size_t n,
                 double most_drift,
                 struct kw_knee *out)
{
    /* Three terms and the knee's place: fewer points fit any of them. */
    if (n < 5)
        return false;
    const struct points points = {
        t, y, n, {0.0, 0.0, drift_ridge(y[n / 2], most_drift)}};
    const double knee_s = best_knee_s(&points);
    double coefficients[N_TERMS] = {0};
    const double left = fit_at(&points, knee_s, coefficients);
    if (isnan(knee_s) || !isfinite(left))
        return false;
    *out =
        (struct kw_knee){.knee_s = knee_s,
                         .level = coefficients[LEVEL],
                         .climb = coefficients[CLIMB],
                         .drift = most_drift > 0.0 ? coefficients[DRIFT] : 0.0,
                         .rms = sqrt(left / (double)n)};
    return true;
}
