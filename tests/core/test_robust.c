/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/robust.h"
#include "support/check.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <string.h>

/* Analytical Methods Committee 1989, as in Venables & Ripley, Modern Applied
 * Statistics with S, 4th ed. 2002, section 5.5: 24 determinations of copper in
 * flour; the book prints median 3.385 and scaled MAD 0.52632. */
static const double chem[] = {2.20, 2.20, 2.4,  2.4,  2.5, 2.7,  2.8,  2.9,
                              3.03, 3.03, 3.10, 3.37, 3.4, 3.4,  3.4,  3.5,
                              3.6,  3.7,  3.7,  3.7,  3.7, 3.77, 5.28, 28.95};
/* Median 2, MAD 1: a textbook example. */
static const double seven[] = {1, 1, 2, 2, 4, 6, 9};
/* NIST/SEMATECH e-Handbook 1.3.5.17.1, uranium isotopes (Tietjen & Moore 1972):
 * the largest modified z, 0.6745 (x - median) / MAD, is 29.96. */
static const double uranium[] = {199.31, 199.53, 200.19, 200.82,
                                 201.92, 201.95, 202.18, 245.57};

enum { MOST = 64 };

/* Every threshold in the program is a robust statistic: against published
 * values. */
static void test_robust__published_examples_are_met(void **state)
{
    (void)state;
    double scratch[MOST];
    check_near("chem median", kw_median(chem, 24, scratch), 3.385, 1e-12);
    check_near("chem MAD", kw_mad_sd(chem, 24, 0.0, scratch), 0.52632, 5e-6);
    check_near("seven median", kw_median(seven, 7, scratch), 2.0, 0.0);
    check_near("seven MAD", kw_mad_sd(seven, 7, 0.0, scratch), 1.4826, 5e-5);
    const double median = kw_median(uranium, 8, scratch);
    const double sd = kw_mad_sd(uranium, 8, 0.0, scratch);
    const double z = 0.6745 * KW_MAD_TO_SD * (uranium[7] - median) / sd;
    check_near("uranium modified z", z, 29.962714, 1e-6);
}

/* Selection against GSL's sort and quantile, on readings that repeat as RPM
 * do, in every order that is hard for it. */
static void test_robust__quantile_agrees_with_gsl(void **state)
{
    (void)state;
    uint64_t seed = 7;
    for (size_t n = 1; n <= MOST; n++) {
        double values[MOST];
        double sorted[MOST];
        double scratch[MOST];
        for (size_t i = 0; i < n; i++) {
            seed = seed * 6364136223846793005U + 1442695040888963407U;
            const size_t kind = n % 4;
            values[i] = kind == 0   ? (double)i
                        : kind == 1 ? (double)(n - i)
                        : kind == 2 ? (double)((seed >> 60) & 3)
                                    : (double)(seed >> 40);
        }
        memcpy(sorted, values, n * sizeof *sorted);
        gsl_sort(sorted, 1, n);
        for (int k = 0; k <= 10; k++)
            check_near(
                "quantile", kw_quantile(values, n, k / 10.0, scratch),
                gsl_stats_quantile_from_sorted_data(sorted, 1, n, k / 10.0),
                1e-8);
    }
}

/* Values of a kind: rising, falling, a few that repeat, wild, a sawtooth in
 * step with any even sample of them, and one that hides all others from it. */
static double value_of(size_t kind, size_t i, size_t n, uint64_t *seed)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    const double values[] = {
        (double)i,
        (double)(n - i),
        (double)((*seed >> 60) & 3),
        (double)(*seed >> 40),
        (double)(i % (n / 1000)),
        i % (n / 1000) == 0 ? 1e6 : (double)(*seed >> 40) / 1e6,
    };
    return values[kind];
}

/* Long logs are narrowed by a sample before they are selected from: the answer
 * is the same to the last bit, and no value is lost on the way. */
static void test_robust__quantile_of_many_agrees_with_gsl(void **state)
{
    (void)state;
    enum { MANY = 30011, KINDS = 6 };
    static double values[MANY];
    static double sorted[MANY];
    static double scratch[MANY];
    static const double fractions[] = {0.0, 1e-4, 0.02, 0.5, 0.7, 0.99, 1.0};
    uint64_t seed = 11;
    for (size_t kind = 0; kind < KINDS; kind++) {
        for (size_t i = 0; i < MANY; i++)
            values[i] = value_of(kind, i, MANY, &seed);
        memcpy(sorted, values, sizeof sorted);
        gsl_sort(sorted, 1, MANY);
        for (size_t k = 0; k < sizeof fractions / sizeof fractions[0]; k++)
            check_near("quantile of many",
                       kw_quantile(values, MANY, fractions[k], scratch),
                       gsl_stats_quantile_from_sorted_data(sorted, 1, MANY,
                                                           fractions[k]),
                       1e-8);
        gsl_sort(scratch, 1, MANY);
        assert_memory_equal(scratch, sorted, sizeof sorted);
    }
}

/* A log with a hole in it must not answer NAN, nor answer for nothing. */
static void test_robust__missing_values_are_skipped(void **state)
{
    (void)state;
    const double values[] = {NAN, 3.0, INFINITY, 1.0, NAN, 2.0};
    double scratch[12];
    check_near("median", kw_median(values, 6, scratch), 2.0, 0.0);
    check_near("all missing", kw_median(values, 1, scratch), NAN, 0.0);
    check_near("none", kw_median(values, 0, scratch), NAN, 0.0);
    check_near("MAD of none", kw_mad_sd(values, 1, 1.0, scratch), NAN, 0.0);
    const double weights[] = {1.0, 1.0, 1.0, 5.0, 1.0, 1.0};
    check_near("weighted", kw_weighted_median(values, weights, 6, scratch), 1.0,
               0.0);
}

/* More than half the readings equal: the MAD is 0, and everything that differs
 * would be an outlier without a floor. */
static void test_robust__floor_stands_under_a_flat_signal(void **state)
{
    (void)state;
    const double values[] = {600.0, 600.0, 600.0, 600.0, 601.0};
    double scratch[5];
    check_near("floor", kw_mad_sd(values, 5, 0.5, scratch), 0.5, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_robust__published_examples_are_met),
        cmocka_unit_test(test_robust__quantile_agrees_with_gsl),
        cmocka_unit_test(test_robust__quantile_of_many_agrees_with_gsl),
        cmocka_unit_test(test_robust__missing_values_are_skipped),
        cmocka_unit_test(test_robust__floor_stands_under_a_flat_signal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
