/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cumulative sums and change points against published worked examples. */
#include "analysis/change.h"

#include "support/check.h"

/* Annual flow of the Nile at Aswan, 1871 to 1970, 1e8 m3: R's data set "Nile"
 * (Cobb 1978; Durbin and Koopman). */
static const double nile[] = {
    1120.0, 1160.0, 963.0,  1210.0, 1160.0, 1160.0, 813.0,  1230.0, 1370.0,
    1140.0, 995.0,  935.0,  1110.0, 994.0,  1020.0, 960.0,  1180.0, 799.0,
    958.0,  1140.0, 1100.0, 1210.0, 1150.0, 1250.0, 1260.0, 1220.0, 1030.0,
    1100.0, 774.0,  840.0,  874.0,  694.0,  940.0,  833.0,  701.0,  916.0,
    692.0,  1020.0, 1050.0, 969.0,  831.0,  726.0,  456.0,  824.0,  702.0,
    1120.0, 1100.0, 832.0,  764.0,  821.0,  768.0,  845.0,  864.0,  862.0,
    698.0,  845.0,  744.0,  796.0,  1040.0, 759.0,  781.0,  865.0,  845.0,
    944.0,  984.0,  897.0,  822.0,  1010.0, 771.0,  676.0,  649.0,  846.0,
    812.0,  742.0,  801.0,  1040.0, 860.0,  874.0,  848.0,  890.0,  744.0,
    749.0,  838.0,  1050.0, 918.0,  986.0,  797.0,  923.0,  975.0,  815.0,
    1020.0, 906.0,  901.0,  1170.0, 912.0,  746.0,  919.0,  718.0,  714.0,
    740.0,
};

/* NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3: value, and the two
 * sums as printed (two decimals). Target 325, k 0.3175, h 4.1959. */
static const struct {
    double x;
    double high;
    double low;
} handbook[] = {
    {324.925, 0.0, 0.0},  {324.675, 0.0, 0.01},  {324.725, 0.0, 0.0},
    {324.35, 0.0, 0.33},  {325.35, 0.03, 0.0},   {325.225, 0.0, 0.0},
    {324.125, 0.0, 0.56}, {324.525, 0.0, 0.72},  {325.225, 0.0, 0.17},
    {324.6, 0.0, 0.25},   {324.625, 0.0, 0.31},  {325.15, 0.0, 0.0},
    {328.325, 3.01, 0.0}, {327.25, 4.94, 0.0},   {327.825, 7.45, 0.0},
    {328.5, 10.63, 0.0},  {326.675, 11.99, 0.0}, {327.775, 14.44, 0.0},
    {326.875, 16.0, 0.0}, {328.35, 19.04, 0.0},
};

enum {
    N_NILE = sizeof nile / sizeof nile[0],
    N_HANDBOOK = sizeof handbook / sizeof handbook[0]
};

/* With a wrong sum a racer would look for the change of a wrong day. The sum of
 * a fall is that of a rise with all signs turned. */
static void test_change__cusum_follows_the_handbooks_table(void **state)
{
    (void)state;
    struct kw_cusum rise = {.target = 325.0, .slack = 0.3175, .limit = 4.1959};
    struct kw_cusum fall = {.target = -325.0, .slack = 0.3175, .limit = 4.1959};
    for (size_t i = 0; i < N_HANDBOOK; i++) {
        char label[32];
        snprintf(label, sizeof label, "group %zu", i + 1);
        kw_cusum_add(&rise, handbook[i].x);
        kw_cusum_add(&fall, -handbook[i].x);
        /* Printed with two decimals, halves rounded either way. */
        check_near(label, rise.sum, handbook[i].high, 0.0051);
        check_near(label, fall.sum, handbook[i].low, 0.0051);
        /* Groups 14 to 20 carry a star in the table. */
        check_true(label, rise.has_passed == (i >= 13));
        check_true(label, !fall.has_passed);
    }
    /* The run of positive sums begins with group 13. */
    assert_int_equal(rise.from, 12);
}

/* A reading that is missing must not count as hot or cold; it keeps its
 * number. */
static void test_change__cusum_skips_missing_values(void **state)
{
    (void)state;
    struct kw_cusum cusum = {.slack = 0.5, .limit = 4.0};
    kw_cusum_add(&cusum, NAN);
    kw_cusum_add(&cusum, 3.0);
    kw_cusum_add(&cusum, NAN);
    check_near("sum", cusum.sum, 2.5, 0.0);
    assert_false(cusum.has_passed);
    kw_cusum_add(&cusum, 3.0);
    assert_true(cusum.has_passed);
    assert_int_equal(cusum.from, 1);
}

/* What came and went is not "since then". */
static void test_change__cusum_forgets_a_run_that_ended(void **state)
{
    (void)state;
    struct kw_cusum cusum = {.slack = 0.5, .limit = 4.0};
    kw_cusum_add(&cusum, 5.0);
    assert_true(cusum.has_passed);
    kw_cusum_add(&cusum, -9.0);
    assert_false(cusum.has_passed);
    kw_cusum_add(&cusum, 5.0);
    assert_true(cusum.has_passed);
    assert_int_equal(cusum.from, 2);
}

/* The Nile fell in 1898, the 28th year, when the first Aswan dam was begun: R
 * packages changepoint (cpt.mean: 28) and strucchange (1898); means 1097.8 and
 * 850.0, sums of squares 2835157 and 1597457 in strucchange's summary. */
static void test_change__nile_falls_in_1898(void **state)
{
    (void)state;
    struct kw_shift shift;
    assert_true(kw_find_shift(nile, N_NILE, &shift));
    assert_int_equal(shift.at, 28);
    check_near("mean before", shift.before, 1097.75, 1e-9);
    check_near("mean after", shift.after, 849.972222222222, 1e-9);
    check_near("one mean", shift.residual_without, 2835156.75, 1e-3);
    check_near("two means", shift.residual, 1597457.19444444, 1e-3);
}

/* One lap is no trend. */
static void test_change__one_value_has_no_change(void **state)
{
    (void)state;
    struct kw_shift shift;
    assert_false(kw_find_shift(nile, 1, &shift));
    assert_false(kw_find_shift(nile, 0, &shift));
    assert_true(kw_find_shift(nile, 2, &shift));
    assert_int_equal(shift.at, 1);
    check_near("nothing left", shift.residual, 0.0, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_change__cusum_follows_the_handbooks_table),
        cmocka_unit_test(test_change__cusum_skips_missing_values),
        cmocka_unit_test(test_change__cusum_forgets_a_run_that_ended),
        cmocka_unit_test(test_change__nile_falls_in_1898),
        cmocka_unit_test(test_change__one_value_has_no_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
