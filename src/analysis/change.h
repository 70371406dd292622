/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Has a level changed, and when: the cumulative sum of Page, and one shift of
 * the mean by least squares. */
#ifndef KARTWRIGHT_ANALYSIS_CHANGE_H
#define KARTWRIGHT_ANALYSIS_CHANGE_H

#include <stdbool.h>
#include <stddef.h>

/* The one-sided sum for a level that rises; for one that falls, target and
 * values with their signs turned.
 *
 * target  the level that is left.
 * slack   what a value may lie above it by chance; half the shift that matters.
 * limit   of the sum, beyond which the level has changed.
 * sum     max(0, sum + x - target - slack); 0 at the start, as are the others.
 * n       values so far.
 * from    index of the first value of the run of positive sums that goes on:
 *         the usual estimate of when the level changed. Means something only
 *         where has_passed.
 * has_passed  this run has passed the limit, and the sum has not been back at
 *         0 since.
 * source  Page 1954, Biometrika 41:100; NIST/SEMATECH e-Handbook 6.3.2.3. */
struct kw_cusum {
    double target;
    double slack;
    double limit;
    double sum;
    size_t n;
    size_t from;
    bool has_passed;
};

/* Adds one value; a NAN is counted and leaves the sum as it is. */
void kw_cusum_add(struct kw_cusum *cusum, double x);

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

#endif
