/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/gas_depth.h"

#include "core/array.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <stdlib.h>

static const double TOP_RPM = 14800.0;

/* A log, and how deep its gas is; the caller frees depth. */
static double *depth_of(const struct made_scene *made)
{
    double *depth = kw_array_new(made->session.n_samples, sizeof *depth, NULL);
    assert_non_null(depth);
    assert_int_equal(kw_find_gas_depth(&made->scene, made->session.rpm, TOP_RPM,
                                       depth, NULL),
                     KW_OK);
    return depth;
}

/* Its mean over some seconds; NAN where it is nowhere known. */
static double mean_depth(const struct made_scene *made,
                         const double *depth,
                         double from_s,
                         double to_s)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < made->session.n_samples; i++) {
        const double at_s = made->session.time_s[i];
        if (at_s < from_s || at_s > to_s || isnan(depth[i]))
            continue;
        sum += depth[i];
        n++;
    }
    return n == 0 ? NAN : sum / (double)n;
}

/* The gas itself stands in for one whose lag was taken out. */
static void see_gas(const struct synthetic *made, struct made_scene *scene)
{
    made_scene(made, NAN, scene);
    for (size_t i = 0; i < made->n; i++)
        scene->session.gas_c[i] = made->gas_c[i];
}

/* Sets the gas from a time on, for so long. */
static void set_gas(struct synthetic *made, double at_s, double for_s, double c)
{
    for (size_t i = synthetic_at(made, at_s);
         i < synthetic_at(made, at_s + for_s); i++)
        made->gas_c[i] = c;
}

/* Up the longest straight of lap 5 and down its end. */
static void find_straight(const struct synthetic *made,
                          size_t *from,
                          size_t *to)
{
    *from = synthetic_at(made, made->lap_start_s[5]);
    assert_true(synthetic_next_longest(made, from, to));
}

static void test_gas_depth__level_under_load_and_after_lifts(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    size_t from;
    size_t to;
    find_straight(&made, &from, &to);
    const double end_s = made.time_s[to];
    set_gas(&made, made.lap_start_s[5] + 20.0, 1.0, 60.0);
    struct made_scene scene;
    see_gas(&made, &scene);
    double *depth = depth_of(&scene);
    assert_true(mean_depth(&scene, depth, end_s - 3.0, end_s - 1.0) < -0.9);
    check_near("after a lift",
               mean_depth(&scene, depth, end_s + 1.0, end_s + 2.0), 0.0, 0.25);
    assert_true(mean_depth(&scene, depth, made.lap_start_s[5] + 20.3,
                           made.lap_start_s[5] + 20.7) > 0.9);
    free(depth);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* Cuts on every straight do not make the level of the lifts their own. */
static void test_gas_depth__many_cuts_spoil_no_level(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t lap = 1; lap + 1 < made.n_laps; lap++) {
        for (double at_s = 5.0; at_s < options.lap_s - 5.0; at_s += 14.0)
            set_gas(&made, made.lap_start_s[lap] + at_s, 0.8, 60.0);
    }
    struct made_scene scene;
    see_gas(&made, &scene);
    double *depth = depth_of(&scene);
    const double cut_s = made.lap_start_s[4] + 5.0;
    assert_true(mean_depth(&scene, depth, cut_s + 0.3, cut_s + 0.5) > 0.9);
    free(depth);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* A throttle that stays a little open for most of the time without load is no
 * lift: the lifts are. */
static void test_gas_depth__rolling_half_open_hides_no_lift(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    bool was_loaded = false;
    double lifted_s = 0.0;
    for (size_t i = synthetic_at(&made, made.locked_s); i < made.n; i++) {
        if (was_loaded && made.load[i] < 0.5)
            lifted_s = made.time_s[i];
        was_loaded = made.load[i] > 0.5;
        if (!was_loaded && made.time_s[i] - lifted_s > 0.8)
            made.gas_c[i] = 540.0;
    }
    size_t from;
    size_t to;
    find_straight(&made, &from, &to);
    struct made_scene scene;
    see_gas(&made, &scene);
    double *depth = depth_of(&scene);
    const double end_s = made.time_s[to];
    assert_true(mean_depth(&scene, depth, end_s + 0.3, end_s + 0.6) < 0.5);
    free(depth);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* Three seconds of a lift in each twenty, at RPM that never fall.
 *
 * known_each  of so many samples the load of one is known. */
static void drive_by_load(struct made_scene *scene, size_t known_each)
{
    for (size_t i = 0; i < scene->session.n_samples; i++) {
        const bool lifts = fmod(scene->session.time_s[i], 20.0) < 3.0;
        scene->session.rpm[i] = 10000.0;
        scene->session.gas_c[i] = lifts ? 350.0 : 600.0;
        scene->load[i] = i % known_each == 0 ? (lifts ? 0.0 : 1.0) : NAN;
    }
}

/* What load is not known is no lift, and levels of too little are none. */
static void test_gas_depth__load_that_is_not_known(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        size_t known_each;
        double depth;
    } rows[] = {{"all", 1, -1.0}, {"half", 2, -1.0}, {"hardly any", 20, NAN}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        drive_by_load(&scene, rows[k].known_each);
        double *depth = depth_of(&scene);
        const double found = mean_depth(&scene, depth, 206.0, 216.0);
        if (isnan(rows[k].depth))
            check_true(rows[k].label, isnan(found));
        else
            check_near(rows[k].label, found, rows[k].depth, 0.05);
        free(depth);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

/* Lifts that hardly cool it tell nothing. */
static void test_gas_depth__unknown(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double least_c;
        size_t laps;
        bool known;
    } rows[] = {
        {"as it is", 0.0, 3, true},
        {"all as hot", 570.0, 3, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = rows[k].laps;
        struct synthetic made = synthetic_new(&options);
        for (size_t i = 0; i < made.n; i++)
            made.gas_c[i] = fmax(made.gas_c[i], rows[k].least_c);
        struct made_scene scene;
        see_gas(&made, &scene);
        double *depth = depth_of(&scene);
        const double at_s = made.lap_start_s[2];
        check_true(rows[k].label,
                   isnan(mean_depth(&scene, depth, at_s, at_s + 10.0)) !=
                       rows[k].known);
        free(depth);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gas_depth__level_under_load_and_after_lifts),
        cmocka_unit_test(test_gas_depth__many_cuts_spoil_no_level),
        cmocka_unit_test(test_gas_depth__rolling_half_open_hides_no_lift),
        cmocka_unit_test(test_gas_depth__load_that_is_not_known),
        cmocka_unit_test(test_gas_depth__unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
