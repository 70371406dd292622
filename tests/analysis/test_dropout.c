/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <stdlib.h>
#include <string.h>

static void find(const struct synthetic *made, struct kw_events *found)
{
    struct made_scene scene;
    made_scene(made, NAN, &scene);
    *found = (struct kw_events){0};
    assert_int_equal(kw_find_dropouts(&scene.scene, found, NULL), KW_OK);
    made_scene_free(&scene);
}

struct loss_case {
    const char *label;
    double rate_hz;
    double factor;
    double seconds;
    double rpm_top;
    double rpm_slow;
    double clutch_rpm;
    double idle_rpm;
};

static const struct loss_case losses[] = {
    {"vanishes", 20, 0.0, 0.4, 14800, 6500, 4700, 2100},
    {"vanishes at 5 Hz", 5, 0.0, 1.0, 14800, 6500, 4700, 2100},
    {"vanishes at 100 Hz", 100, 0.0, 0.15, 14800, 6500, 4700, 2100},
    {"halves", 20, 0.5, 0.5, 14800, 6500, 4700, 2100},
    {"doubles", 20, 2.0, 0.5, 14800, 6500, 4700, 2100},
    {"long nothing", 10, 0.0, 4.0, 14800, 6500, 4700, 2100},
    {"rental four-stroke", 20, 0.0, 0.4, 6000, 3600, 2200, 1500},
    {"rental halves", 10, 0.5, 0.6, 6000, 3600, 2200, 1500},
};

/* The wire that will end the race next Sunday. */
static void test_dropout__lost_signal_is_found_where_it_was(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof losses / sizeof losses[0]; k++) {
        const struct loss_case *c = &losses[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = c->rate_hz;
        options.rpm_top = c->rpm_top;
        options.rpm_slow = c->rpm_slow;
        options.clutch_rpm = c->clutch_rpm;
        options.idle_rpm = c->idle_rpm;
        struct synthetic made = synthetic_new(&options);
        /* Late in the first pull of the fourth lap. */
        const double from_s = made.lap_start_s[4] + 6.0;
        synthetic_lose_signal(&made, from_s, from_s + c->seconds, c->factor);
        struct kw_events found;
        find(&made, &found);
        check_near(c->label, (double)found.n, 1.0, 0.0);
        check_near(c->label, found.items[0].start_s, from_s, 1.5 / c->rate_hz);
        check_near(c->label, found.items[0].end_s, from_s + c->seconds,
                   1.5 / c->rate_hz);
        check_true(c->label, found.items[0].detail.dropout.cause ==
                                 KW_CAUSE_LOOSE_CONNECTION);
        check_true(c->label, found.items[0].confidence > 0.8);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* A reading that stands still while the kart brakes, then jumps to the truth.
 */
static void test_dropout__frozen_signal_is_found(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    size_t pull = synthetic_at(&made, made.lap_start_s[4] + 1.0);
    while (made.load[pull] > 0.5)
        pull++;
    while (made.load[pull] < 0.5)
        pull++;
    const double from_s = made.time_s[pull] + 0.7;
    synthetic_freeze_signal(&made, from_s, from_s + 0.9);
    struct kw_events found;
    find(&made, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, from_s, 0.15);
    check_near("end", found.items[0].end_s, from_s + 0.9, 0.15);
    assert_non_null(strstr(found.items[0].evidence, "stood still"));
    kw_events_free(&found);
    synthetic_free(&made);
}

/* A driver who lifts for a corner must never be told to check the wiring. */
static void test_dropout__healthy_driving_is_none(void **state)
{
    (void)state;
    static const double rates_hz[] = {1, 5, 10, 20, 50, 100};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        options.rpm_noise = 40.0;
        options.rpm_step = k % 2 == 0 ? 25.0 : 1.0;
        options.seed = 100 + k;
        struct synthetic made = synthetic_new(&options);
        struct kw_events found;
        find(&made, &found);
        check_near("healthy", (double)found.n, 0.0, 0.0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* One odd reading is the logger's hiccup, not the kart's. */
static void test_dropout__glitch_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.rate_hz = 50.0;
    struct synthetic made = synthetic_new(&options);
    const double at_s = made.lap_start_s[3] + 6.0;
    synthetic_lose_signal(&made, at_s, at_s + 0.015, 0.0);
    struct kw_events found;
    find(&made, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* An engine that is switched off does not come back by itself. */
static void test_dropout__stopped_engine_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    synthetic_stop_engine(&made, made.lap_start_s[5] + 6.0,
                          made.time_s[made.n - 1] + 1.0);
    struct kw_events found;
    find(&made, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Two losses with a second of good readings between are two. */
static void test_dropout__losses_apart_are_told_apart(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const double at_s = made.lap_start_s[4] + 4.0;
    synthetic_lose_signal(&made, at_s, at_s + 0.3, 0.0);
    synthetic_lose_signal(&made, at_s + 1.5, at_s + 1.9, 0.5);
    struct kw_events found;
    find(&made, &found);
    assert_int_equal(found.n, 2);
    kw_events_free(&found);
    synthetic_free(&made);
}

/* Starts the engine of the fifth to eighth lap short of fuel in their second
 * pull: RPM sinks for three seconds while the gas climbs. */
static void starve_four_laps(struct synthetic *made, double extra_c)
{
    for (size_t lap = 5; lap <= 8; lap++) {
        size_t pull = synthetic_at(made, made->lap_start_s[lap] + 12.0);
        while (made->load[pull] > 0.5)
            pull++;
        while (made->load[pull] < 0.5)
            pull++;
        const double from_s = made->time_s[pull] + 1.5;
        synthetic_starve(made, from_s, from_s + 3.0, 3500.0, extra_c);
    }
}

/* The clogged filter: a lean engine on the longest pulls, late in the race. */
static void test_dropout__starved_pulls_are_found_with_their_cause(void **state)
{
    (void)state;
    static const double rates_hz[] = {5, 20, 50};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        options.laps = 9;
        struct synthetic made = synthetic_new(&options);
        starve_four_laps(&made, 90.0);
        struct kw_events found;
        find(&made, &found);
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

/* RPM that sinks with a cooling exhaust is a lifted foot: no filter to change.
 */
static void test_dropout__sinking_rpm_without_heat_is_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 9;
    struct synthetic made = synthetic_new(&options);
    starve_four_laps(&made, -120.0);
    struct kw_events found;
    find(&made, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dropout__lost_signal_is_found_where_it_was),
        cmocka_unit_test(test_dropout__frozen_signal_is_found),
        cmocka_unit_test(test_dropout__healthy_driving_is_none),
        cmocka_unit_test(test_dropout__glitch_is_none),
        cmocka_unit_test(test_dropout__stopped_engine_is_none),
        cmocka_unit_test(test_dropout__losses_apart_are_told_apart),
        cmocka_unit_test(
            test_dropout__starved_pulls_are_found_with_their_cause),
        cmocka_unit_test(test_dropout__sinking_rpm_without_heat_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
