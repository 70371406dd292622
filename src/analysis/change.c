/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Change of a level: cumulative sums, one shift by least squares, and by
 * ranks.
 *
 * Page's sums (Biometrika 41, 1954, 100; from memory) say that a level has
 * moved, and where; a fit of one step says by how much; ranks say so where
 * single values are wild. */
#include "analysis/change.h"

#include <math.h>

/* Small shifts add up, noise does not: the slack takes away what one value
 * may stray by chance. */
void kw_cusum_add(struct kw_cusum *sum, double x, double target, double slack)
{
    if (isnan(x))
        return;
    sum->high = fmax(0.0, sum->high + x - target - slack);
    sum->low = fmax(0.0, sum->low + target - slack - x);
}

/* From zero, as the handbook starts it. */
size_t kw_cusum_first_high(const double *values,
                           size_t n,
                           double target,
                           double slack,
                           double limit)
{
    struct kw_cusum sum = {0};
    for (size_t i = 0; i < n; i++) {
        kw_cusum_add(&sum, values[i], target, slack);
        if (sum.high > limit)
            return i;
    }
    return n;
}

/* Deviations from the mean of all keep the sums small, so that the difference
 * of squares loses no digits. */
bool kw_find_shift(const double *values, size_t n, struct kw_shift *out)
{
    if (n < 2)
        return false;
    double mean = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += (values[i] - mean) / (double)(i + 1);
    double about = 0.0;
    for (size_t i = 0; i < n; i++)
        about += (values[i] - mean) * (values[i] - mean);
    double left = 0.0;
    double best_gain = -1.0;
    struct kw_shift best = {.residual_without = about};
    for (size_t at = 1; at < n; at++) {
        left += values[at - 1] - mean;
        const double n_left = (double)at;
        const double n_right = (double)(n - at);
        /* What two means explain more than one; the deviations sum to 0. */
        const double gain = left * left / n_left + left * left / n_right;
        if (gain <= best_gain)
            continue;
        best_gain = gain;
        best.at = at;
        best.before = mean + left / n_left;
        best.after = mean - left / n_right;
    }
    best.residual = fmax(about - best_gain, 0.0);
    *out = best;
    return true;
}

/* Ties count nothing, as in Pettitt (Applied Statistics 28 (1979) 126): equal
 * lap times speak for neither side. */
static double sign(double x)
{
    return (double)((x > 0.0) - (x < 0.0));
}

/* U(at) = sum over i < at <= j of sign(x[i] - x[j]), step by step: what value
 * `at` adds when it changes sides. Time goes with n squared, which is nothing
 * for the laps of a session. Ranks, so that one spin does not make a shift. */
bool kw_pettitt_test(const double *values, size_t n, struct kw_pettitt *out)
{
    if (n < 2)
        return false;
    struct kw_pettitt best = {.at = 1};
    double u = 0.0;
    for (size_t at = 1; at < n; at++) {
        for (size_t j = 0; j < n; j++)
            u += sign(values[at - 1] - values[j]);
        if (fabs(u) > best.k) {
            best.k = fabs(u);
            best.at = at;
        }
    }
    const double size = (double)n;
    /* Pettitt's approximation; above 1 for small k, hence the limit below. */
    const double p =
        2.0 * exp(-6.0 * best.k * best.k / (size * size * (size + 1.0)));
    best.p = fmin(p, 1.0);
    *out = best;
    return true;
}
