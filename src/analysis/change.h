/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Has a level changed, and when: the cumulative sum of Page, and one shift of
 * the mean by least squares. */
#ifndef KARTWRIGHT_ANALYSIS_CHANGE_H
#define KARTWRIGHT_ANALYSIS_CHANGE_H

#include <stdbool.h>
#include <stddef.h>

/* The two one-sided sums, both 0 at the start.
 *
 * high  max(0, high + x - target - slack)
 * low   max(0, low + target - slack - x)
 * source  Page 1954, Biometrika 41:100; NIST/SEMATECH e-Handbook 6.3.2.3. */
struct kw_cusum {
    double high;
    double low;
};

/* Adds one value; a NAN leaves the sums as they are.
 *
 * slack  half the shift that matters. */
void kw_cusum_add(struct kw_cusum *sum, double x, double target, double slack);

/* The first index at which the high sum passes the limit.
 *
 * values   values[n], NAN where missing.
 * returns  n where it never does. */
size_t kw_cusum_first_high(const double *values,
                           size_t n,
                           double target,
                           double slack,
                           double limit);

/* One shift of the mean.
 *
 * at        values before it are one level, from it on another: 1 .. n - 1.
 * before, after  the means.
 * residual  sum of squares about the two means.
 * residual_without  about one mean. */
struct kw_shift {
    size_t at;
    double before;
    double after;
    double residual;
    double residual_without;
};

/* The shift that leaves the smallest sum of squares.
 *
 * values   values[n], all finite.
 * returns  false for n < 2; *out untouched.
 * source   least squares; the maximum-likelihood place of a single shift in
 *          normal values (Hinkley 1970, Biometrika 57:1, from memory).
 * cost     O(n). */
bool kw_find_shift(const double *values, size_t n, struct kw_shift *out);

/* Pettitt's rank statistic for one change of any kind.
 *
 * at       as in struct kw_shift.
 * k        max |U|.
 * p        2 exp(-6 k^2 / (n^3 + n^2)), at most 1.
 * returns  false for n < 2; *out untouched.
 * source   Pettitt 1979, Applied Statistics 28:126.
 * cost     O(n^2): for lists of laps or pulls, not of samples. */
struct kw_pettitt {
    size_t at;
    double k;
    double p;
};

bool kw_pettitt_test(const double *values, size_t n, struct kw_pettitt *out);

#endif
