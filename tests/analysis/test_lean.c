/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <string.h>

/* 6 % lean at 10 C for each percent (common practice, no source). */
static const double SIX_PERCENT_C = 60.0;

/* A false alarm costs an evening, and the next one is not believed. */
static void test_lean__healthy_sessions_are_quiet(void **state)
{
    (void)state;
    for (uint64_t seed = 11; seed < 17; seed++) {
        struct synthetic_options options = synthetic_defaults();
        options.seed = seed;
        options.rate_hz = seed % 2 == 0 ? 10.0 : 25.0;
        struct synthetic made = synthetic_new(&options);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        assert_int_equal(found.n, 0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Debris in the jet for ten seconds: the engine survives if it is told. */
static void test_lean__passing_fault_is_found_where_it_was(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double rate_hz;
        double lag_s;
        double step_c;
    } rows[] = {
        {"20 Hz", 20.0, 1.2, 0.5},        {"5 Hz", 5.0, 1.2, 1.0},
        {"100 Hz", 100.0, 1.2, 1.0},      {"slow probe", 20.0, 2.2, 0.5},
        {"coarse steps", 20.0, 1.2, 5.0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rows[k].rate_hz;
        options.probe_lag_s = rows[k].lag_s;
        options.egt_step_c = rows[k].step_c;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 2.0;
        synthetic_lean(&made, from_s, from_s + 11.0, SIX_PERCENT_C);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        check_near(rows[k].label, (double)found.n, 1.0, 0.0);
        const struct kw_event *event = &found.items[0];
        check_near(rows[k].label, event->start_s, from_s, 1.0);
        check_near(rows[k].label, event->end_s, from_s + 11.0, 1.0);
        check_near(rows[k].label, event->detail.lean.excess_c, SIX_PERCENT_C,
                   20.0);
        assert_int_equal(event->detail.lean.basis, KW_BASIS_SESSION);
        assert_int_equal(event->lap, 5);
        assert_true(event->confidence > 0.8);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* What kills an engine must not be missed because it is hotter than what only
 * harms it: whatever is found at one strength is found at every higher one. */
static void test_lean__stronger_fault_is_never_lost(void **state)
{
    (void)state;
    const double extra_c[] = {40.0, 56.0, 80.0, 105.0, 118.0, 130.0, 165.0};
    for (size_t k = 0; k < sizeof extra_c / sizeof extra_c[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.egt_noise_c = 0.2;
        options.egt_step_c = 0.1;
        options.rpm_noise = 5.0;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 2.0;
        synthetic_lean(&made, from_s, from_s + 11.0, extra_c[k]);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        assert_in_range(found.n, 1, 2);
        check_near("excess", found.items[0].detail.lean.excess_c, extra_c[k],
                   0.25 * extra_c[k]);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A day that warms up by two percent of fuel over minutes is no fault; the same
 * heat from one pull to the next is. */
static void test_lean__slow_drift_of_the_day_is_none(void **state)
{
    (void)state;
    static const double HEAT_C = 20.0;
    static const struct {
        const char *label;
        double rises_s;
        bool told;
    } cases[] = {{"a drift", 150.0, false}, {"a step", 0.1, true}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 18;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[10] - cases[k].rises_s;
        for (size_t i = 0; i < made.n; i++) {
            const double part = (made.time_s[i] - from_s) / cases[k].rises_s;
            made.gas_c[i] += made.load[i] * HEAT_C * fmax(fmin(part, 1.0), 0.0);
        }
        synthetic_follow_gas(&made);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        check_true(cases[k].label, (found.n > 0) == cases[k].told);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A main jet that is too small shows for two seconds at the end of one
 * straight: brief, but so far out that it is no mood of the driver's. */
static void test_lean__brief_and_very_hot_is_found(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.egt_noise_c = 0.2;
    options.egt_step_c = 0.1;
    options.rpm_noise = 5.0;
    struct synthetic made = synthetic_new(&options);
    /* Pulls differ as wholes: each second of one says little of its own. */
    for (size_t i = 0; i < made.n; i++)
        made.gas_c[i] += 4.0 * sin(made.time_s[i] / 2.7);
    synthetic_follow_gas(&made);
    size_t at = synthetic_at(&made, made.lap_start_s[4]);
    while (made.load[at] < 0.5 || made.rpm[at] < 0.85 * options.rpm_top)
        at++;
    const double from_s = made.time_s[at];
    synthetic_lean(&made, from_s, from_s + 2.2, 100.0);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, from_s, 1.0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A small main jet shows at the end of every straight for a second or so; told
 * once it sounds like debris, told each time like a jet. */
static void test_lean__brief_repeats_of_a_sure_fault_are_told(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.egt_noise_c = 0.2;
    options.egt_step_c = 0.1;
    options.rpm_noise = 5.0;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.gas_c[i] += 4.0 * sin(made.time_s[i] / 2.7);
    size_t at = synthetic_at(&made, made.lap_start_s[6]);
    while (made.load[at] < 0.5 || made.rpm[at] < 0.85 * options.rpm_top)
        at++;
    const double from_s = made.lap_start_s[4] + 2.0;
    const double again_s = made.time_s[at];
    synthetic_lean(&made, again_s, again_s + 1.3, 90.0);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_lean(&made, from_s, from_s + 11.0, 90.0);
    detect(kw_find_lean, &made, NAN, &found);
    assert_in_range(found.n, 2, 3);
    assert_true(found.items[0].start_s < from_s + 2.0);
    check_near("repeat", found.items[found.n - 1].start_s, again_s, 1.0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* On an engine whose pulls scatter, a spell that could be a gust: with a
 * certain fault in the same session it is that fault again. */
static void test_lean__slighter_repeat_of_a_sure_fault_is_told(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.gas_c[i] += 14.0 * sin(made.time_s[i] / 2.7);
    const double from_s = made.lap_start_s[3] + 2.0;
    const double again_s = made.lap_start_s[6] + 2.0;
    synthetic_lean(&made, again_s, again_s + 9.0, 30.0);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_lean(&made, from_s, from_s + 25.0, 75.0);
    detect(kw_find_lean, &made, NAN, &found);
    assert_true(found.n >= 2);
    assert_true(found.items[0].end_s < again_s);
    check_near("again", found.items[found.n - 1].end_s, again_s + 9.0, 4.0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The owner's limit is passed: that is told even when all laps are alike. */
static void test_lean__limit_is_told_when_all_laps_are_hot(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.egt_top_c = 700.0;
    struct synthetic made = synthetic_new(&options);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    detect(kw_find_lean, &made, 665.0, &found);
    assert_in_range(found.n, options.laps, 3 * options.laps);
    for (size_t i = 0; i < found.n; i++) {
        assert_int_equal(found.items[i].detail.lean.basis, KW_BASIS_LIMIT);
        assert_int_equal(found.items[i].severity, KW_BEFORE_NEXT_RUN);
        assert_int_equal(found.items[i].detail.lean.region, KW_REGION_TOP);
    }
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The sample with the highest reading of the session. */
static size_t hottest_of(const struct synthetic *made)
{
    size_t hottest = 0;
    for (size_t i = 0; i < made->n; i++)
        hottest = made->egt_c[i] > made->egt_c[hottest] ? i : hottest;
    return hottest;
}

/* Passed for half a second at the end of one straight: told, and not as what
 * stops a run. */
static void test_lean__limit_is_passed_for_a_moment(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t hottest = hottest_of(&made);
    const double limit_c = made.egt_c[hottest] + 3.0;
    synthetic_lean(&made, made.time_s[hottest] - 1.2, made.time_s[hottest],
                   15.0);
    struct kw_events found;
    detect(kw_find_lean, &made, limit_c, &found);
    assert_int_equal(found.n, 1);
    assert_int_equal(found.items[0].detail.lean.basis, KW_BASIS_LIMIT);
    assert_int_not_equal(found.items[0].severity, KW_BEFORE_NEXT_RUN);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* One odd reading of a logger that takes one each second, and the lines to its
 * neighbours, pass no limit. */
static void test_lean__odd_reading_passes_no_limit(void **state)
{
    (void)state;
    const double ODD_C = 110.0;
    const double EACH_S = 1.0;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t hottest = hottest_of(&made);
    const double limit_c = made.egt_c[hottest] + 20.0;
    for (size_t i = 0; i < made.n; i++) {
        const double off_s = fabs(made.time_s[i] - made.time_s[hottest] + 0.8);
        made.egt_c[i] += ODD_C * fmax(0.0, 1.0 - off_s / EACH_S);
    }
    struct kw_events found;
    detect(kw_find_lean, &made, limit_c, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A whole session on a wrong jet shows only against a good one. */
static void test_lean__reference_shows_a_session_lean_throughout(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic good = synthetic_new(&options);
    options.seed = 2;
    struct synthetic lean = synthetic_new(&options);
    synthetic_lean(&lean, 0.0, lean.time_s[lean.n - 1], SIX_PERCENT_C);
    struct made_scene reference;
    struct made_scene scene;
    made_scene(&good, NAN, &reference);
    made_scene(&lean, NAN, &scene);
    struct kw_events found = {0};
    assert_int_equal(kw_find_lean(&scene.scene, &found, NULL), KW_OK);
    assert_int_equal(found.n, 0);
    scene.scene.reference = &reference.session;
    assert_int_equal(kw_find_lean(&scene.scene, &found, NULL), KW_OK);
    assert_in_range(found.n, 3 * options.laps, 4 * (options.laps + 2));
    for (size_t i = 0; i < found.n; i++)
        assert_int_equal(found.items[i].detail.lean.basis, KW_BASIS_REFERENCE);
    assert_null(strstr(found.items[0].evidence, "Since"));
    kw_events_free(&found);
    /* What was changed on purpose stands with what is seen. */
    scene.scene.since_reference = "the main jet was changed from 145 to 142";
    assert_int_equal(kw_find_lean(&scene.scene, &found, NULL), KW_OK);
    assert_non_null(strstr(found.items[0].evidence,
                           " Since that session the main jet was changed from "
                           "145 to 142, which"));
    kw_events_free(&found);
    /* The good session is not lean against itself. */
    reference.scene.reference = &reference.session;
    assert_int_equal(kw_find_lean(&reference.scene, &found, NULL), KW_OK);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    made_scene_free(&scene);
    made_scene_free(&reference);
    synthetic_free(&good);
    synthetic_free(&lean);
}

/* Heat of a fuel restriction is told there, not twice. */
static void test_lean__heat_of_a_restriction_is_not_told_twice(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[4] + 4.0;
    synthetic_starve(&made, from_s, from_s + 6.0, 900.0, 90.0);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const struct kw_event restriction = {
        .kind = KW_DROPOUT,
        .start_s = from_s,
        .end_s = from_s + 6.0,
        .detail.dropout = {.depth_rpm = 900.0,
                           .cause = KW_CAUSE_FUEL_RESTRICTION}};
    assert_int_equal(kw_events_add(&scene.before, &restriction, NULL), KW_OK);
    struct kw_events found = {0};
    assert_int_equal(kw_find_lean(&scene.scene, &found, NULL), KW_OK);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* No probe, no finding, no crash. */
static void test_lean__no_probe_is_quiet(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_egt = false;
    struct synthetic made = synthetic_new(&options);
    struct kw_events found;
    detect(kw_find_lean, &made, 600.0, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Throttle is held in the bend before a pull too: the fault begins there. */
static void test_lean__bend_before_a_hot_pull_belongs_to_it(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    size_t pull = synthetic_at(&made, made.lap_start_s[4] - 3.0);
    while (made.load[pull] > 0.5)
        pull++;
    while (made.load[pull] < 0.5)
        pull++;
    const double from_s = made.time_s[pull] - 1.2;
    for (size_t i = synthetic_at(&made, from_s); i < pull || made.load[i] > 0.5;
         i++)
        made.gas_c[i] += SIX_PERCENT_C;
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, from_s, 0.5);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Right at first and at last, and rich for some laps that begin in the warm-up:
 * what the engine went out with is the hotter level, and not lean. */
static void test_lean__hotter_from_the_start_is_no_fault(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 14;
    struct synthetic made = synthetic_new(&options);
    synthetic_lean(&made, made.lap_start_s[2], made.lap_start_s[6], -70.0);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The rise from cold is as good as the lag is known: after a stand what is left
 * of it fades with the probe. A brief stand cools nothing. */
static void test_lean__rise_from_cold_is_none(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double stands_s;
        bool told;
    } rows[] = {{"cold", 30.0, false}, {"still warm", 8.0, true}};
    static const double LEFT_C = 800.0;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.probe_lag_s = 4.0;
        struct synthetic made = synthetic_new(&options);
        const double stop_s = made.lap_start_s[4] + 1.0;
        const double again_s = stop_s + rows[k].stands_s;
        synthetic_stop_engine(&made, stop_s, again_s);
        for (size_t i = synthetic_at(&made, again_s); i < made.n; i++)
            made.gas_c[i] +=
                LEFT_C * exp((again_s - made.time_s[i]) / options.probe_lag_s);
        synthetic_follow_gas(&made);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        check_near(rows[k].label, (double)found.n, rows[k].told ? 1.0 : 0.0,
                   0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* The longest straight of a lap, hot; the kart may have stood before it.
 *
 * stands_s  for so long.
 * extra_c   how hot.
 * again     the same straight of the next lap is hot too. */
struct launch {
    const char *label;
    double stands_s;
    double extra_c;
    bool again;
    size_t told;
};

static size_t count_launched(const struct launch *launch)
{
    struct synthetic_options options = synthetic_defaults();
    options.lap_s = 62.0;
    struct synthetic made = synthetic_new(&options);
    size_t from = 0;
    size_t to = 0;
    while (synthetic_next_longest(&made, &from, &to) &&
           made.time_s[from] < made.lap_start_s[4])
        from = to;
    for (size_t i = from;
         i-- > 0 && made.time_s[from] - made.time_s[i] < launch->stands_s;) {
        made.rpm[i] = options.idle_rpm;
        made.load[i] = 0.0;
    }
    synthetic_lean(&made, made.time_s[from], made.time_s[to - 1],
                   launch->extra_c);
    size_t next = to;
    if (launch->again && synthetic_next_longest(&made, &next, &to))
        synthetic_lean(&made, made.time_s[next], made.time_s[to - 1],
                       launch->extra_c);
    struct kw_events found;
    detect(kw_find_lean, &made, NAN, &found);
    const size_t n = found.n;
    kw_events_free(&found);
    synthetic_free(&made);
    return n;
}

/* From a stand to the top end in one no other pull of the session is like it;
 * hot alone, it proves nothing. */
static void test_lean__lone_pull_from_a_stand_proves_nothing(void **state)
{
    (void)state;
    static const struct launch rows[] = {
        {"on the move", 0.0, 38.0, false, 1},
        {"slows for a moment", 1.0, 38.0, false, 1},
        {"from a stand", 6.0, 38.0, false, 0},
        {"far hotter", 6.0, 80.0, false, 1},
        {"hot again soon", 6.0, 38.0, true, 2},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_near(rows[k].label, (double)count_launched(&rows[k]),
                   (double)rows[k].told, 0.0);
}

/* Right for some laps after an odd first one, then lean to the end; unless it
 * was as hot at first, for then the cooler laps are the odd ones. */
static void test_lean__to_the_end_after_an_odd_first_lap(void **state)
{
    (void)state;
    static const double first_c[] = {35.0, 130.0};
    static const double LATER_C = 130.0;
    for (size_t k = 0; k < sizeof first_c / sizeof first_c[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 14;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[8];
        const double right_s = made.lap_start_s[3];
        synthetic_lean(&made, 0.0, right_s, first_c[k]);
        synthetic_lean(&made, from_s, made.time_s[made.n - 1], LATER_C);
        struct kw_events found;
        detect(kw_find_lean, &made, NAN, &found);
        if (k == 0)
            assert_true(found.n > 5);
        else
            assert_int_equal(found.n, 0);
        for (size_t i = 0; i < found.n; i++)
            assert_true(found.items[i].end_s < right_s + 1.0 ||
                        found.items[i].start_s > from_s - 1.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lean__healthy_sessions_are_quiet),
        cmocka_unit_test(test_lean__slow_drift_of_the_day_is_none),
        cmocka_unit_test(test_lean__brief_and_very_hot_is_found),
        cmocka_unit_test(test_lean__brief_repeats_of_a_sure_fault_are_told),
        cmocka_unit_test(test_lean__stronger_fault_is_never_lost),
        cmocka_unit_test(test_lean__passing_fault_is_found_where_it_was),
        cmocka_unit_test(test_lean__slighter_repeat_of_a_sure_fault_is_told),
        cmocka_unit_test(test_lean__limit_is_told_when_all_laps_are_hot),
        cmocka_unit_test(test_lean__limit_is_passed_for_a_moment),
        cmocka_unit_test(test_lean__odd_reading_passes_no_limit),
        cmocka_unit_test(test_lean__reference_shows_a_session_lean_throughout),
        cmocka_unit_test(test_lean__heat_of_a_restriction_is_not_told_twice),
        cmocka_unit_test(test_lean__no_probe_is_quiet),
        cmocka_unit_test(test_lean__bend_before_a_hot_pull_belongs_to_it),
        cmocka_unit_test(test_lean__hotter_from_the_start_is_no_fault),
        cmocka_unit_test(test_lean__rise_from_cold_is_none),
        cmocka_unit_test(test_lean__lone_pull_from_a_stand_proves_nothing),
        cmocka_unit_test(test_lean__to_the_end_after_an_odd_first_lap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
