/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "compare/two_sample.h"
#include "support/check.h"

/* NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B: miles per gallon. */
static const double american_cars[] = {
    18, 15, 18, 16, 17, 15, 14, 14, 14, 15, 15, 14, 15, 14, 22, 18, 21, 21,
    10, 10, 11, 9,  28, 25, 19, 16, 17, 19, 18, 14, 14, 14, 14, 12, 13, 13,
    18, 22, 19, 18, 23, 26, 25, 20, 21, 13, 14, 15, 14, 17, 11, 13, 12, 13,
    15, 13, 13, 14, 22, 28, 13, 14, 13, 14, 15, 12, 13, 13, 14, 13, 12, 13,
    18, 16, 18, 18, 23, 11, 12, 13, 12, 18, 21, 19, 21, 15, 16, 15, 11, 20,
    21, 19, 15, 26, 25, 16, 16, 18, 16, 13, 14, 14, 14, 28, 19, 18, 15, 15,
    16, 15, 16, 14, 17, 16, 15, 18, 21, 20, 13, 23, 20, 23, 18, 19, 25, 26,
    18, 16, 16, 15, 22, 22, 24, 23, 29, 25, 20, 18, 19, 18, 27, 13, 17, 13,
    13, 13, 30, 26, 18, 17, 16, 15, 18, 21, 19, 19, 16, 16, 16, 16, 25, 26,
    31, 34, 36, 20, 19, 20, 19, 21, 20, 25, 21, 19, 21, 21, 19, 18, 19, 18,
    18, 18, 30, 31, 23, 24, 22, 20, 22, 20, 21, 17, 18, 17, 18, 17, 16, 19,
    19, 36, 27, 23, 24, 34, 35, 28, 29, 27, 34, 32, 28, 26, 24, 19, 28, 24,
    27, 27, 26, 24, 30, 39, 35, 34, 30, 22, 27, 20, 18, 28, 27, 34, 31, 29,
    27, 24, 23, 38, 36, 25, 38, 26, 22, 36, 27, 27, 32, 28, 31};

static const double japanese_cars[] = {
    24, 27, 27, 25, 31, 35, 24, 19, 28, 23, 27, 20, 22, 18, 20, 31,
    32, 31, 32, 24, 26, 29, 24, 24, 33, 33, 32, 28, 19, 32, 34, 26,
    30, 22, 22, 33, 39, 36, 28, 27, 21, 24, 30, 34, 32, 38, 37, 30,
    31, 37, 32, 47, 41, 45, 34, 33, 24, 32, 39, 35, 32, 37, 38, 34,
    34, 32, 33, 32, 25, 24, 37, 31, 36, 36, 34, 38, 32, 38, 32};

/* Student 1908 (R data set sleep): extra hours of sleep. */
static const double drug_one[] = {0.7, -1.6, -0.2, -1.2, -0.1,
                                  3.4, 3.7,  0.8,  0.0,  2.0};

static const double drug_two[] = {1.9, 0.8, 1.1, 0.1, -0.1,
                                  4.4, 5.5, 1.6, 4.6, 3.4};

/* Efron & Tibshirani 1993, table 2.1: survival of mice in days. */
static const double mice_treatment[] = {94, 197, 16, 38, 99, 141, 23};

static const double mice_control[] = {52, 104, 146, 10, 51, 30, 40, 27, 46};

enum {
    N_AMERICAN = sizeof american_cars / sizeof american_cars[0],
    N_JAPANESE = sizeof japanese_cars / sizeof japanese_cars[0]
};

/* e-Handbook 1.3.5.3: t = -12.94627, 136.87499 degrees of freedom, p 1.571e-25
 * (its means 20.14458 and 30.48101). */
static void test_two_sample__welch_is_that_of_the_handbook(void **state)
{
    (void)state;
    const struct kw_two_sample r =
        kw_welch(&(struct kw_sample){american_cars, N_AMERICAN},
                 &(struct kw_sample){japanese_cars, N_JAPANESE}, 0.0, 0.0);
    check_near("mean", r.mean_a, 20.14458, 5e-6);
    check_near("mean", r.mean_b, 30.48101, 5e-6);
    check_near("t", r.t, 12.94627, 5e-6);
    check_near("df", r.df, 136.87499, 5e-5);
    check_near("p", r.p / 1.571e-25, 1.0, 5e-4);
}

/* R, t.test(extra ~ group): t = -1.8608, df = 17.776, p = 0.07939, 95 % from
 * -3.3654832 to 0.2054832. */
static void test_two_sample__interval_is_that_of_students_sleepers(void **state)
{
    (void)state;
    const struct kw_two_sample r =
        kw_welch(&(struct kw_sample){drug_two, 10},
                 &(struct kw_sample){drug_one, 10}, 0.0, 0.0);
    check_near("t", r.t, -1.8608, 5e-5);
    check_near("df", r.df, 17.776, 5e-4);
    check_near("p", r.p, 0.07939, 5e-6);
    check_near("low", r.low, -3.3654832, 5e-8);
    check_near("high", r.high, 0.2054832, 5e-8);
}

/* Efron & Tibshirani 1993: all 11,440 arrangements; 3,184 of them are as far
 * apart as the 30.63 days seen. */
static void test_two_sample__permutation_counts_every_arrangement(void **state)
{
    (void)state;
    double p = 0.0;
    assert_int_equal(kw_permutation_p(&(struct kw_sample){mice_treatment, 7},
                                      &(struct kw_sample){mice_control, 9}, 1,
                                      &p, NULL),
                     KW_OK);
    check_near("p", p, 3184.0 / 11440.0, 1e-12);
}

/* Too many arrangements are drawn: the answer must stay near the exact one. */
static void test_two_sample__drawn_arrangements_agree_with_welch(void **state)
{
    (void)state;
    double p = 0.0;
    double shifted[40];
    double plain[40];
    for (size_t i = 0; i < 40; i++) {
        plain[i] = (double)((i * 37) % 41);
        shifted[i] = (double)((i * 23) % 41) + 5.0;
    }
    assert_int_equal(kw_permutation_p(&(struct kw_sample){plain, 40},
                                      &(struct kw_sample){shifted, 40}, 7, &p,
                                      NULL),
                     KW_OK);
    check_near("p", p,
               kw_welch(&(struct kw_sample){plain, 40},
                        &(struct kw_sample){shifted, 40}, 0.0, 0.0)
                   .p,
               0.01);
}

/* Laps that resemble the one before tell less: the interval must widen. */
static void test_two_sample__serial_laps_widen_the_interval(void **state)
{
    (void)state;
    const struct kw_two_sample plain =
        kw_welch(&(struct kw_sample){drug_two, 10},
                 &(struct kw_sample){drug_one, 10}, 0.0, 0.0);
    const struct kw_two_sample serial =
        kw_welch(&(struct kw_sample){drug_two, 10},
                 &(struct kw_sample){drug_one, 10}, 0.5, 0.0);
    check_near("three times the variance",
               (serial.high - serial.low) / (plain.high - plain.low), sqrt(3.0),
               1e-9);
    const double drift[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
    const double swing[] = {1, -1, 1, -1, 1, -1, 1, -1, 1, -1};
    check_near("a drift",
               kw_serial(&(struct kw_sample){drift, 10},
                         &(struct kw_sample){drift, 10}),
               0.3, 1e-12);
    check_near("a swing",
               kw_serial(&(struct kw_sample){swing, 10},
                         &(struct kw_sample){swing, 10}),
               0.0, 1e-12);
}

/* Hochberg's steps, worked out on paper; measures that agree stand together. */
static void test_two_sample__measures_shown_are_counted(void **state)
{
    (void)state;
    const double p[] = {0.03, NAN, 0.01, 0.2, 0.02};
    /* 4 x 0.01, 3 x 0.02, 2 x 0.03, 0.2: none above that of a larger p. */
    const double expected[] = {0.06, NAN, 0.04, 0.2, 0.06};
    double adjusted[5];
    kw_hochberg(p, 5, adjusted);
    for (size_t i = 0; i < 5; i++)
        check_near("hochberg", adjusted[i], expected[i], 1e-12);
    const double agreeing[] = {0.04, 0.03, 0.035};
    kw_hochberg(agreeing, 3, adjusted);
    for (size_t i = 0; i < 3; i++)
        check_near("they confirm one another", adjusted[i], 0.04, 1e-12);
    const double large[] = {0.5, 0.9};
    kw_hochberg(large, 2, adjusted);
    check_near("never above 1", adjusted[1], 0.9, 1e-12);
}

/* One lap has no spread: there is a difference, but nothing to judge it by. */
static void test_two_sample__one_lap_cannot_be_judged(void **state)
{
    (void)state;
    const struct kw_two_sample r =
        kw_welch(&(struct kw_sample){drug_one, 1},
                 &(struct kw_sample){drug_two, 10}, 0.0, 0.0);
    check_true("not known", isnan(r.p));
    check_true("not known", isnan(r.low));
    check_true("known", !isnan(r.difference));
    const double same[] = {3.0, 3.0, 3.0};
    check_true("not known",
               isnan(kw_welch(&(struct kw_sample){same, 3},
                              &(struct kw_sample){same, 3}, 0.0, 0.0)
                         .p));
    check_near("floor",
               kw_welch(&(struct kw_sample){same, 3},
                        &(struct kw_sample){same, 3}, 0.0, 0.1)
                   .p,
               1.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_sample__welch_is_that_of_the_handbook),
        cmocka_unit_test(
            test_two_sample__interval_is_that_of_students_sleepers),
        cmocka_unit_test(test_two_sample__permutation_counts_every_arrangement),
        cmocka_unit_test(test_two_sample__drawn_arrangements_agree_with_welch),
        cmocka_unit_test(test_two_sample__serial_laps_widen_the_interval),
        cmocka_unit_test(test_two_sample__measures_shown_are_counted),
        cmocka_unit_test(test_two_sample__one_lap_cannot_be_judged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
