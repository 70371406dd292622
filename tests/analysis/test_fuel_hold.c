/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_hold.h"

#include "analysis/detectors.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <stdlib.h>
#include <string.h>

/* How each pull from a lap on is held.
 *
 * at_rpm, scatter_rpm  where; every other pull lower by the scatter.
 * climb_c_s, most_c    how fast the gas climbs from there, and how far.
 * creep_rpm_s          how fast every third pull goes on rising. */
struct hold {
    size_t from_lap;
    double at_rpm;
    double scatter_rpm;
    double climb_c_s;
    double most_c;
    double creep_rpm_s;
};

/* returns  how many pulls were held for a second and more. */
static size_t hold_pulls(struct synthetic *made, const struct hold *hold)
{
    size_t n_held = 0;
    size_t n_pulls = 0;
    double since_s = NAN;
    for (size_t i = 0; i < made->n; i++) {
        const double rpm =
            hold->at_rpm - (n_pulls % 2 == 0 ? 0.0 : hold->scatter_rpm);
        /* It brakes from where it was held. */
        const bool over = made->rpm[i] > rpm &&
                          made->time_s[i] >= made->lap_start_s[hold->from_lap];
        if (!over && !isnan(since_s)) {
            n_pulls++;
            since_s = NAN;
        }
        if (!over)
            continue;
        if (isnan(since_s))
            since_s = made->time_s[i];
        const double creep_rpm_s = n_pulls % 3 == 2 ? hold->creep_rpm_s : 0.0;
        made->rpm[i] =
            fmin(made->rpm[i], rpm + creep_rpm_s * (made->time_s[i] - since_s));
        if (made->load[i] < 0.5)
            continue;
        const double for_s = made->time_s[i] - since_s;
        n_held += for_s >= 1.0 && made->load[i + 1] < 0.5;
        made->gas_c[i] += hold->most_c > 0.0
                              ? fmin(hold->climb_c_s * for_s, hold->most_c)
                              : fmax(hold->climb_c_s * for_s, hold->most_c);
    }
    synthetic_follow_gas(made);
    return n_held;
}

static size_t count(const struct hold *hold, size_t *n_held)
{
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    *n_held = hold_pulls(&made, hold);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const struct kw_events none = {0};
    struct kw_fuel_sags sags = {0};
    assert_int_equal(kw_find_fuel_holds(&scene.scene, &none, &sags, NULL),
                     KW_OK);
    const size_t n = sags.n;
    free(sags.items);
    made_scene_free(&scene);
    synthetic_free(&made);
    return n;
}

/* A filter that is clogged all day shows no good pull to compare with. */
static void test_fuel_hold__session_that_starves_throughout_is_seen(
    void **state)
{
    (void)state;
    const struct hold hold = {2, 11000.0, 300.0, 60.0, 90.0, 0.0};
    size_t n_held = 0;
    const size_t n = count(&hold, &n_held);
    check_true("held", n_held >= 15);
    check_true("nearly all are told", (double)n >= 0.8 * (double)n_held);
    check_true("and no more", n <= n_held + 1);
}

/* Where most pulls stand, one in which a little fuel still comes is told too.
 */
static void test_fuel_hold__pull_that_creeps_among_them_is_seen(void **state)
{
    (void)state;
    const struct hold hold = {2, 11000.0, 300.0, 60.0, 90.0, 250.0};
    size_t n_held = 0;
    const size_t n = count(&hold, &n_held);
    check_true("held", n_held >= 15);
    check_true("nearly all are told", (double)n >= 0.8 * (double)n_held);
}

/* No heat is claimed over other pulls where these starve too. */
static void test_fuel_hold__evidence_claims_no_heat_that_all_have(void **state)
{
    (void)state;
    const struct hold hold = {2, 11000.0, 300.0, 60.0, 90.0, 0.0};
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    hold_pulls(&made, &hold);
    struct kw_events found;
    detect(kw_find_dropouts, &made, NAN, &found);
    size_t without = 0;
    for (size_t i = 0; i < found.n; i++) {
        const char *evidence = found.items[i].evidence;
        const bool claimed = strstr(evidence, "hotter than in") != NULL;
        const bool cool = strstr(evidence, "did not cool as after a") != NULL;
        check_true(evidence, claimed != cool);
        without += cool;
    }
    check_true("some with no heat of their own", without > 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

struct harmless_case {
    const char *label;
    struct hold hold;
};

/* What else ends a rise at once: no filter to change. */
static const struct harmless_case harmless[] = {
    {"limiter", {0, 13000.0, 0.0, 0.0, 0.0, 0.0}},
    {"limiter with a warm pipe", {0, 13000.0, 0.0, 10.0, 15.0, 0.0}},
    {"half throttle behind another", {2, 11000.0, 300.0, -80.0, -60.0, 0.0}},
};

static void test_fuel_hold__limiter_and_foot_are_none(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof harmless / sizeof harmless[0]; k++) {
        size_t n_held = 0;
        const size_t n = count(&harmless[k].hold, &n_held);
        check_true(harmless[k].label, n_held >= 10);
        check_near(harmless[k].label, (double)n, 0.0, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_fuel_hold__session_that_starves_throughout_is_seen),
        cmocka_unit_test(test_fuel_hold__pull_that_creeps_among_them_is_seen),
        cmocka_unit_test(test_fuel_hold__evidence_claims_no_heat_that_all_have),
        cmocka_unit_test(test_fuel_hold__limiter_and_foot_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
