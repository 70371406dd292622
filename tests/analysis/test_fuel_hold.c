/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_hold.h"

#include "analysis/detectors.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* How each pull from a lap on is held.
 *
 * at_rpm, scatter_rpm  where; every other pull lower by the scatter.
 * climb_c_s, most_c    how fast the gas climbs from there, and how far.
 * creep_rpm_s          how fast every third pull goes on rising; or, where
 * to_rpm is given, each long one: for_last_s, to_rpm   for so long before the
 * lift, and how far. */
struct hold {
    size_t from_lap;
    double at_rpm;
    double scatter_rpm;
    double climb_c_s;
    double most_c;
    double creep_rpm_s;
    double for_last_s;
    double to_rpm;
};

static double until_lift_s(const struct synthetic *made, size_t i)
{
    size_t to = i;
    while (to + 1 < made->n && made->load[to] > 0.5)
        to++;
    return made->time_s[to] - made->time_s[i];
}

/* A long pull. */
static const double LONG_S = 8.0;

/* RPM of a long pull that is let go again; braking from there takes no longer
 * than it did. */
static double let_go_rpm(const struct hold *hold,
                         double held_rpm,
                         double lift_s,
                         double braked_s,
                         double was_rpm)
{
    static const double BRAKES_RPM_S = 4000.0;
    const double again_s = fmax(hold->for_last_s - lift_s, 0.0);
    const double rpm =
        fmin(held_rpm + hold->creep_rpm_s * again_s, hold->to_rpm);
    return braked_s > 0.0 ? fmin(was_rpm, rpm - BRAKES_RPM_S * braked_s) : rpm;
}

/* returns  how many pulls were held for a second and more. */
static size_t hold_pulls(struct synthetic *made, const struct hold *hold)
{
    size_t n_held = 0;
    size_t n_pulls = 0;
    double since_s = NAN;
    double pulled_s = 0.0;
    bool is_long = false;
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
        if (isnan(since_s)) {
            since_s = made->time_s[i];
            is_long = until_lift_s(made, i) > LONG_S;
        }
        if (made->load[i] > 0.5)
            pulled_s = made->time_s[i];
        const double for_s = made->time_s[i] - since_s;
        if (hold->to_rpm > 0.0 && is_long)
            made->rpm[i] = let_go_rpm(hold, rpm, until_lift_s(made, i),
                                      made->time_s[i] - pulled_s, made->rpm[i]);
        else if (hold->to_rpm > 0.0 || n_pulls % 3 < 2)
            made->rpm[i] = fmin(made->rpm[i], rpm);
        else
            made->rpm[i] = fmin(made->rpm[i], rpm + hold->creep_rpm_s * for_s);
        if (made->load[i] < 0.5)
            continue;
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
    const struct hold hold = {2, 11000.0, 300.0, 60.0, 90.0, 0.0, 0.0, 0.0};
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
    const struct hold hold = {2, 11000.0, 300.0, 60.0, 90.0, 250.0, 0.0, 0.0};
    size_t n_held = 0;
    const size_t n = count(&hold, &n_held);
    check_true("held", n_held >= 15);
    check_true("nearly all are told", (double)n >= 0.8 * (double)n_held);
}

/* What one in three pulls does while the others starve. */
struct third_case {
    const char *label;
    struct hold hold;
};

static const struct third_case let_go[] = {
    {"gains again before the lift",
     {2, 11000.0, 300.0, 60.0, 90.0, 1000.0, 1.4, 14600.0}},
    {"gains again, to the top end",
     {0, 11600.0, 300.0, 60.0, 90.0, 700.0, 3.6, 13400.0}},
};

/* A bend and a foot hold the engine for a while, or cool it: among pulls that
 * starve they are none. */
static void test_fuel_hold__pull_that_was_let_go_is_none(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof let_go / sizeof let_go[0]; k++) {
        size_t n_held = 0;
        const size_t n = count(&let_go[k].hold, &n_held);
        check_true(let_go[k].label, n_held >= 15);
        check_true(let_go[k].label, 4 * n <= 3 * n_held);
    }
}

/* Near the top speed of a straight, with the wind against it, so little of the
 * gain is left that its end is no end. */
static void test_fuel_hold__what_drag_holds_is_no_hunger(void **state)
{
    (void)state;
    const struct hold hold = {2, 13500.0, 0.0, -12.0, -9.0, 0.0, 0.0, 0.0};
    size_t n_held = 0;
    const size_t n = count(&hold, &n_held);
    check_true("held", n_held >= 8);
    check_near("none is told", (double)n, 0.0, 0.0);
}

/* How the pulls of the longest straight end: from where they are held they sink
 * by so much each second, and the gas by so much; the other pulls are held
 * lower down and warm, or not at all. */
struct sinking {
    bool others_held;
    double sink_rpm_s;
    double cool_c_s;
};

/* Only the longest straight reaches the first; the engine is held at the
 * others. */
static const double LONGEST_RPM = 14000.0;
static const double TOP_AT_RPM = 13450.0;
static const double OTHERS_AT_RPM = 11000.0;
static const double OTHERS_WARM_C_S = 60.0;
static const double OTHERS_WARM_C = 90.0;

/* One pull and the lift behind it, which brakes from where the pull ended. */
static void starve_pull(struct synthetic *made,
                        const struct sinking *sinking,
                        size_t from,
                        size_t to)
{
    const bool top = synthetic_highest_rpm(made, from, to) > LONGEST_RPM;
    const double at_rpm = top ? TOP_AT_RPM : OTHERS_AT_RPM;
    double most_rpm = at_rpm;
    size_t i = from;
    if (!top && !sinking->others_held)
        return;
    while (i < to && made->rpm[i] < at_rpm)
        i++;
    const double since_s = made->time_s[i];
    for (; i < made->n && (i < to || made->rpm[i] > most_rpm); i++) {
        const double for_s = made->time_s[i] - since_s;
        if (i < to) {
            most_rpm = at_rpm - (top ? sinking->sink_rpm_s * for_s : 0.0);
            made->gas_c[i] +=
                top ? -sinking->cool_c_s * for_s
                    : fmin(OTHERS_WARM_C_S * for_s, OTHERS_WARM_C);
        }
        made->rpm[i] = fmin(made->rpm[i], most_rpm);
    }
}

/* On every lap, so that the top end is where they sink from.
 *
 * n_top    pulls of flying laps that sink from there.
 * returns  how many of them are told. */
static size_t count_sunk(const struct sinking *sinking, size_t *n_top)
{
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    double top_s[32];
    *n_top = 0;
    for (size_t i = 0; i < made.n; i++) {
        size_t to = i;
        while (to < made.n && made.load[to] > 0.5)
            to++;
        if (synthetic_highest_rpm(&made, i, to) > LONGEST_RPM && *n_top < 32 &&
            made.time_s[i] > made.lap_start_s[1])
            top_s[(*n_top)++] = made.time_s[to - 1];
        if (to > i)
            starve_pull(&made, sinking, i, to);
        i = to;
    }
    synthetic_follow_gas(&made);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const struct kw_events none = {0};
    struct kw_fuel_sags sags = {0};
    assert_int_equal(kw_find_fuel_holds(&scene.scene, &none, &sags, NULL),
                     KW_OK);
    size_t told = 0;
    for (size_t k = 0; k < sags.n; k++) {
        const struct kw_span *span = &sags.items[k].span;
        for (size_t t = 0; t < *n_top; t++)
            told += made.time_s[span->from] < top_s[t] &&
                            made.time_s[span->to - 1] > top_s[t] - 0.5
                        ? 1
                        : 0;
    }
    free(sags.items);
    made_scene_free(&scene);
    synthetic_free(&made);
    return told;
}

/* With hardly any fuel the longest pull cannot even hold its top end; less gas
 * goes through, and so it warms no further. Where the other pulls starve, that
 * is told as well. */
static void test_fuel_hold__pull_that_sinks_from_its_top_is_seen(void **state)
{
    (void)state;
    const struct sinking sinking = {true, 250.0, 3.0};
    size_t n_top = 0;
    const size_t told = count_sunk(&sinking, &n_top);
    check_true("top ends", n_top >= 6);
    check_true("nearly all are told", told + 1 >= n_top);
}

struct sinking_case {
    const char *label;
    struct sinking sinking;
};

/* Wind and a hill take RPM as well, a limiter keeps it where it is, and after a
 * lift the gas falls far. */
static const struct sinking_case not_hungry[] = {
    {"no other pull starves", {false, 250.0, 3.0}},
    {"held at the top by a limiter", {true, 0.0, 0.0}},
    {"sinks as the gas falls away", {true, 250.0, 60.0}},
};

static void test_fuel_hold__top_end_alone_proves_nothing(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof not_hungry / sizeof not_hungry[0]; k++) {
        size_t n_top = 0;
        const size_t told = count_sunk(&not_hungry[k].sinking, &n_top);
        check_true(not_hungry[k].label, n_top >= 6);
        check_near(not_hungry[k].label, (double)told, 0.0, 0.0);
    }
}

/* One pull of a session ends at once, hotter than expected from then on.
 *
 * cools_c   how far its gas falls just then, and what is expected by more.
 * wander_c  the other pulls are hotter and colder by so much. */
struct one_hold {
    const char *label;
    double cools_c;
    double wander_c;
    double told;
};

static const double ONE_AT_RPM = 11000.0;
static const double ONE_EXCESS_C = 60.0;

/* The pull, its gas and what is expected of it. */
static void end_one(const struct one_hold *one,
                    const struct kw_span *span,
                    struct made_scene *scene)
{
    static const double AS_HOT_C = 100.0;
    struct kw_session *session = &scene->session;
    double end_c = NAN;
    for (size_t i = span->from; i < span->to; i++) {
        session->gas_c[i] += AS_HOT_C;
        scene->expected_c[i] = session->gas_c[i];
        if (session->rpm[i] <= ONE_AT_RPM && isnan(end_c))
            continue;
        end_c = isnan(end_c) ? session->gas_c[i] : end_c;
        session->rpm[i] = ONE_AT_RPM;
        session->gas_c[i] = end_c - one->cools_c;
        scene->expected_c[i] = session->gas_c[i] - ONE_EXCESS_C;
    }
}

static size_t count_one(const struct one_hold *one)
{
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const double lap_s = made.lap_start_s[5];
    bool ended = false;
    for (size_t k = 0; k < scene.pulls.n; k++) {
        const struct kw_span *span = &scene.pulls.items[k].span;
        for (size_t i = span->from; i < span->to; i++)
            scene.expected_c[i] = scene.session.gas_c[i] +
                                  (k % 2 == 0 ? one->wander_c : -one->wander_c);
        if (!ended && made.time_s[span->from] > lap_s &&
            made.time_s[span->to - 1] - made.time_s[span->from] > LONG_S) {
            end_one(one, span, &scene);
            ended = true;
        }
    }
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

/* The exhaust alone can prove it, but not one that cools as RPM stops, nor one
 * that is as far from what is expected in any pull. */
static void test_fuel_hold__one_pull_is_proved_by_its_exhaust(void **state)
{
    (void)state;
    static const struct one_hold rows[] = {
        {"hot from then on", 0.0, 0.0, 1.0},
        {"cools a little", 5.0, 0.0, 1.0},
        {"cools", 40.0, 0.0, 0.0},
        {"all wander a little", 0.0, 15.0, 1.0},
        {"all wander", 0.0, 30.0, 0.0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_near(rows[k].label, (double)count_one(&rows[k]), rows[k].told,
                   0.0);
}

struct harmless_case {
    const char *label;
    struct hold hold;
};

/* What else ends a rise at once: no filter to change. */
static const struct harmless_case harmless[] = {
    {"limiter", {0, 13000.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0}},
    {"limiter with a warm pipe", {0, 13000.0, 0.0, 10.0, 15.0, 0.0, 0.0, 0.0}},
    {"half throttle behind another",
     {2, 11000.0, 300.0, -80.0, -60.0, 0.0, 0.0, 0.0}},
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
        cmocka_unit_test(test_fuel_hold__what_drag_holds_is_no_hunger),
        cmocka_unit_test(test_fuel_hold__pull_that_creeps_among_them_is_seen),
        cmocka_unit_test(test_fuel_hold__pull_that_was_let_go_is_none),
        cmocka_unit_test(test_fuel_hold__pull_that_sinks_from_its_top_is_seen),
        cmocka_unit_test(test_fuel_hold__top_end_alone_proves_nothing),
        cmocka_unit_test(test_fuel_hold__one_pull_is_proved_by_its_exhaust),
        cmocka_unit_test(test_fuel_hold__limiter_and_foot_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
