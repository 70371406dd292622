/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/erratic_heat.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <stdlib.h>

/* How far pulls are from what is expected, and what is made of it.
 *
 * colder, hotter  one pull in so many, by colder_c and hotter_c, the others by
 *                 rest_c to either side, turn and turn about.
 * laps, lasts_s   how many pulls there are (four to a lap), and how long. */
struct wander {
    const char *label;
    size_t colder;
    size_t hotter;
    double colder_c;
    double hotter_c;
    double rest_c;
    size_t laps;
    double lasts_s;
    double heat_c;
};

/* An exhaust that wanders by itself is believed less; what
 * is cold or hot alone has a cause of its own. */
static const struct wander rows[] = {
    {"wanders", 6, 6, 30.0, 30.0, 14.0, 9, 2.0, 75.0},
    {"little", 6, 6, 18.0, 18.0, 14.0, 9, 2.0, -INFINITY},
    {"most are as expected", 6, 6, 30.0, 30.0, 7.0, 9, 2.0, -INFINITY},
    {"some are hot", 6, 6, 14.0, 90.0, 14.0, 9, 2.0, -INFINITY},
    {"some are cold", 6, 6, 60.0, 14.0, 14.0, 9, 2.0, -INFINITY},
    {"few pulls", 6, 6, 30.0, 30.0, 14.0, 2, 2.0, -INFINITY},
    {"short pulls", 6, 6, 30.0, 30.0, 14.0, 9, 1.0, -INFINITY},
};

static double excess_c(const struct wander *w, size_t pull)
{
    if (pull % w->colder == 0)
        return -w->colder_c;
    if (pull % w->hotter == 1)
        return w->hotter_c;
    return pull % 2 == 0 ? -w->rest_c : w->rest_c;
}

static double heat_of(const struct wander *w)
{
    struct synthetic_options options = synthetic_defaults();
    options.laps = w->laps;
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    for (size_t k = 0; k < scene.pulls.n; k++) {
        struct kw_span *span = &scene.pulls.items[k].span;
        const size_t n = (size_t)(w->lasts_s * options.rate_hz) + 1;
        if (span->from + n < span->to)
            span->to = span->from + n;
        for (size_t i = span->from; i < span->to; i++)
            scene.expected_c[i] = scene.session.gas_c[i] - excess_c(w, k);
    }
    double *scratch = calloc(scene.session.n_samples, sizeof *scratch);
    assert_non_null(scratch);
    const double heat_c = kw_erratic_heat(&scene.scene, scratch);
    free(scratch);
    made_scene_free(&scene);
    synthetic_free(&made);
    return heat_c;
}

static void test_erratic_heat__both_sides_have_to_wander(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        const double heat_c = heat_of(&rows[k]);
        if (isinf(rows[k].heat_c))
            check_true(rows[k].label, isinf(heat_c) && heat_c < 0.0);
        else
            check_near(rows[k].label, heat_c, rows[k].heat_c, 1.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_erratic_heat__both_sides_have_to_wander),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
