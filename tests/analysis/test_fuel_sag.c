/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_sag.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

/* What the second pull of some laps lacks.
 *
 * from_lap, to_lap  the first and the last of them.
 * depth_rpm, extra_c  how far RPM sinks in 2 s, and by how much the gas is
 *                   hotter meanwhile. */
struct lack {
    const char *label;
    size_t from_lap;
    size_t to_lap;
    double depth_rpm;
    double extra_c;
    bool told;
};

static void make(const struct lack *lack, struct synthetic *made)
{
    static const double LASTS_S = 2.0;
    for (size_t lap = lack->from_lap; lap <= lack->to_lap; lap++) {
        size_t i = synthetic_at(made, made->lap_start_s[lap] + 12.0);
        while (made->load[i] > 0.5)
            i++;
        while (made->load[i] < 0.5)
            i++;
        const double from_s = made->time_s[i] + 1.6;
        synthetic_starve(made, from_s, from_s + LASTS_S, lack->depth_rpm,
                         lack->extra_c);
    }
    synthetic_follow_gas(made);
}

/* All heat is as expected: what most laps have taught. */
static void expect_what_was(struct made_scene *scene)
{
    for (size_t i = 0; i < scene->session.n_samples; i++)
        scene->expected_c[i] = scene->session.gas_c[i];
}

static size_t count_told(const struct lack *lack)
{
    struct synthetic_options options = synthetic_defaults();
    options.laps = 12;
    struct synthetic made = synthetic_new(&options);
    make(lack, &made);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    expect_what_was(&scene);
    const size_t n = count_starved(kw_find_fuel_sags, &scene);
    made_scene_free(&scene);
    synthetic_free(&made);
    return n;
}

/* The faster laps show what most have taught to be usual. The same heat without
 * a loss is a lean engine, and two sags are no fault of the fuel yet. */
static void test_fuel_sag__slower_and_hotter_than_the_faster_laps(void **state)
{
    (void)state;
    static const struct lack rows[] = {
        {"slower and hotter", 5, 12, 1500.0, 120.0, true},
        {"hotter", 5, 12, 60.0, 120.0, false},
        {"two laps", 5, 6, 1500.0, 120.0, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        const double n = (double)count_told(&rows[k]);
        check_near(rows[k].label, n, rows[k].told ? 7.0 : 0.0,
                   rows[k].told ? 1.0 : 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fuel_sag__slower_and_hotter_than_the_faster_laps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
