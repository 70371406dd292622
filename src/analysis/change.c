/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Change of a level: cumulative sums, and one shift by least squares.
 *
 * Page's sums (Biometrika 41, 1954, 100; from memory) say that a level has
 * moved, and where; a fit of one step says by how much. */
#include "analysis/change.h"

#include <math.h>

/* Small shifts add up, noise does not: the slack takes away what one value may
 * stray by chance. A sum that is back at 0 begins anew: what lay above was no
 * lasting change. */
void kw_cusum_add(struct kw_cusum *cusum, double x)
{
    const size_t at = cusum->n++;
    if (isnan(x))
        return;
    if (cusum->sum <= 0.0)
        cusum->from = at;
    cusum->sum = fmax(0.0, cusum->sum + x - cusum->target - cusum->slack);
    cusum->has_passed =
        cusum->sum > 0.0 && (cusum->has_passed || cusum->sum > cusum->limit);
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
