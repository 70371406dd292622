/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knee between a hold and a climb. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_KNEE_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_KNEE_H

#include <stdbool.h>
#include <stddef.h>

/* y = level + drift * (t - t[0]) up to the knee, and climb * (t - knee) more
 * after it.
 *
 * rms  root mean square of what the model leaves. */
struct kw_knee {
    double knee_s;
    double level;
    double drift;
    double climb;
    double rms;
};

/* Fits the knee by least squares over every place that it can have.
 *
 * t, y         t[n], y[n], finite, t rising.
 * most_drift   what the drift is expected to be at most, in y's unit each
 *              second: a larger one is held back. 0 for none.
 * returns      false for fewer than 5 points or when no place fits; *out
 *              untouched.
 * cost         O(n^2): some hundred points. */
bool kw_fit_knee(const double *t,
                 const double *y,
                 size_t n,
                 double most_drift,
                 struct kw_knee *out);

#endif
