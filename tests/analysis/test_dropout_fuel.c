/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* When the second pull of a lap begins. */
static double second_pull_s(const struct synthetic *made, size_t lap)
{
    size_t pull = synthetic_at(made, made->lap_start_s[lap] + 12.0);
    while (made->load[pull] > 0.5)
        pull++;
    while (made->load[pull] < 0.5)
        pull++;
    return made->time_s[pull];
}

/* Short of fuel in the second pull of a lap: RPM sinks while the gas climbs. */
static void starve_second_pull(struct synthetic *made,
                               size_t lap,
                               double for_s,
                               double depth_rpm,
                               double extra_c)
{
    const double from_s = second_pull_s(made, lap) + 1.6;
    synthetic_starve(made, from_s, from_s + for_s, depth_rpm, extra_c);
}

/* In the fifth to eighth lap, for three seconds. */
static void starve_four_laps(struct synthetic *made,
                             double depth_rpm,
                             double extra_c)
{
    for (size_t lap = 5; lap <= 8; lap++)
        starve_second_pull(made, lap, 3.0, depth_rpm, extra_c);
}

/* The clogged filter: a lean engine on the longest pulls, late in the race. */
static void test_dropout_fuel__starved_pulls_are_found_with_their_cause(
    void **state)
{
    (void)state;
    static const double rates_hz[] = {5, 20, 50};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        options.laps = 9;
        struct synthetic made = synthetic_new(&options);
        starve_four_laps(&made, 3500.0, 90.0);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        assert_in_range(found.n, 3, 4);
        for (size_t i = 0; i < found.n; i++) {
            assert_int_equal(found.items[i].detail.dropout.cause,
                             KW_CAUSE_FUEL_RESTRICTION);
            assert_in_range(found.items[i].lap, 5, 10);
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* RPM that still rose and then sank is told by its highest: from .. to would
 * read like nothing. */
static void test_dropout_fuel__evidence_tells_the_way_up_and_back(void **state)
{
    (void)state;
    static const double LASTS_S = 5.0;
    static const double DEPTH_RPM = 3000.0;
    static const double HEAT_C = 150.0;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 5; lap <= 8; lap++) {
        const double from_s = made.lap_start_s[lap] + 4.0;
        const size_t to = synthetic_at(&made, from_s + LASTS_S);
        for (size_t i = synthetic_at(&made, from_s); i < to; i++) {
            const double part = (made.time_s[i] - from_s) / LASTS_S;
            made.rpm[i] -= DEPTH_RPM * part * part * part;
            made.gas_c[i] += HEAT_C * part;
        }
    }
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_in_range(found.n, 3, 4);
    for (size_t i = 0; i < found.n; i++)
        check_true(found.items[i].evidence,
                   strstr(found.items[i].evidence, " and back to ") != NULL);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* No heat is claimed that the pull has not, hungry as it is: one thing is said
 * of the exhaust, and of some that it did not cool. */
static void test_dropout_fuel__evidence_claims_no_heat_that_is_not(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 16;
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 3; lap <= 8; lap++)
        starve_second_pull(&made, lap, 3.0, 3500.0, 60.0);
    for (size_t lap = 11; lap <= 15; lap++)
        starve_second_pull(&made, lap, 3.0, 3500.0, 30.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    size_t without = 0;
    for (size_t i = 0; i < found.n; i++) {
        const char *evidence = found.items[i].evidence;
        const bool claimed = strstr(evidence, "hotter than in") != NULL;
        const bool cool = strstr(evidence, "did not cool as after a") != NULL;
        const bool cooled = strstr(evidence, "too little was left") != NULL;
        check_true(evidence, claimed + cool + cooled == 1);
        without += cool ? 1 : 0;
    }
    assert_true(without > 0 && without < found.n);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* RPM that sinks with a cooling exhaust is a lifted foot: no filter to change.
 */
static void test_dropout_fuel__sinking_rpm_without_heat_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    starve_four_laps(&made, 3500.0, -120.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A learner lifts before the same bend on some laps: his exhaust is about as
 * hot there as is expected, but it falls while RPM does. */
static void test_dropout_fuel__lift_before_a_bend_is_none(void **state)
{
    (void)state;
    static const double LASTS_S = 2.7;
    static const double BEFORE_END_S = 0.6;
    static const struct {
        const char *label;
        double extra_c;
        size_t told;
    } rows[] = {{"short of fuel", 20.0, 4}, {"a lift", -20.0, 0}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 12;
        struct synthetic made = synthetic_new(&options);
        size_t from = 0;
        size_t to = 0;
        for (size_t pull = 0;
             pull < 8 && synthetic_next_longest(&made, &from, &to);
             pull++, from = to + 1) {
            const double end_s = made.time_s[to] - BEFORE_END_S;
            if (pull >= 4)
                synthetic_starve(&made, end_s - LASTS_S, end_s, 2500.0,
                                 rows[k].extra_c);
        }
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(rows[k].label, (double)found.n, (double)rows[k].told, 0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* Four laps are hot from end to end, and the driver is slow on one straight of
 * each: the mixture, and no fuel line. */
static void test_dropout_fuel__slow_driver_in_hot_laps_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 14;
    struct synthetic made = synthetic_new(&options);
    starve_four_laps(&made, 1400.0, -20.0);
    const size_t to = synthetic_at(&made, made.lap_start_s[9]);
    for (size_t i = synthetic_at(&made, made.lap_start_s[5]); i < to; i++)
        made.gas_c[i] += 60.0;
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Fuel comes back before the lift: what RPM regains then is no sign that the
 * engine was well fed. */
static void test_dropout_fuel__sag_that_recovers_is_found(void **state)
{
    (void)state;
    static const double SAG_S = 1.5;
    static const double RECOVERY_S = 0.6;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 5; lap <= 8; lap++) {
        const double from_s = made.lap_start_s[lap] + 5.0;
        const double back_s = from_s + SAG_S + RECOVERY_S;
        const size_t from = synthetic_at(&made, from_s);
        const size_t to = synthetic_at(&made, back_s);
        const double held_rpm = made.rpm[from] - 1500.0;
        for (size_t i = from; i < to; i++) {
            const double fed =
                fmax(0.0, made.time_s[i] - from_s - SAG_S) / RECOVERY_S;
            made.rpm[i] = held_rpm + fed * (made.rpm[to] - held_rpm);
            made.gas_c[i] += 60.0;
        }
    }
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 4);
    for (size_t i = 0; i < found.n; i++)
        assert_int_equal(found.items[i].detail.dropout.cause,
                         KW_CAUSE_FUEL_RESTRICTION);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A governor holds every pull at its RPM; the exhaust of one is hotter from
 * then on. Nothing was lost, and no filter is to be changed. */
static void test_dropout_fuel__governed_engine_loses_nothing(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    const double governed_rpm = 0.93 * options.rpm_top;
    const size_t from = synthetic_at(&made, made.lap_start_s[5]);
    const size_t to = synthetic_at(&made, made.lap_start_s[5] + 12.0);
    for (size_t i = 0; i < made.n; i++) {
        if (i >= from && i < to && made.rpm[i] > governed_rpm)
            made.gas_c[i] += 80.0;
        made.rpm[i] = fmin(made.rpm[i], governed_rpm);
    }
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* It sags, hot, and stands: a drop-out comes back. */
static void test_dropout_fuel__sag_of_an_engine_that_stops_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    starve_four_laps(&made, 3500.0, 90.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_true(found.n > 0);
    const size_t n = found.n;
    const double stops_s = found.items[n - 1].end_s + 0.3;
    kw_events_free(&found);
    synthetic_stop_engine(&made, stops_s, made.time_s[made.n - 1] + 1.0);
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, n - 1);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A weaker one that would not be believed alone is, once four plain ones show
 * that this engine starves. */
static void test_dropout_fuel__plain_ones_speak_for_a_weaker_one(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 12;
    struct synthetic made = synthetic_new(&options);
    starve_second_pull(&made, 10, 1.8, 440.0, 160.0);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    starve_four_laps(&made, 3500.0, 40.0);
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_true(found.n > 4);
    assert_int_equal(found.items[found.n - 1].lap, 11);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* No laps, and other pulls are hotter than those that starve: still RPM sinks
 * for long while the gas climbs. */
static void test_dropout_fuel__sinking_and_hot_needs_no_laps(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 1; lap <= 6; lap++)
        starve_second_pull(&made, lap, 3.0, 3500.0, 120.0);
    synthetic_lean(&made, made.lap_start_s[7], made.lap_start_s[9], 150.0);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    free(scene.laps.place);
    scene.laps.place = NULL;
    scene.laps.n = 0;
    struct kw_events found = {0};
    assert_int_equal(kw_find_dropouts(&scene.scene, &found, NULL), KW_OK);
    assert_in_range(found.n, 5, 6);
    made_scene_free(&scene);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* The reading freezes in a pull and the engine does not: hot as it may be, it
 * did not hold its RPM. What starves elsewhere is told still. */
static void test_dropout_fuel__frozen_reading_tells_nothing(void **state)
{
    (void)state;
    static const double for_s[] = {2.5, 8.0, 30.0};
    for (size_t k = 0; k < sizeof for_s / sizeof for_s[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 9;
        struct synthetic made = synthetic_new(&options);
        starve_four_laps(&made, 3500.0, 90.0);
        const double from_s = second_pull_s(&made, 3) + 1.0;
        synthetic_lean(&made, from_s, from_s + for_s[k], 90.0);
        synthetic_freeze_signal(&made, from_s, from_s + for_s[k]);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        size_t fuel = 0;
        for (size_t i = 0; i < found.n; i++) {
            if (found.items[i].detail.dropout.cause !=
                KW_CAUSE_FUEL_RESTRICTION)
                continue;
            fuel++;
            assert_in_range(found.items[i].lap, 5, 10);
        }
        assert_int_equal(fuel, 4);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* The last seconds of the second pull of a lap: the driver slows down gently
 * for a fast bend, with so much more heat in the whole pull. */
static void slow_for_the_bend(struct synthetic *made,
                              size_t lap,
                              double for_s,
                              double extra_c)
{
    static const double SLOWS_RPM_S = 1100.0;
    const size_t from = synthetic_at(made, second_pull_s(made, lap));
    size_t to = from;
    while (made->load[to] > 0.5)
        to++;
    const double at_s = made->time_s[to] - for_s;
    const double at_rpm = made->rpm[synthetic_at(made, at_s)];
    for (size_t i = from; i < to; i++) {
        made->gas_c[i] += extra_c;
        if (made->time_s[i] > at_s)
            made->rpm[i] = at_rpm - SLOWS_RPM_S * (made->time_s[i] - at_s);
    }
}

/* Half of the laps are lean there, and in these the driver slows down a little
 * earlier: he falls behind, hot, but where nobody pulls. */
static void test_dropout_fuel__slowing_early_for_a_bend_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 0; lap <= options.laps + 1; lap++)
        slow_for_the_bend(&made, lap, lap < 5 ? 1.8 : 2.5,
                          lap < 5 ? 0.0 : 90.0);
    synthetic_follow_gas(&made);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A weak pull on four laps: RPM gains this share of what it should, and the gas
 * is hot from so long after the pull began. */
struct weak_pulls {
    const char *label;
    double gains;
    double hot_after_s;
    double hot_c;
    bool told;
};

static void weaken(struct synthetic *made,
                   size_t lap,
                   const struct weak_pulls *weak)
{
    const size_t from = synthetic_at(made, second_pull_s(made, lap));
    const double from_rpm = made->rpm[from];
    for (size_t i = from; made->load[i] > 0.5; i++) {
        made->rpm[i] = from_rpm + weak->gains * (made->rpm[i] - from_rpm);
        if (made->time_s[i] - made->time_s[from] >= weak->hot_after_s)
            made->gas_c[i] += weak->hot_c;
    }
}

/* Debris in the jet: lean and weak from the first moment of the pull on, and
 * gathering speed all the same. Hunger lets the pull begin as it should. */
static void test_dropout_fuel__lean_from_the_first_moment_is_none(void **state)
{
    (void)state;
    static const struct weak_pulls cases[] = {
        {"lean and weak", 0.7, 0.0, 90.0, false},
        {"hot later on", 0.7, 1.6, 90.0, true},
        {"gathers hardly any speed", 0.1, 0.0, 90.0, true},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 14;
        struct synthetic made = synthetic_new(&options);
        for (size_t lap = 5; lap <= 8; lap++)
            weaken(&made, lap, &cases[k]);
        synthetic_follow_gas(&made);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_true(cases[k].label, (found.n > 0) == cases[k].told);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_dropout_fuel__starved_pulls_are_found_with_their_cause),
        cmocka_unit_test(test_dropout_fuel__evidence_tells_the_way_up_and_back),
        cmocka_unit_test(
            test_dropout_fuel__evidence_claims_no_heat_that_is_not),
        cmocka_unit_test(test_dropout_fuel__sinking_rpm_without_heat_is_none),
        cmocka_unit_test(test_dropout_fuel__lift_before_a_bend_is_none),
        cmocka_unit_test(test_dropout_fuel__slow_driver_in_hot_laps_is_none),
        cmocka_unit_test(test_dropout_fuel__sag_that_recovers_is_found),
        cmocka_unit_test(test_dropout_fuel__governed_engine_loses_nothing),
        cmocka_unit_test(
            test_dropout_fuel__sag_of_an_engine_that_stops_is_none),
        cmocka_unit_test(test_dropout_fuel__plain_ones_speak_for_a_weaker_one),
        cmocka_unit_test(test_dropout_fuel__sinking_and_hot_needs_no_laps),
        cmocka_unit_test(test_dropout_fuel__frozen_reading_tells_nothing),
        cmocka_unit_test(test_dropout_fuel__slowing_early_for_a_bend_is_none),
        cmocka_unit_test(test_dropout_fuel__lean_from_the_first_moment_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
