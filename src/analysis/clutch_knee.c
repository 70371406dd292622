/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A broken line through a hold and the climb after it. */
#include "analysis/clutch_knee.h"

#include "signal/least_squares.h"

#include <math.h>

enum { LEVEL, CLIMB, DRIFT, N_TERMS };

/* Least squares for a knee at one place; the sum of squares that is left. */
static double fit_at(const double *t,
                     const double *y,
                     size_t n,
                     double knee_s,
                     const double *ridge,
                     double *coefficients)
{
    struct kw_least_squares fit;
    const size_t n_terms = isfinite(ridge[DRIFT]) ? N_TERMS : DRIFT;
    kw_least_squares_start(&fit, n_terms);
    for (size_t i = 0; i < n; i++) {
        const double row[N_TERMS] = {1.0, fmax(t[i] - knee_s, 0.0),
                                     t[i] - t[0]};
        kw_least_squares_add(&fit, row, y[i], 1.0);
    }
    if (!kw_least_squares_solve(&fit, ridge, coefficients))
        return INFINITY;
    const double drift = n_terms == N_TERMS ? coefficients[DRIFT] : 0.0;
    return kw_least_squares_residual(&fit, coefficients) +
           (n_terms == N_TERMS ? ridge[DRIFT] * drift * drift : 0.0);
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

bool kw_fit_knee(const double *t,
                 const double *y,
                 size_t n,
                 double most_drift,
                 struct kw_knee *out)
{
    if (n < 5)
        return false;
    double ridge[N_TERMS] = {0.0, 0.0, INFINITY};
    if (most_drift > 0.0) {
        const double noise = 0.01 * fabs(y[n / 2]) + 1.0;
        ridge[DRIFT] = noise * noise / (most_drift * most_drift);
    }
    double coefficients[N_TERMS] = {0};
    double least = INFINITY;
    double before = INFINITY;
    double around[3] = {INFINITY, INFINITY, INFINITY};
    size_t best = 0;
    for (size_t i = 1; i + 2 < n; i++) {
        const double left = fit_at(t, y, n, t[i], ridge, coefficients);
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
    if (best == 0)
        return false;
    const double knee_s = lowest_between(t, around, best);
    const double left = fit_at(t, y, n, knee_s, ridge, coefficients);
    if (!isfinite(left))
        return false;
    *out = (struct kw_knee){
        .knee_s = knee_s,
        .level = coefficients[LEVEL],
        .climb = coefficients[CLIMB],
        .drift = isfinite(ridge[DRIFT]) ? coefficients[DRIFT] : 0.0,
        .rms = sqrt(left / (double)n)};
    return true;
}
