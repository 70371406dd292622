/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/least_squares.h"

#include "support/check.h"
#include "support/norris.h"

/* Both the lag of the probe and the expected heat are such fits. */
static void test_least_squares__norris_as_certified(void **state)
{
    (void)state;
    struct kw_least_squares fit;
    double coefficients[2];
    kw_least_squares_start(&fit, 2);
    for (size_t i = 0; i < N_NORRIS; i++)
        kw_least_squares_add(&fit, (double[]){1.0, norris[i].x}, norris[i].y,
                             1.0);
    assert_true(
        kw_least_squares_solve(&fit, (double[]){0.0, 0.0}, coefficients));
    /* Certified values; normal equations lose some digits. */
    check_near("B0", coefficients[0], -0.262323073774029, 1e-8);
    check_near("B1", coefficients[1], 1.00211681802045, 1e-11);
    check_near("residual sum of squares",
               kw_least_squares_residual(&fit, coefficients), 26.6173985294224,
               1e-4);
}

/* A row of weight 2 is the same row twice. */
static void test_least_squares__weight_counts_rows(void **state)
{
    (void)state;
    struct kw_least_squares once;
    struct kw_least_squares twice;
    double a[2];
    double b[2];
    kw_least_squares_start(&once, 2);
    kw_least_squares_start(&twice, 2);
    for (size_t i = 0; i < N_NORRIS; i++) {
        const double row[] = {1.0, norris[i].x};
        const bool doubled = i % 3 == 0;
        kw_least_squares_add(&once, row, norris[i].y, doubled ? 2.0 : 1.0);
        for (int k = 0; k < (doubled ? 2 : 1); k++)
            kw_least_squares_add(&twice, row, norris[i].y, 1.0);
    }
    assert_true(kw_least_squares_solve(&once, (double[]){0.0, 0.0}, a));
    assert_true(kw_least_squares_solve(&twice, (double[]){0.0, 0.0}, b));
    check_near("B0", a[0], b[0], 1e-9);
    check_near("B1", a[1], b[1], 1e-12);
}

/* An RPM region that the session never visited must not end the program. */
static void test_least_squares__terms_alike_are_refused(void **state)
{
    (void)state;
    struct kw_least_squares fit;
    double coefficients[2] = {7.0, 7.0};
    kw_least_squares_start(&fit, 2);
    for (size_t i = 0; i < N_NORRIS; i++)
        kw_least_squares_add(&fit, (double[]){norris[i].x, norris[i].x},
                             norris[i].y, 1.0);
    assert_false(
        kw_least_squares_solve(&fit, (double[]){0.0, 0.0}, coefficients));
    check_near("untouched", coefficients[0], 7.0, 0.0);
    /* A ridge shares the slope between the two. */
    assert_true(
        kw_least_squares_solve(&fit, (double[]){1e-3, 1e-3}, coefficients));
    check_near("half", coefficients[0], coefficients[1], 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_least_squares__norris_as_certified),
        cmocka_unit_test(test_least_squares__weight_counts_rows),
        cmocka_unit_test(test_least_squares__terms_alike_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
