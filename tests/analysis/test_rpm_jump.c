/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/rpm_jump.h"

#include "support/check.h"

#include <math.h>

enum { ROWS = 4000 };

/* RPM that wanders, jumps now and then, and misses a reading now and then. */
static void wander(double *time_s, double *rpm)
{
    uint64_t seed = 5;
    double now = 9000.0;
    for (size_t i = 0; i < ROWS; i++) {
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        const double chance = (double)(seed >> 40) / (double)(1 << 24);
        now += 500.0 * (chance - 0.5);
        if (chance > 0.98)
            now = 3000.0 + 500000.0 * (chance - 0.98);
        time_s[i] = 0.01 * (double)i;
        rpm[i] = chance < 0.02 ? NAN : now;
    }
}

/* What is passed over because it stays near must hold no jump: a drop-out that
 * is never looked at is missed. */
static void test_rpm_jump__what_stays_near_has_no_jump(void **state)
{
    (void)state;
    static double time_s[ROWS];
    static double rpm[ROWS];
    wander(time_s, rpm);
    const struct kw_session session = {
        .n_samples = ROWS, .rate_hz = 100.0, .time_s = time_s, .rpm = rpm};
    const struct kw_rate_limits limits = {
        .top_rpm = 14000.0,
        .fall_rpm_s = 5000.0,
        .rise_rpm_s = 4000.0,
        .unsteady_rpm = 600.0,
        .step_s = 0.01,
        .fresh_s = 0.01,
    };
    const struct kw_rpm_search search = {.session = &session,
                                         .limits = &limits};
    size_t n_near = 0;
    size_t n_jumps = 0;
    for (size_t i = 0; i < ROWS; i++) {
        if (isnan(rpm[i]))
            continue;
        const bool jumps = kw_jump_from(&search, i, false) < ROWS ||
                           kw_jump_from(&search, i, true) < ROWS;
        const bool near = kw_stays_near(&search, i);
        assert_false(near && jumps);
        n_near += near;
        n_jumps += jumps;
    }
    assert_true(n_near > ROWS / 4 && n_jumps > ROWS / 20);
}

/* Each reading over five rows, a quarter of a second: a jump begins at the last
 * one that the kart may have got to; two readings are quick, but not at once.
 */
static void test_rpm_jump__readings_that_repeat(void **state)
{
    (void)state;
    enum { N = 25 };
    static const double readings[] = {10150, 8970, 3870, 3870, 3870};
    double time_s[N];
    double rpm[N];
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.05 * (double)i;
        rpm[i] = readings[i / 5];
    }
    const struct kw_session session = {
        .n_samples = N, .rate_hz = 20.0, .time_s = time_s, .rpm = rpm};
    struct kw_rate_limits limits = {
        .top_rpm = 14000.0,
        .fall_rpm_s = 6300.0,
        .rise_rpm_s = 4900.0,
        .unsteady_rpm = 600.0,
        .step_s = 0.05,
        .fresh_s = 0.25,
    };
    const struct kw_rpm_search search = {.session = &session,
                                         .limits = &limits};
    assert_true(kw_repeats(&search));
    assert_int_equal(kw_jump_from(&search, 4, false), 10);
    assert_int_equal(kw_begin_of_jump(&search, 4, false), 9);
    assert_int_equal(kw_end_of_jump(&search, 4, false), 10);
    assert_true(kw_is_at_once(&search, 9, 10));
    assert_true(kw_is_quick(&search, 4, 10));
    assert_false(kw_is_at_once(&search, 4, 10));
    assert_false(kw_is_quick(&search, 4, 20));
    /* A window that ends a row early: two readings, though in two rows. */
    rpm[11] = 3200.0;
    assert_true(kw_is_quick(&search, 9, 11));
    assert_false(kw_is_at_once(&search, 9, 11));
    /* A slope is none: it changes with each row. */
    for (size_t i = 4; i < 14; i++)
        rpm[i] = 10150.0 - 600.0 * (double)(i - 4);
    assert_false(kw_is_quick(&search, 4, 13));
    limits.fresh_s = limits.step_s;
    assert_false(kw_repeats(&search));
    assert_true(kw_is_at_once(&search, 9, 11));
}

/* A sensor written in rows of its own: the rows of the others between its
 * readings make a jump no slower. */
static void test_rpm_jump__rows_of_others_are_no_readings(void **state)
{
    (void)state;
    enum { N = 40 };
    double time_s[N];
    double rpm[N];
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.01 * (double)i;
        rpm[i] = i % 5 != 0 ? NAN : i < 20 ? 9000.0 : 4500.0;
    }
    rpm[20] = 7000.0;
    const struct kw_session session = {
        .n_samples = N, .rate_hz = 100.0, .time_s = time_s, .rpm = rpm};
    const struct kw_rate_limits limits = {
        .top_rpm = 14000.0, .step_s = 0.01, .fresh_s = 0.01};
    const struct kw_rpm_search search = {.session = &session,
                                         .limits = &limits};
    assert_true(kw_is_at_once(&search, 15, 25));
    assert_true(kw_is_quick(&search, 15, 25));
    assert_false(kw_is_quick(&search, 15, 30));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rpm_jump__what_stays_near_has_no_jump),
        cmocka_unit_test(test_rpm_jump__readings_that_repeat),
        cmocka_unit_test(test_rpm_jump__rows_of_others_are_no_readings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
