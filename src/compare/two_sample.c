/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests for four laps against five: exact where that can be had, corrected for
 * laps that resemble the one before, and for how many measures are shown. */
#include "compare/two_sample.h"

#include "core/array.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_combination.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_sf_gamma.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

/* A correlation that few laps seem to show is mostly chance beyond this. */
static const double LARGEST_SERIAL = 0.6;

static const double MOST_ARRANGEMENTS = 200000.0;
enum { DRAWN_ARRANGEMENTS = 20000 };

/* Differences that are equal but for rounding count as equal. */
static const double ROUNDING = 1e-9;

/* ---- Welch ----------------------------------------------------------------
 */

/* Variance of the mean of one sample, its values counted as fewer where they
 * resemble each other. */
static double variance_of_mean(const double *values,
                               size_t n,
                               double serial,
                               double floor)
{
    const double counted = (double)n * (1.0 - serial) / (1.0 + serial);
    const double variance = gsl_stats_variance(values, 1, n);
    return fmax(variance, floor * floor) / fmax(counted, 1.0);
}

struct kw_two_sample kw_welch(const double *a,
                              size_t n_a,
                              const double *b,
                              size_t n_b,
                              double serial,
                              double floor)
{
    struct kw_two_sample result = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    if (n_a > 0)
        result.mean_a = gsl_stats_mean(a, 1, n_a);
    if (n_b > 0)
        result.mean_b = gsl_stats_mean(b, 1, n_b);
    result.difference = result.mean_b - result.mean_a;
    if (n_a < 2 || n_b < 2)
        return result;
    const double v_a = variance_of_mean(a, n_a, serial, floor);
    const double v_b = variance_of_mean(b, n_b, serial, floor);
    const double error = sqrt(v_a + v_b);
    if (!(error > 0.0))
        return result;
    result.t = result.difference / error;
    result.df = (v_a + v_b) * (v_a + v_b) /
                (v_a * v_a / (double)(n_a - 1) + v_b * v_b / (double)(n_b - 1));
    result.p = 2.0 * gsl_cdf_tdist_Q(fabs(result.t), result.df);
    const double reach = gsl_cdf_tdist_Pinv(0.975, result.df) * error;
    result.low = result.difference - reach;
    result.high = result.difference + reach;
    return result;
}

/* ---- serial correlation ----------------------------------------------------
 */

/* Adds a sample's products of neighbours and squares about its own mean. */
static void add_products(const double *values,
                         size_t n,
                         double *products,
                         double *squares)
{
    if (n < 2)
        return;
    const double mean = gsl_stats_mean(values, 1, n);
    for (size_t i = 0; i < n; i++) {
        *squares += (values[i] - mean) * (values[i] - mean);
        if (i + 1 < n)
            *products += (values[i] - mean) * (values[i + 1] - mean);
    }
}

double kw_serial(const double *a, size_t n_a, const double *b, size_t n_b)
{
    double products = 0.0;
    double squares = 0.0;
    add_products(a, n_a, &products, &squares);
    add_products(b, n_b, &products, &squares);
    if (!(squares > 0.0))
        return 0.0;
    const double bias = 2.0 / (double)(n_a + n_b);
    return fmin(fmax(products / squares + bias, 0.0), LARGEST_SERIAL);
}

/* ---- permutation ----------------------------------------------------------
 */

/* Mean of the chosen minus mean of the others, from sums. */
static double apart(double chosen_sum, double all_sum, size_t n_a, size_t n_b)
{
    return fabs((all_sum - chosen_sum) / (double)n_b -
                chosen_sum / (double)n_a);
}

static enum kw_status every_arrangement(const double *all,
                                        size_t n_a,
                                        size_t n_b,
                                        double observed,
                                        double *p,
                                        struct kw_error *error)
{
    gsl_combination *chosen = gsl_combination_calloc(n_a + n_b, n_a);
    if (chosen == NULL)
        return kw_fail_memory(error);
    double all_sum = 0.0;
    for (size_t i = 0; i < n_a + n_b; i++)
        all_sum += all[i];
    double as_far = 0.0;
    double n = 0.0;
    do {
        double sum = 0.0;
        for (size_t i = 0; i < n_a; i++)
            sum += all[gsl_combination_get(chosen, i)];
        as_far += apart(sum, all_sum, n_a, n_b) >= observed - ROUNDING;
        n += 1.0;
    } while (gsl_combination_next(chosen) == 0);
    gsl_combination_free(chosen);
    *p = as_far / n;
    return KW_OK;
}

static enum kw_status some_arrangements(double *all,
                                        size_t n_a,
                                        size_t n_b,
                                        double observed,
                                        uint64_t seed,
                                        double *p,
                                        struct kw_error *error)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return kw_fail_memory(error);
    gsl_rng_set(random, (unsigned long)seed);
    double all_sum = 0.0;
    for (size_t i = 0; i < n_a + n_b; i++)
        all_sum += all[i];
    double as_far = 1.0; /* the arrangement that was seen is one of them */
    for (int k = 1; k < DRAWN_ARRANGEMENTS; k++) {
        gsl_ran_shuffle(random, all, n_a + n_b, sizeof *all);
        double sum = 0.0;
        for (size_t i = 0; i < n_a; i++)
            sum += all[i];
        as_far += apart(sum, all_sum, n_a, n_b) >= observed - ROUNDING;
    }
    gsl_rng_free(random);
    *p = as_far / DRAWN_ARRANGEMENTS;
    return KW_OK;
}

enum kw_status kw_permutation_p(const double *a,
                                size_t n_a,
                                const double *b,
                                size_t n_b,
                                uint64_t seed,
                                double *p,
                                struct kw_error *error)
{
    *p = NAN;
    if (n_a == 0 || n_b == 0)
        return KW_OK;
    double *all = kw_array_new(n_a + n_b, sizeof *all, error);
    if (all == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < n_a + n_b; i++)
        all[i] = i < n_a ? a[i] : b[i - n_a];
    const double observed =
        fabs(gsl_stats_mean(b, 1, n_b) - gsl_stats_mean(a, 1, n_a));
    const double log_count = gsl_sf_lnfact((unsigned)(n_a + n_b)) -
                             gsl_sf_lnfact((unsigned)n_a) -
                             gsl_sf_lnfact((unsigned)n_b);
    const enum kw_status status =
        log_count <= log(MOST_ARRANGEMENTS)
            ? every_arrangement(all, n_a, n_b, observed, p, error)
            : some_arrangements(all, n_a, n_b, observed, seed, p, error);
    free(all);
    return status;
}

/* ---- how many measures -----------------------------------------------------
 */

/* How many p-values stand before the k-th when they are sorted; equal ones keep
 * their order. */
static size_t rank_of(const double *p, size_t n, size_t k)
{
    size_t before = 0;
    for (size_t m = 0; m < n; m++)
        before += p[m] < p[k] || (m < k && p[m] <= p[k]);
    return before;
}

void kw_holm(const double *p, size_t n, double *adjusted)
{
    size_t counted = 0;
    for (size_t i = 0; i < n; i++)
        counted += isnan(p[i]) ? 0U : 1U;
    for (size_t i = 0; i < n; i++) {
        /* The k-th smallest is multiplied by the number not smaller than it,
         * and no adjusted value may fall below that of a smaller p. */
        adjusted[i] = p[i];
        for (size_t k = 0; k < n; k++) {
            if (!(p[k] <= p[i]))
                continue;
            const double scaled = p[k] * (double)(counted - rank_of(p, n, k));
            adjusted[i] = fmax(adjusted[i], fmin(scaled, 1.0));
        }
    }
}
