/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <string.h>

/* A false alarm costs an evening. */
static void test_rich__healthy_sessions_are_quiet(void **state)
{
    (void)state;
    check_quiet_when_healthy(kw_find_rich);
}

/* No probe, no finding, no crash. */
static void test_rich__no_probe_is_quiet(void **state)
{
    (void)state;
    check_quiet_without_probe(kw_find_rich);
}

/* A choke left on, a jet too large: two laps that are 70 C colder wet the plug.
 */
static void test_rich__cold_laps_are_told_once(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[5];
    const double to_s = made.lap_start_s[7];
    synthetic_lean(&made, from_s, to_s, -70.0);
    struct kw_events found;
    detect(kw_find_rich, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].kind, KW_RICH);
    check_near("start", found.items[0].start_s, from_s, 3.0);
    check_near("end", found.items[0].end_s, to_s, 12.0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Right in the first laps and lean from then on: the lean laps are most of the
 * session, and to call the right ones rich would send the owner the dangerous
 * way. */
static void test_rich__what_it_went_out_with_is_not_rich(void **state)
{
    (void)state;
    for (size_t first = 3; first <= 4; first++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 12;
        struct synthetic made = synthetic_new(&options);
        synthetic_lean(&made, made.lap_start_s[first], made.lap_start_s[14],
                       70.0);
        struct kw_events found;
        detect(kw_find_rich, &made, NAN, &found);
        assert_int_equal(found.n, 0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Two levels for long: the log cannot say which is wrong, and says so. */
static void test_rich__half_a_session_may_be_right(void **state)
{
    (void)state;
    const struct {
        const char *label;
        size_t first;
        size_t last;
        int says;
    } rows[] = {{"last six laps", 8, 14, 1}, {"two laps", 5, 6, 0}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 13;
        struct synthetic made = synthetic_new(&options);
        synthetic_lean(&made, made.lap_start_s[rows[k].first],
                       made.lap_start_s[rows[k].last + 1], -70.0);
        struct kw_events found;
        detect(kw_find_rich, &made, NAN, &found);
        check_true(rows[k].label, found.n == 1);
        check_true(rows[k].label,
                   (strstr(found.items[0].evidence, "pale plug") != NULL) ==
                       rows[k].says);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A lap behind a slower kart is cold too, but the engine does not rev. */
static void test_rich__held_up_lap_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t from = synthetic_at(&made, made.lap_start_s[5]);
    const size_t to = synthetic_at(&made, made.lap_start_s[6]);
    for (size_t i = from; i < to; i++) {
        made.rpm[i] *= 0.8;
        made.gas_c[i] -= made.load[i] * 60.0;
    }
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_rich, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rich__healthy_sessions_are_quiet),
        cmocka_unit_test(test_rich__no_probe_is_quiet),
        cmocka_unit_test(test_rich__cold_laps_are_told_once),
        cmocka_unit_test(test_rich__what_it_went_out_with_is_not_rich),
        cmocka_unit_test(test_rich__half_a_session_may_be_right),
        cmocka_unit_test(test_rich__held_up_lap_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
