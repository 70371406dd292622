/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "compare/lap_test.h"

/* Welch's published example: NIST/SEMATECH e-Handbook 1.3.5.3 gives the formula
 * and R's `t.test(extra ~ group, data = sleep)` the numbers (data of Student,
 * Biometrika 6 (1908) 1): t = -1.8608, df = 17.776, p = 0.07939, interval
 * -3.3654832 to 0.2054832. A racer's interval must be that of the books. */
static void test_lap_test__independent_laps_give_welch(void **state)
{
    /* In an order without serial correlation, so that each value counts. */
    static const double a[] = {0.7, -1.6, -0.2, -1.2, -0.1,
                               3.4, 3.7,  0.8,  0.0,  2.0};
    static const double b[] = {1.9, 0.8, 1.1, 0.1, -0.1,
                               4.4, 5.5, 1.6, 4.6, 3.4};
    (void)state;
    const struct kw_two_sample welch = kw_welch(
        &(struct kw_sample){a, 10}, &(struct kw_sample){b, 10}, 0.0, 0.0);
    check_near("t", welch.t, 1.8608, 5e-5);
    check_near("df", welch.df, 17.776, 5e-4);
    check_near("p", welch.p, 0.07939, 5e-6);
    check_near("low", welch.low, -0.2054832, 5e-7);
    check_near("high", welch.high, 3.3654832, 5e-7);
}

/* Alternating laps have no positive correlation: nothing is counted as less. */
static void test_lap_test__without_session_scatter_is_welch(void **state)
{
    static const double a[] = {1.0, 3.0, 1.0, 3.0, 1.0, 3.0};
    static const double b[] = {2.0, 4.0, 2.0, 4.0, 2.0, 4.0};
    const struct kw_sample before = {a, 6};
    const struct kw_sample after = {b, 6};
    (void)state;
    const struct kw_two_sample welch = kw_welch(
        &(struct kw_sample){a, 6}, &(struct kw_sample){b, 6}, 0.0, 0.0);
    const struct kw_two_sample laps = kw_test_laps(&before, &after, 0.0, 0.0);
    check_near("p", laps.p, welch.p, 1e-12);
    check_near("low", laps.low, welch.low, 1e-12);
    check_near("high", laps.high, welch.high, 1e-12);
}

/* Two sessions with a thousandfold of equal laps still differ by their own
 * scatter: more laps must not make a degree certain. The error is then that of
 * the two sessions, sqrt(2) C, with the normal 1.959964 (ISO 2602). */
static void test_lap_test__many_laps_leave_the_sessions_apart(void **state)
{
    enum { N = 4000 };
    static double a[N];
    static double b[N];
    (void)state;
    for (size_t i = 0; i < N; i++) {
        a[i] = i % 2 == 0 ? 599.0 : 601.0;
        b[i] = a[i] + 1.0;
    }
    const struct kw_sample before = {a, N};
    const struct kw_sample after = {b, N};
    const struct kw_two_sample laps = kw_test_laps(&before, &after, 0.0, 1.0);
    check_near("difference", laps.difference, 1.0, 1e-9);
    check_near("low", laps.low, 1.0 - 1.959964 * sqrt(2.0), 2e-3);
    check_near("high", laps.high, 1.0 + 1.959964 * sqrt(2.0), 2e-3);
    check_true("a degree is no change", laps.p > 0.4);
}

/* One lap on a side gives a mean and no more: never a verdict. */
static void test_lap_test__one_lap_knows_no_interval(void **state)
{
    static const double a[] = {600.0};
    static const double b[] = {580.0, 581.0, 582.0};
    const struct kw_sample before = {a, 1};
    const struct kw_sample after = {b, 3};
    (void)state;
    const struct kw_two_sample laps = kw_test_laps(&before, &after, 0.5, 1.0);
    check_near("difference", laps.difference, -19.0, 1e-9);
    check_near("p", laps.p, NAN, 0.0);
    check_near("low", laps.low, NAN, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_test__independent_laps_give_welch),
        cmocka_unit_test(test_lap_test__without_session_scatter_is_welch),
        cmocka_unit_test(test_lap_test__many_laps_leave_the_sessions_apart),
        cmocka_unit_test(test_lap_test__one_lap_knows_no_interval)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
