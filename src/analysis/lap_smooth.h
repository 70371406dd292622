/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One slowly wandering quantity from many uncertain readings of it. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_SMOOTH_H
#define KARTWRIGHT_ANALYSIS_LAP_SMOOTH_H

#include "kartwright/error.h"

#include <stddef.h>

/* value     what was read, NAN where nothing was.
 * variance  how uncertain the reading is, up to a common factor.
 * extra     variance that the quantity may have gained since the reading
 * before, beside its walk: 0 but where something happened in between. smooth,
 * smooth_variance  filled in: the best estimate from all readings. */
struct kw_reading {
    double value;
    double variance;
    double extra;
    double smooth;
    double smooth_variance;
};

/* Smooths readings[n] as a random walk seen through noise. How fast it walks,
 * and the common factor of the noise, are those that make the readings most
 * likely; readings far off count little.
 *
 * method   Kalman filter (1960) and the backward pass of Rauch, Tung and
 *          Striebel (1965), scalar; walk chosen by likelihood.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_smooth_readings(struct kw_reading *readings,
                                  size_t n,
                                  struct kw_error *error);

#endif
