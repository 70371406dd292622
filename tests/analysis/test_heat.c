/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat.h"

#include "analysis/heat_model.h"
#include "analysis/heat_shift.h"
#include "core/array.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <stdlib.h>

/* Mean of the gas above what was expected, over load from .. to. */
static double excess_c(const struct made_scene *scene, double from, double to)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < scene->session.n_samples; i++) {
        const double t = scene->session.time_s[i];
        const double d = scene->session.gas_c[i] - scene->expected_c[i];
        if (t < from || t >= to || isnan(d) || !(scene->load[i] > 0.5))
            continue;
        sum += d;
        n++;
    }
    return n > 0 ? sum / (double)n : NAN;
}

/* What was expected is the yardstick of every finding about the mixture. */
static void test_heat__healthy_session_is_as_expected(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    assert_false(scene.scene.changed);
    for (size_t lap = 1; lap <= options.laps; lap++)
        check_near(
            "excess of a lap",
            excess_c(&scene, made.lap_start_s[lap], made.lap_start_s[lap + 1]),
            0.0, 8.0);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* Laps on another mixture must not teach what is right: neither few in the
 * middle nor many to the end, lean or rich. */
static void test_heat__odd_laps_teach_nothing(void **state)
{
    (void)state;
    const struct {
        const char *label;
        size_t laps;
        size_t first;
        size_t last;
        double odd_c;
    } rows[] = {
        {"one lap", 8, 4, 4, 60.0},
        {"three of eight", 8, 3, 5, 60.0},
        {"the last five of eight", 8, 4, 9, 60.0},
        {"the first four of twelve lean", 12, 0, 4, 70.0},
        {"two of thirteen rich", 13, 4, 5, -60.0},
        {"the last six of thirteen rich", 13, 8, 14, -60.0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = rows[k].laps;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[rows[k].first];
        const double to_s = made.lap_start_s[rows[k].last + 1];
        synthetic_lean(&made, from_s, to_s, rows[k].odd_c);
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        /* Cold laps on a cold pipe are warm-up as far as anybody can tell. */
        const double odd_from_s = fmax(from_s, made.lap_start_s[2]);
        check_near(rows[k].label,
                   excess_c(&scene, odd_from_s + 2.0, to_s - 2.0),
                   rows[k].odd_c, 15.0);
        if (rows[k].first > 1)
            check_near(rows[k].label,
                       excess_c(&scene, made.lap_start_s[1], from_s - 2.0), 0.0,
                       12.0);
        if (rows[k].last < rows[k].laps)
            check_near(rows[k].label,
                       excess_c(&scene, to_s + 2.0,
                                made.lap_start_s[rows[k].laps + 1]),
                       0.0, 12.0);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

/* A step so large that no warm-up hides it needs less of the right mixture
 * before it; how large it is a fit that knows of no step does not show. */
static void test_heat__large_step_after_a_short_beginning(void **state)
{
    (void)state;
    static const double steps_c[] = {60.0, 90.0};
    for (size_t k = 0; k < sizeof steps_c / sizeof steps_c[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.lap_s = 34.0;
        options.laps = 9;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[5];
        const double to_s = made.lap_start_s[options.laps + 2];
        synthetic_lean(&made, from_s, to_s, steps_c[k]);
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        assert_true(scene.scene.changed);
        check_near("lean to the end",
                   excess_c(&scene, from_s + 2.0, to_s - 2.0), steps_c[k],
                   15.0);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

static void test_heat__unknown_region_is_not_guessed(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    const size_t from = synthetic_at(&made, made.lap_start_s[4] + 3.0);
    for (size_t i = from; i < from + 20; i++)
        made.rpm[i] = 1.25 * options.rpm_top;
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    size_t known = 0;
    for (size_t i = from + 4; i < from + 16; i++)
        known += scene.load[i] > 0.5 && !isnan(scene.expected_c[i]) ? 1 : 0;
    assert_int_equal(known, 0);
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* The scatter of a normal distribution, from its cool side, with a fifth of the
 * values far too hot. */
static void test_heat__scatter_is_that_of_the_cool_side(void **state)
{
    (void)state;
    enum { N = 20000 };
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    double *values = kw_array_new(N, sizeof *values, NULL);
    assert_non_null(values);
    for (size_t i = 0; i < N; i++)
        values[i] = 10.0 * (synthetic_normal(&made) + KW_HEAT_MIDDLE_ABOVE);
    check_near("plain", kw_heat_scatter_c(values, N, values), 10.0, 0.3);
    free(values);
    synthetic_free(&made);
}

/* No probe: nothing is expected, and nothing fails. */
static void test_heat__no_probe_expects_nothing(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_egt = false;
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    assert_null(scene.expected_c);
    assert_null(scene.spread_c);
    made_scene_free(&scene);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat__healthy_session_is_as_expected),
        cmocka_unit_test(test_heat__odd_laps_teach_nothing),
        cmocka_unit_test(test_heat__large_step_after_a_short_beginning),
        cmocka_unit_test(test_heat__unknown_region_is_not_guessed),
        cmocka_unit_test(test_heat__scatter_is_that_of_the_cool_side),
        cmocka_unit_test(test_heat__no_probe_expects_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
