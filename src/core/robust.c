/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statistics that a few wild values cannot bend.
 *
 * Logs are long, and a median is wanted of each channel many times: values are
 * selected, not sorted, and the levels of a long log come from a sample of it.
 */
#include "robust.h"

#include <math.h>
#include <stdlib.h>

/* From so many values on it pays to look at a sample of them first. */
enum { MANY = 10000, SAMPLE = 1000 };

/* Missing readings take no part: the median of what is there. */
size_t kw_finite_copy(const double *values, size_t n, double *scratch)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (isfinite(values[i]))
            scratch[kept++] = values[i];
    }
    return kept;
}

static void swap(double *a, double *b)
{
    const double kept = *a;
    *a = *b;
    *b = kept;
}

/* The middle one of three as pivot: sorted input is common here. With the first
 * as pivot a sorted log, such as one of stamps, would cost n squared. */
static double pivot_of(double *v, size_t low, size_t high)
{
    const size_t middle = low + (high - low) / 2;
    if (v[middle] < v[low])
        swap(&v[middle], &v[low]);
    if (v[high] < v[low])
        swap(&v[high], &v[low]);
    if (v[high] < v[middle])
        swap(&v[high], &v[middle]);
    return v[middle];
}

/* Puts the k-th smallest of v[n] at v[k], smaller ones before it and larger
 * ones after it (Hoare 1961, "Find").
 *
 * GSL's gsl_stats_select partitions around one side only and is quadratic when
 * many values are equal, as logged RPM are. */
static double select_kth(double *v, size_t n, size_t k)
{
    size_t low = 0;
    size_t high = n - 1;
    while (low < high) {
        const double pivot = pivot_of(v, low, high);
        size_t i = low;
        size_t j = high;
        while (i <= j) {
            /* Both stop at values equal to the pivot: equal values are shared
             * between the sides, which keeps the parts of one size. */
            while (v[i] < pivot)
                i++;
            while (v[j] > pivot)
                j--;
            if (i > j)
                break;
            swap(&v[i], &v[j]);
            i++;
            if (j == 0)
                break;
            j--;
        }
        /* Only the part with k in it is looked at again: O(n) on average. */
        if (k <= j && j < high)
            high = j;
        else if (k >= i)
            low = i;
        else
            return v[k];
    }
    return v[k];
}

/* Two values of v[n] between which the ranks k and k + 1 very likely lie: those
 * of an even sample, three standard deviations of its rank to both sides. */
static void guess_bounds(const double *v,
                         size_t n,
                         size_t k,
                         double *low,
                         double *high)
{
    double sample[SAMPLE];
    for (size_t i = 0; i < SAMPLE; i++)
        sample[i] = v[i * (n / SAMPLE)];
    const double share = (double)k / (double)n;
    const double middle = share * SAMPLE;
    const double reach = 3.0 * sqrt(middle * (1.0 - share)) + 2.0;
    *low = *high = INFINITY;
    if (middle + reach < SAMPLE)
        *high = select_kth(sample, SAMPLE, (size_t)(middle + reach));
    *low = middle > reach ? select_kth(sample, SAMPLE, (size_t)(middle - reach))
                          : -INFINITY;
}

/* Moves the values around ranks k and k + 1 to the front of v[n], a tenth of
 * them all (Floyd and Rivest 1975, from memory). Two passes without a branch:
 * on which side of a pivot a reading lies is a guess for the processor, and
 * half of its guesses are wrong.
 *
 * k        becomes the rank within what is left.
 * returns  how many are left: n where the sample misled. */
static size_t narrow(double *v, size_t n, size_t *k)
{
    double low;
    double high;
    guess_bounds(v, n, *k, &low, &high);
    size_t below = 0;
    size_t above = 0;
    for (size_t i = 0; i < n; i++) {
        below += v[i] < low;
        above += v[i] > high;
    }
    const size_t last = *k + 1 < n ? *k + 1 : *k;
    if (*k < below || last >= n - above)
        return n;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        const double value = v[i];
        v[i] = v[kept];
        v[kept] = value;
        kept += (value >= low) & (value <= high);
    }
    *k -= below;
    return kept;
}

/* The value at the fractional rank (n - 1) * fraction. Selection leaves the
 * larger ones behind it, so the next rank is the smallest of those. */
static double quantile_in_place(double *v, size_t n, double fraction)
{
    if (n == 0)
        return NAN;
    /* Definition 7 of Hyndman and Fan (1996, from memory): linear between the
     * two values beside the rank. */
    const double at = fraction * (double)(n - 1);
    const double part = at - floor(at);
    size_t below = (size_t)at;
    if (n >= MANY)
        n = narrow(v, n, &below);
    const double low = select_kth(v, n, below);
    if (below + 1 >= n)
        return low;
    double high = v[below + 1];
    for (size_t i = below + 2; i < n; i++)
        high = v[i] < high ? v[i] : high;
    return low + part * (high - low);
}

/* Between two values by a straight line, as the seventh of nine usual ways
 * (Hyndman and Fan 1996; from memory). */
double kw_quantile(const double *values,
                   size_t n,
                   double fraction,
                   double *scratch)
{
    const size_t kept = kw_finite_copy(values, n, scratch);
    return quantile_in_place(scratch, kept, fmin(fmax(fraction, 0.0), 1.0));
}

/* Every k-th value: in order of time, so that all of the log is in it. */
double kw_quantile_of_sample(const double *values,
                             size_t n,
                             double fraction,
                             double *scratch)
{
    /* The level is then uncertain by less than half a percent of rank (common
     * practice, no source). */
    enum { ENOUGH = 50000 };
    const size_t stride = n / ENOUGH + 1;
    size_t kept = 0;
    for (size_t i = 0; i < n; i += stride) {
        if (isfinite(values[i]))
            scratch[kept++] = values[i];
    }
    return quantile_in_place(scratch, kept, fraction);
}

double kw_median(const double *values, size_t n, double *scratch)
{
    return kw_quantile(values, n, 0.5, scratch);
}

/* The median is taken twice: of the values, and of their distances to it. */
double kw_mad_sd(const double *values, size_t n, double floor, double *scratch)
{
    const size_t kept = kw_finite_copy(values, n, scratch);
    if (kept == 0)
        return NAN;
    /* 1.4826 times the median distance is the standard deviation of a normal
     * scatter. Half the values may be wild before it bends, and one is enough
     * for the usual formula. */
    const double median = quantile_in_place(scratch, kept, 0.5);
    for (size_t i = 0; i < kept; i++)
        scratch[i] = fabs(scratch[i] - median);
    return fmax(KW_MAD_TO_SD * quantile_in_place(scratch, kept, 0.5), floor);
}

/* Pairs are sorted by the first of the two; all are finite. */
static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sorts pairs of value and weight and walks up to half of the weight. */
double kw_weighted_median(const double *values,
                          const double *weights,
                          size_t n,
                          double *scratch)
{
    size_t kept = 0;
    double total = 0.0;
    for (size_t i = 0; i < n; i++) {
        /* A weight of NAN is not greater than 0, and goes with its value. */
        if (!isfinite(values[i]) || !(weights[i] > 0.0))
            continue;
        scratch[2 * kept] = values[i];
        scratch[2 * kept + 1] = weights[i];
        total += weights[i];
        kept++;
    }
    if (kept == 0)
        return NAN;
    qsort(scratch, kept, 2 * sizeof *scratch, by_value);
    double sum = 0.0;
    size_t i = 0;
    /* The last one is taken without asking: rounding could keep the sum just
     * below half. */
    while (i + 1 < kept && (sum += scratch[2 * i + 1]) < total / 2.0)
        i++;
    return scratch[2 * i];
}
