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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rpm_jump__what_stays_near_has_no_jump),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
