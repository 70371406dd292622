/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/held_pull.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <stdlib.h>

static const double TOP_RPM = 14800.0;

static void find(const struct synthetic *made, struct kw_held_pulls *held)
{
    struct made_scene scene;
    made_scene(made, NAN, &scene);
    assert_int_equal(kw_find_held_pulls(&scene.scene, TOP_RPM, held, NULL),
                     KW_OK);
    made_scene_free(&scene);
}

/* From the moment its first pull after a time passes at_rpm the engine stays
 * there until the lift.
 *
 * returns  that moment. */
static double hold_pull(struct synthetic *made,
                        double after_s,
                        double at_rpm,
                        double extra_c)
{
    size_t i = synthetic_at(made, after_s);
    while (made->load[i] > 0.5)
        i++;
    while (made->load[i] < 0.5 || made->rpm[i] < at_rpm)
        i++;
    const double from_s = made->time_s[i];
    for (; made->load[i] > 0.5 || made->rpm[i] > at_rpm; i++) {
        made->rpm[i] = at_rpm;
        made->gas_c[i] += extra_c * made->load[i];
    }
    synthetic_follow_gas(made);
    return from_s;
}

/* The start of a sag is what the driver compares with the video. */
static void test_held_pull__end_of_the_rise_is_found_to_a_quarter(void **state)
{
    (void)state;
    static const double rates_hz[] = {5, 10, 20, 50, 100};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = rates_hz[k];
        struct synthetic made = synthetic_new(&options);
        const double from_s =
            hold_pull(&made, made.lap_start_s[4] - 3.0, 11500.0, 60.0);
        struct kw_held_pulls held;
        find(&made, &held);
        double nearest_s = INFINITY;
        size_t at = 0;
        for (size_t i = 0; i < held.n; i++) {
            const double off_s = made.time_s[held.items[i].span.from] - from_s;
            if (fabs(off_s) < fabs(nearest_s)) {
                nearest_s = off_s;
                at = i;
            }
        }
        check_near("start", nearest_s, 0.0, 0.25);
        check_near("rpm", held.items[at].rpm, 11500.0, 300.0);
        check_true("gain before", held.items[at].before_rpm_s > 600.0);
        check_near("gain after", held.items[at].after_rpm_s, 0.0, 150.0);
        check_true("warms", held.items[at].warming_c > 25.0);
        free(held.items);
        synthetic_free(&made);
    }
}

/* Nothing to look at is no error. */
static void test_held_pull__no_pulls_give_none(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    struct kw_scene bare = scene.scene;
    const struct kw_pulls no_pulls = {0};
    bare.pulls = &no_pulls;
    struct kw_held_pulls held;
    assert_int_equal(kw_find_held_pulls(&bare, TOP_RPM, &held, NULL), KW_OK);
    assert_int_equal(held.n, 0);
    made_scene_free(&scene);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_held_pull__end_of_the_rise_is_found_to_a_quarter),
        cmocka_unit_test(test_held_pull__no_pulls_give_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
