/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests for four laps against five: exact where that can be had, corrected for
 * laps that resemble the one before, and for how many measures are shown. */
#include "compare/two_sample.h"

#include "core/array.h"
#include "core/student.h"

#include <gsl/gsl_combination.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_sf_gamma.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* A correlation that few laps seem to show is beyond this mostly chance, or a
 * drift of the whole session, which is allowed for by itself. With 0.6, one in
 * ten of the changes of 1 % were missed for it, and false alarms were no fewer
 * (simulated pairs that are not scored). */
static const double LARGEST_SERIAL = 0.3;

/* All arrangements are gone through up to so many, a moment's work; else so
 * many are drawn, which tell a p of 0.05 to 0.0015 (its binomial scatter). */
static const double MOST_ARRANGEMENTS = 200000.0;
enum { DRAWN_ARRANGEMENTS = 20000 };

/* Differences that are equal but for rounding count as equal. */
static const double ROUNDING = 1e-9;

/* ---- Welch --------------------------------------------------------------- */

/* Variance of the mean of one sample, its values counted as fewer where they
 * resemble each other. */
static double variance_of_mean(const struct kw_sample *sample,
                               double serial,
                               double floor)
{
    const double counted = (double)sample->n * (1.0 - serial) / (1.0 + serial);
    const double variance = gsl_stats_variance(sample->values, 1, sample->n);
    return fmax(variance, floor * floor) / fmax(counted, 1.0);
}

void kw_two_sample_settle(struct kw_two_sample *sample, double error)
{
    const double reach = kw_student_reach(sample->df) * error;
    sample->t = sample->difference / error;
    sample->p = kw_student_p(sample->t, sample->df);
    sample->low = sample->difference - reach;
    sample->high = sample->difference + reach;
}

/* Means are known before there is an interval. */
struct kw_two_sample kw_welch(const struct kw_sample *a,
                              const struct kw_sample *b,
                              double serial,
                              double floor)
{
    struct kw_two_sample result = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    if (a->n > 0)
        result.mean_a = gsl_stats_mean(a->values, 1, a->n);
    if (b->n > 0)
        result.mean_b = gsl_stats_mean(b->values, 1, b->n);
    result.difference = result.mean_b - result.mean_a;
    if (a->n < 2 || b->n < 2)
        return result;
    const double v_a = variance_of_mean(a, serial, floor);
    const double v_b = variance_of_mean(b, serial, floor);
    const double error = sqrt(v_a + v_b);
    if (!(error > 0.0))
        return result;
    result.df =
        (v_a + v_b) * (v_a + v_b) /
        (v_a * v_a / (double)(a->n - 1) + v_b * v_b / (double)(b->n - 1));
    kw_two_sample_settle(&result, error);
    return result;
}

/* ---- serial correlation -------------------------------------------------- */

/* Adds a sample's products of neighbours and squares about its own mean. */
static void add_products(const struct kw_sample *sample,
                         double *products,
                         double *squares)
{
    const double *values = sample->values;
    if (sample->n < 2)
        return;
    const double mean = gsl_stats_mean(values, 1, sample->n);
    for (size_t i = 0; i < sample->n; i++) {
        *squares += (values[i] - mean) * (values[i] - mean);
        if (i + 1 < sample->n)
            *products += (values[i] - mean) * (values[i + 1] - mean);
    }
}

/* Pooled over both sides: one alone has too few laps to tell. */
double kw_serial(const struct kw_sample *a, const struct kw_sample *b)
{
    double products = 0.0;
    double squares = 0.0;
    add_products(a, &products, &squares);
    add_products(b, &products, &squares);
    if (!(squares > 0.0))
        return 0.0;
    const double bias = 2.0 / (double)(a->n + b->n);
    return fmin(fmax(products / squares + bias, 0.0), LARGEST_SERIAL);
}

/* ---- permutation --------------------------------------------------------- */

/* Both samples in one array, to be parted anew.
 *
 * all       all[n_a + n_b].
 * sum       of them.
 * observed  how far apart the two means stand. */
struct pool {
    double *all;
    size_t n_a;
    size_t n_b;
    double sum;
    double observed;
};

/* Mean of the chosen n_a against the mean of the others, from sums. */
static bool is_as_far(const struct pool *pool, double chosen_sum)
{
    const double apart = fabs((pool->sum - chosen_sum) / (double)pool->n_b -
                              chosen_sum / (double)pool->n_a);
    return apart >= pool->observed - ROUNDING;
}

/* The exact answer. */
static enum kw_status every_arrangement(const struct pool *pool,
                                        double *p,
                                        struct kw_error *error)
{
    gsl_combination *chosen =
        gsl_combination_calloc(pool->n_a + pool->n_b, pool->n_a);
    if (chosen == NULL)
        return kw_fail_memory(error);
    double as_far = 0.0;
    double n = 0.0;
    do {
        double sum = 0.0;
        for (size_t i = 0; i < pool->n_a; i++)
            sum += pool->all[gsl_combination_get(chosen, i)];
        as_far += is_as_far(pool, sum);
        n += 1.0;
    } while (gsl_combination_next(chosen) == 0);
    gsl_combination_free(chosen);
    *p = as_far / n;
    return KW_OK;
}

/* An answer good to some tenths of a percent where there are too many. */
static enum kw_status some_arrangements(const struct pool *pool,
                                        uint64_t seed,
                                        double *p,
                                        struct kw_error *error)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return kw_fail_memory(error);
    gsl_rng_set(random, (unsigned long)seed);
    double as_far = 1.0; /* the arrangement that was seen is one of them */
    for (int k = 1; k < DRAWN_ARRANGEMENTS; k++) {
        gsl_ran_shuffle(random, pool->all, pool->n_a + pool->n_b,
                        sizeof *pool->all);
        double sum = 0.0;
        for (size_t i = 0; i < pool->n_a; i++)
            sum += pool->all[i];
        as_far += is_as_far(pool, sum);
    }
    gsl_rng_free(random);
    *p = as_far / DRAWN_ARRANGEMENTS;
    return KW_OK;
}

/* All of them while that is quick. */
enum kw_status kw_permutation_p(const struct kw_sample *a,
                                const struct kw_sample *b,
                                uint64_t seed,
                                double *p,
                                struct kw_error *error)
{
    *p = NAN;
    if (a->n == 0 || b->n == 0)
        return KW_OK;
    struct pool pool = {.n_a = a->n, .n_b = b->n};
    pool.all = kw_array_new(a->n + b->n, sizeof *pool.all, error);
    if (pool.all == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < a->n + b->n; i++) {
        pool.all[i] = i < a->n ? a->values[i] : b->values[i - a->n];
        pool.sum += pool.all[i];
    }
    pool.observed = fabs(gsl_stats_mean(b->values, 1, b->n) -
                         gsl_stats_mean(a->values, 1, a->n));
    const double log_count = gsl_sf_lnfact((unsigned)(a->n + b->n)) -
                             gsl_sf_lnfact((unsigned)a->n) -
                             gsl_sf_lnfact((unsigned)b->n);
    const enum kw_status status =
        log_count <= log(MOST_ARRANGEMENTS)
            ? every_arrangement(&pool, p, error)
            : some_arrangements(&pool, seed, p, error);
    free(pool.all);
    return status;
}

/* ---- how many measures --------------------------------------------------- */

/* How many p-values stand before the k-th when they are sorted; equal ones keep
 * their order. */
static size_t rank_of(const double *p, size_t n, size_t k)
{
    size_t before = 0;
    for (size_t m = 0; m < n; m++)
        before += p[m] < p[k] || (m < k && p[m] <= p[k]);
    return before;
}

/* In n^2 steps: there are some twenty measures. */
void kw_hochberg(const double *p, size_t n, double *adjusted)
{
    size_t counted = 0;
    for (size_t i = 0; i < n; i++)
        counted += isnan(p[i]) ? 0U : 1U;
    for (size_t i = 0; i < n; i++) {
        /* The k-th smallest is multiplied by the number not smaller than it,
         * and no adjusted value may rise above that of a larger p. */
        adjusted[i] = isnan(p[i]) ? NAN : 1.0;
        for (size_t k = 0; k < n; k++) {
            if (!(p[k] >= p[i]))
                continue;
            const double scaled = p[k] * (double)(counted - rank_of(p, n, k));
            adjusted[i] = fmin(adjusted[i], scaled);
        }
    }
}
