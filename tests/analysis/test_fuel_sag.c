/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_sag.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* What some laps lack.
 *
 * from_lap, to_lap  the first and the last of them.
 * pulls             in so many pulls of each, from its second on.
 * depth_rpm, extra_c  how far RPM sinks in 2 s, and by how much the gas is
 *                   hotter meanwhile.
 * wander_c          every pull is hotter or colder than expected by this.
 * alike             the best laps rise there no more than these. */
struct lack {
    const char *label;
    size_t from_lap;
    size_t to_lap;
    size_t pulls;
    double depth_rpm;
    double extra_c;
    double wander_c;
    bool alike;
    double told_least;
    double told_most;
};

/* The first sample from i on at which the engine pulls, or does not. */
static size_t until_load(const struct synthetic *made, size_t i, bool pulls)
{
    while ((made->load[i] > 0.5) != pulls)
        i++;
    return i;
}

static void make(const struct lack *lack, struct synthetic *made)
{
    static const double LASTS_S = 2.0;
    for (size_t lap = lack->from_lap; lap <= lack->to_lap; lap++) {
        size_t i = synthetic_at(made, made->lap_start_s[lap] + 12.0);
        for (size_t k = 0; k < lack->pulls; k++) {
            i = until_load(made, until_load(made, i, false), true);
            const double from_s = made->time_s[i] + 1.6;
            synthetic_starve(made, from_s, from_s + LASTS_S, lack->depth_rpm,
                             lack->extra_c);
        }
    }
    synthetic_follow_gas(made);
}

/* All heat is as expected: what most laps have taught. But for a wander, now up
 * and now down. */
static void expect_what_was(struct made_scene *scene, double wander_c)
{
    for (size_t i = 0; i < scene->session.n_samples; i++)
        scene->expected_c[i] = scene->session.gas_c[i];
    for (size_t k = 0; k < scene->pulls.n; k++) {
        const struct kw_span *span = &scene->pulls.items[k].span;
        for (size_t i = span->from; i < span->to; i++)
            scene->expected_c[i] += k % 2 == 0 ? wander_c : -wander_c;
    }
}

/* The best laps are faster by so much, and rise as this one does. */
static enum kw_status find_beside_its_like(const struct kw_scene *scene,
                                           const struct kw_rate_limits *limits,
                                           const double *best_rpm,
                                           struct kw_fuel_sags *out,
                                           struct kw_error *error)
{
    static const double FASTER_RPM = 500.0;
    const size_t n = scene->session->n_samples;
    double *alike_rpm = malloc(n * sizeof *alike_rpm);
    assert_non_null(alike_rpm);
    for (size_t i = 0; i < n; i++)
        alike_rpm[i] =
            isnan(best_rpm[i]) ? NAN : scene->session->rpm[i] + FASTER_RPM;
    const enum kw_status status =
        kw_find_fuel_sags(scene, limits, alike_rpm, out, error);
    free(alike_rpm);
    return status;
}

static size_t count_told(const struct lack *lack)
{
    struct synthetic_options options = synthetic_defaults();
    options.laps = 12;
    struct synthetic made = synthetic_new(&options);
    make(lack, &made);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    expect_what_was(&scene, lack->wander_c);
    const size_t n = count_starved(
        lack->alike ? find_beside_its_like : kw_find_fuel_sags, &scene);
    made_scene_free(&scene);
    synthetic_free(&made);
    return n;
}

/* The faster laps show what most have taught to be usual. The same heat without
 * a loss is a lean engine, and what does not come back in a third lap is no
 * fault of the fuel yet. */
static void test_fuel_sag__slower_and_hotter_than_the_faster_laps(void **state)
{
    (void)state;
    static const struct lack rows[] = {
        {"slower and hotter", 5, 12, 1, 900.0, 120.0, 0.0, false, 7.0, 8.0},
        {"hotter", 5, 12, 1, 60.0, 120.0, 0.0, false, 0.0, 0.0},
        {"a little slower, and hotter", 5, 12, 1, 600.0, 120.0, 0.0, false, 0.0,
         0.0},
        {"slower", 5, 12, 1, 900.0, 0.0, 0.0, false, 0.0, 0.0},
        {"three laps", 5, 7, 1, 1500.0, 120.0, 0.0, false, 3.0, 3.0},
        {"two laps", 5, 6, 1, 1500.0, 120.0, 0.0, false, 0.0, 0.0},
        {"a probe that wanders a little", 5, 12, 1, 900.0, 120.0, 8.0, false,
         7.0, 8.0},
        {"a probe that wanders", 5, 12, 1, 900.0, 120.0, 60.0, false, 0.0, 0.0},
        {"the best gain no more", 5, 12, 1, 900.0, 120.0, 0.0, true, 0.0, 0.0},
        {"one lap, three times", 6, 6, 3, 1500.0, 120.0, 0.0, false, 0.0, 0.0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        const double n = (double)count_told(&rows[k]);
        check_true(rows[k].label,
                   n >= rows[k].told_least && n <= rows[k].told_most);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fuel_sag__slower_and_hotter_than_the_faster_laps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
