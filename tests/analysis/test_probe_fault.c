/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <string.h>

/* A false alarm costs an evening. */
static void test_probe_fault__healthy_sessions_are_quiet(void **state)
{
    (void)state;
    check_quiet_when_healthy(kw_find_probe_faults);
}

/* No probe, no finding, no crash. */
static void test_probe_fault__no_probe_is_quiet(void **state)
{
    (void)state;
    check_quiet_without_probe(kw_find_probe_faults);
}

/* A probe that breaks off reads full scale: no mixture may be judged from it.
 */
static void test_probe_fault__open_probe_is_one_stretch(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    synthetic_fix_probe(&made, 200.0, 230.0, 1370.0);
    struct kw_events found;
    detect(kw_find_probe_faults, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].kind, KW_PROBE_FAULT);
    check_near("start", found.items[0].start_s, 200.0, 0.5);
    check_near("end", found.items[0].end_s, 230.0, 1.5);
    assert_null(strstr(found.items[0].evidence, "unit"));
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A chafed wire: readings that jump far away, again and again. */
static void test_probe_fault__many_spikes_are_told_once(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 400; i < made.n; i += 97)
        made.egt_c[i] = 950.0;
    struct kw_events found;
    detect(kw_find_probe_faults, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].severity, KW_WATCH);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Fahrenheit under a heading that says C: the unit is asked about before
 * anybody hunts for a chafed lead. */
static void test_probe_fault__fahrenheit_under_celsius_asks_for_the_unit(
    void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.egt_c[i] = made.egt_c[i] * 1.8 + 32.0;
    struct kw_events found;
    detect(kw_find_probe_faults, &made, NAN, &found);
    assert_true(found.n > 0);
    assert_non_null(strstr(found.items[0].evidence, "which unit"));
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A spark may reach any logger now and then. */
static void test_probe_fault__few_spikes_are_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 400; i < made.n; i += 2000)
        made.egt_c[i] = 950.0;
    struct kw_events found;
    detect(kw_find_probe_faults, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_probe_fault__healthy_sessions_are_quiet),
        cmocka_unit_test(test_probe_fault__no_probe_is_quiet),
        cmocka_unit_test(test_probe_fault__open_probe_is_one_stretch),
        cmocka_unit_test(test_probe_fault__many_spikes_are_told_once),
        cmocka_unit_test(
            test_probe_fault__fahrenheit_under_celsius_asks_for_the_unit),
        cmocka_unit_test(test_probe_fault__few_spikes_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
