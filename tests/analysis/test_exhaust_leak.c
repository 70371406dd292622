/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

/* A false alarm costs an evening. */
static void test_exhaust_leak__healthy_sessions_are_quiet(void **state)
{
    (void)state;
    check_quiet_when_healthy(kw_find_exhaust_leak);
}

/* No probe, no finding, no crash. */
static void test_exhaust_leak__no_probe_is_quiet(void **state)
{
    (void)state;
    check_quiet_without_probe(kw_find_exhaust_leak);
}

/* Springs that have gone slack: from lap 3 on all readings are a fifth low. */
static void test_exhaust_leak__low_to_the_end_is_a_leak(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t from = synthetic_at(&made, made.lap_start_s[4]);
    for (size_t i = from; i < made.n; i++)
        made.gas_c[i] -= 0.25 * (made.gas_c[i] - 20.0);
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_exhaust_leak, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].kind, KW_EXHAUST_LEAK);
    check_near("start", found.items[0].start_s, made.lap_start_s[4], 3.0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Puffs of fresh air: the gas at the probe jumps about from moment to moment.
 */
static void test_exhaust_leak__erratic_on_all_laps_is_a_leak(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.probe_lag_s = 0.4;
    struct synthetic made = synthetic_new(&options);
    double puff_c = 0.0;
    for (size_t i = 0; i < made.n; i++) {
        if (i % 10 == 0)
            puff_c = 180.0 * synthetic_normal(&made);
        made.gas_c[i] -= made.load[i] * fabs(puff_c);
    }
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_exhaust_leak, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].kind, KW_EXHAUST_LEAK);
    kw_events_free(&found);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exhaust_leak__healthy_sessions_are_quiet),
        cmocka_unit_test(test_exhaust_leak__no_probe_is_quiet),
        cmocka_unit_test(test_exhaust_leak__low_to_the_end_is_a_leak),
        cmocka_unit_test(test_exhaust_leak__erratic_on_all_laps_is_a_leak),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
