/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

/* How RPM falls in mid-pull on lap 6.
 *
 * sinks_rpm_s  so fast,
 * holds_s      after so long at the top,
 * for_s        for so long in all.
 * gas_c        the gas meanwhile; 0 leaves it as hot as under load.
 * works_rpm    the most that the engine turns afterwards.
 * on_lap_3     it fell like that on lap 3 too.
 * missing_s    RPM are not read for so long in the middle of it, and have
 *              fallen by then.
 * doubled      RPM were read twice as high for a moment in it.
 * goes_on_s    the log goes on for so long; 0 for to its end.
 * told         the piston is to be looked at. */
struct fall {
    const char *label;
    double sinks_rpm_s;
    double holds_s;
    double for_s;
    double gas_c;
    double works_rpm;
    bool on_lap_3;
    double missing_s;
    bool doubled;
    double goes_on_s;
    bool told;
};

static const struct fall falls[] = {
    {"drags", .sinks_rpm_s = 1100, .for_s = 5.0, .works_rpm = 2200,
     .told = true},
    {"drags, and rolls home", .sinks_rpm_s = 1100, .for_s = 5.0,
     .works_rpm = 6000, .told = true},
    {"works again", .sinks_rpm_s = 1100, .for_s = 5.0, .works_rpm = 12000},
    {"twice", .sinks_rpm_s = 1100, .for_s = 5.0, .works_rpm = 2200,
     .on_lap_3 = true},
    {"lifts", .sinks_rpm_s = 1100, .for_s = 5.0, .gas_c = 350,
     .works_rpm = 2200},
    {"brakes in hot gas", .sinks_rpm_s = 2400, .for_s = 3.4, .works_rpm = 2200},
    {"brakes in hot gas after long at the top", .sinks_rpm_s = 2400,
     .holds_s = 4.0, .for_s = 7.4, .works_rpm = 2200},
    {"a reading doubled", .sinks_rpm_s = 200, .for_s = 6.0, .works_rpm = 2200,
     .doubled = true},
    {"drags after long at the top", .sinks_rpm_s = 1100, .holds_s = 4.0,
     .for_s = 9.0, .works_rpm = 2200, .told = true},
    {"falls by little", .sinks_rpm_s = 400, .for_s = 5.0, .works_rpm = 2200},
    {"soon over", .sinks_rpm_s = 1800, .for_s = 2.5, .works_rpm = 2200},
    {"a lead breaks", .sinks_rpm_s = 1100, .for_s = 5.0, .missing_s = 2.4,
     .works_rpm = 2200},
    {"a reading is missing", .sinks_rpm_s = 1100, .for_s = 5.0,
     .missing_s = 0.2, .works_rpm = 2200, .told = true},
    {"the log ends", .sinks_rpm_s = 1100, .for_s = 5.0, .works_rpm = 2200,
     .goes_on_s = 2.0},
};

static double hot_c(const struct synthetic *made, size_t i, double gas_c)
{
    return gas_c > 0.0 ? gas_c : fmax(made->gas_c[i], 600.0);
}

/* No engine holds its speed to the last digit. */
static const double FADES_RPM_S = 10.0;

/* returns  the first sample behind it. */
static size_t sink(struct synthetic *made, double at_s, const struct fall *fall)
{
    const size_t from = synthetic_at(made, at_s);
    const size_t to = synthetic_at(made, at_s + fall->for_s);
    const double from_rpm = made->rpm[from];
    for (size_t i = from; i < to; i++) {
        const double since_s = made->time_s[i] - at_s;
        made->rpm[i] = from_rpm - FADES_RPM_S * since_s -
                       fall->sinks_rpm_s * fmax(0.0, since_s - fall->holds_s);
        made->gas_c[i] = hot_c(made, i, fall->gas_c);
        if (fabs(made->time_s[i] - at_s - fall->for_s / 2.0) <
            fall->missing_s / 2.0)
            made->rpm[i] = NAN;
        if (fall->doubled && since_s > 0.5 && since_s < 0.7)
            made->rpm[i] *= 2.0;
    }
    return to;
}

static const double BRAKES_RPM_S = 4000.0;
static const double WORKS_RPM = 10000.0;

static void make_fall(struct synthetic *made, const struct fall *fall)
{
    size_t from = synthetic_at(made, made->lap_start_s[6]);
    size_t to;
    assert_true(synthetic_next_longest(made, &from, &to));
    if (fall->on_lap_3) {
        size_t from_3 = synthetic_at(made, made->lap_start_s[3]);
        size_t to_3;
        assert_true(synthetic_next_longest(made, &from_3, &to_3));
        sink(made, made->time_s[to_3] - 0.5, fall);
    }
    const size_t end = sink(made, made->time_s[to] - 0.5, fall);
    for (size_t i = end; i < made->n; i++) {
        const double braked_rpm =
            made->rpm[end - 1] -
            BRAKES_RPM_S * (made->time_s[i] - made->time_s[end - 1]);
        made->rpm[i] = fmin(made->rpm[i], fmax(fall->works_rpm, braked_rpm));
        if (fall->works_rpm < WORKS_RPM)
            made->gas_c[i] = fmin(made->gas_c[i], 350.0);
    }
    if (fall->goes_on_s > 0.0)
        made->n = synthetic_at(made, made->time_s[to] - 0.5 + fall->for_s +
                                         fall->goes_on_s);
    synthetic_follow_gas(made);
}

/* An engine that picked up must not be turned over again unseen, and one that
 * was lifted off or starved must not be taken apart. */
static void test_seizure_drag__rpm_falls_in_hot_gas(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof falls / sizeof falls[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        make_fall(&made, &falls[k]);
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        assert_int_equal(kw_find_dropouts(&scene.scene, &scene.before, NULL),
                         KW_OK);
        struct kw_events found = {0};
        assert_int_equal(kw_find_seizure_onset(&scene.scene, &found, NULL),
                         KW_OK);
        check_near(falls[k].label, (double)found.n, falls[k].told ? 1.0 : 0.0,
                   0.0);
        if (found.n > 0)
            check_true(falls[k].label,
                       found.items[0].severity == KW_BEFORE_NEXT_RUN &&
                           found.items[0].confidence < 0.8);
        kw_events_free(&found);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

static void test_seizure_drag__healthy_and_without_probe(void **state)
{
    (void)state;
    check_quiet_when_healthy(kw_find_seizure_onset);
    check_quiet_without_probe(kw_find_seizure_onset);
}

/* On a stand an engine turns free; gas that is late shows no lift. */
static void test_seizure_drag__none_without_laps_or_lag(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    make_fall(&made, &falls[0]);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const struct kw_laps none = {0};
    const struct kw_laps *laps = scene.scene.laps;
    for (int k = 0; k < 3; k++) {
        scene.scene.laps = k == 1 ? &none : laps;
        scene.session.probe_lag_s = k == 2 ? NAN : options.probe_lag_s;
        struct kw_events found = {0};
        assert_int_equal(kw_find_seizure_onset(&scene.scene, &found, NULL),
                         KW_OK);
        assert_int_equal(found.n, k == 0 ? 1 : 0);
        kw_events_free(&found);
    }
    made_scene_free(&scene);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_seizure_drag__rpm_falls_in_hot_gas),
        cmocka_unit_test(test_seizure_drag__healthy_and_without_probe),
        cmocka_unit_test(test_seizure_drag__none_without_laps_or_lag),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
