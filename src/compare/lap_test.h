/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps of two sessions held against each other at the same time of driving. */
#ifndef KARTWRIGHT_COMPARE_LAP_TEST_H
#define KARTWRIGHT_COMPARE_LAP_TEST_H

#include "compare/two_sample.h"

/* values, times_s  values[n], times_s[n]: what each lap gave, and when in its
 *                  session, by time; none NAN. */
struct kw_lap_sample {
    const double *values;
    const double *times_s;
    size_t n;
};

/* Welch's test on what is left when a drift common to both sides is taken out.
 *
 * Engine and track change while a session goes on (heat soaks in, fuel burns
 * off), so that laps 2 to 5 of one session against laps 2 to 12 of another
 * differ with nothing changed. The drift is the straight line, common to both
 * sides, that fits best; the difference is that of the two sides at one time,
 * and its error holds that of the drift. Where the times of both sides have the
 * same middle, or all times are equal, nothing is taken out.
 *
 * room      scratch[before->n + after->n].
 * floor     as in kw_welch().
 * returns   mean_a and mean_b as they would be in the middle of all laps, with
 *           the drift taken out. NAN but for the means with fewer than 2 values
 * on a side; no drift is taken out with fewer than 7 in all. source    analysis
 * of covariance, one covariate: Cochran, Biometrics 13 (1957) 261 (from
 * memory); unequal variances and degrees of freedom as Welch 1947, the drift's
 * error as a third part. */
struct kw_two_sample kw_test_laps(const struct kw_lap_sample *before,
                                  const struct kw_lap_sample *after,
                                  double floor,
                                  double *scratch);

#endif
