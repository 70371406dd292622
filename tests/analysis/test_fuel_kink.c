/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/fuel_kink.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

/* How the longest straights end.
 *
 * from_lap    the first of them; to_lap the last.
 * from_rpm    from where on.
 * sinks_rpm_s, climbs_c_s  how fast RPM sinks from there, and by how much the
 *             gas climbs faster; climbs_for_s  for so long, 0 to the end.
 * dips_rpm    in the second before it RPM dips by so much and comes back, and
 *             the gas with it. */
struct turn {
    const char *label;
    size_t from_lap;
    size_t to_lap;
    double from_rpm;
    double sinks_rpm_s;
    double climbs_c_s;
    double climbs_for_s;
    double dips_rpm;
    bool told;
};

/* A foot that lifts for a moment in the second before a sample. */
static void dip(struct synthetic *made, size_t at, double dips_rpm)
{
    static const double C_EACH_RPM = 0.03;
    const double at_s = made->time_s[at];
    for (size_t i = at; i-- > 0 && at_s - made->time_s[i] < 1.0;) {
        const double part = 1.0 - fabs(at_s - made->time_s[i] - 0.5) / 0.5;
        made->rpm[i] -= dips_rpm * part;
        made->gas_c[i] -= C_EACH_RPM * dips_rpm;
    }
}

static void turn_pull(struct synthetic *made,
                      const struct turn *turn,
                      size_t from,
                      size_t to)
{
    size_t i = from;
    while (i < to && made->rpm[i] < turn->from_rpm)
        i++;
    dip(made, i, turn->dips_rpm);
    const double since_s = made->time_s[i];
    const double for_s =
        turn->climbs_for_s > 0.0 ? turn->climbs_for_s : INFINITY;
    for (size_t k = i; k < to; k++)
        made->gas_c[k] +=
            turn->climbs_c_s * fmin(made->time_s[k] - since_s, for_s);
    synthetic_sink(made, i, to, turn->from_rpm, turn->sinks_rpm_s);
}

static size_t turn_all(struct synthetic *made, const struct turn *turn)
{
    size_t n = 0;
    size_t to = 0;
    for (size_t from = 0; synthetic_next_longest(made, &from, &to); from = to) {
        if (made->time_s[from] > made->lap_start_s[turn->from_lap] &&
            made->time_s[from] < made->lap_start_s[turn->to_lap + 1]) {
            turn_pull(made, turn, from, to);
            n++;
        }
    }
    synthetic_follow_gas(made);
    return n;
}

static size_t count_told(const struct turn *turn, size_t *n_turned)
{
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    *n_turned = turn_all(&made, turn);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    const size_t n = count_starved(kw_find_fuel_kinks, &scene);
    made_scene_free(&scene);
    synthetic_free(&made);
    return n;
}

/* Every lap may have it: the pull itself shows it. A bend lets the gas go on as
 * it was, a jet that is lean at the top end lets RPM rise. A limiter of which
 * the gas climbs is hunger only where the best laps go on rising. */
static const struct turn cases[] = {
    {"starves", 0, 9, 13500.0, 120.0, 40.0, 0.0, 0.0, true},
    {"a bend that scrubs", 0, 9, 13500.0, 120.0, 0.0, 0.0, 0.0, false},
    {"a little hotter", 0, 9, 13500.0, 120.0, 8.0, 0.0, 0.0, false},
    {"hotter in the end", 0, 9, 14700.0, 400.0, 40.0, 0.0, 0.0, false},
    {"a lean main jet", 0, 9, 13500.0, -400.0, 40.0, 0.0, 0.0, false},
    {"lean, and a little flat", 3, 9, 13500.0, -150.0, 40.0, 0.0, 0.0, false},
    {"rises, far behind the first laps", 5, 9, 12500.0, -180.0, 40.0, 0.0, 0.0,
     true},
    {"held, each lap", 0, 9, 13500.0, 0.0, 40.0, 0.0, 0.0, false},
    {"held, where the first laps rise", 3, 9, 13500.0, 0.0, 40.0, 0.0, 0.0,
     true},
    {"after a lift", 0, 9, 13500.0, 120.0, 40.0, 0.0, 900.0, false},
    {"low", 0, 9, 8500.0, 40.0, 40.0, 0.0, 0.0, false},
    {"hotter by a little at the end", 0, 9, 14500.0, 400.0, 15.0, 0.0, 0.0,
     false},
    {"hardly sinks", 0, 9, 13500.0, 15.0, 10.0, 0.0, 0.0, false},
    {"sinks a little, far hotter", 0, 9, 13500.0, 20.0, 60.0, 0.0, 0.0, true},
    {"sinks a little, hotter", 0, 9, 13500.0, 20.0, 10.0, 0.0, 0.0, false},
    {"sinks far, a little hotter", 0, 9, 13500.0, 250.0, 20.0, 1.0, 0.0, true},
    {"sinks, a little hotter", 0, 9, 13500.0, 50.0, 20.0, 1.0, 0.0, false},
    {"sinks far, hardly hotter", 0, 9, 13500.0, 250.0, 13.0, 1.0, 0.0, false},
    {"two laps", 4, 5, 13500.0, 120.0, 40.0, 0.0, 0.0, false},
    {"three laps", 4, 6, 13500.0, 120.0, 40.0, 0.0, 0.0, true},
};

static void test_fuel_kink__gas_turns_up_as_rpm_turns_over(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        size_t n_turned = 0;
        const size_t n = count_told(&cases[k], &n_turned);
        check_true(cases[k].label, n_turned >= 2);
        check_near(cases[k].label, (double)n,
                   cases[k].told ? (double)n_turned : 0.0, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fuel_kink__gas_turns_up_as_rpm_turns_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
