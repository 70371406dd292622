/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps of two sessions held against each other.
 *
 * Laps follow one another, and a lap is like the one before it: of ten such
 * laps there are fewer that are independent. And two sessions differ by fuel,
 * air and driver though nothing was changed, which their own laps cannot show;
 * that is known beforehand and added. */
#include "compare/lap_test.h"

#include "core/student.h"

#include <math.h>

/* A drift common to both sides could be taken out (analysis of covariance). On
 * simulated pairs that covered worse than the plain test: the line follows the
 * warm-up of one session and the scatter of the other. */
struct kw_two_sample kw_test_laps(const struct kw_sample *before,
                                  const struct kw_sample *after,
                                  double floor,
                                  double session)
{
    const double serial = kw_serial(before, after);
    struct kw_two_sample result = kw_welch(before, after, serial, floor);
    if (isnan(result.p) || !(session > 0.0))
        return result;
    const double laps =
        0.5 * (result.high - result.low) / kw_student_reach(result.df);
    const double error = hypot(laps, sqrt(2.0) * session);
    /* Welch's formula with a part of infinite freedom. */
    result.df *= pow(error / laps, 4.0);
    kw_two_sample_settle(&result, error);
    return result;
}
