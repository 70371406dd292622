/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sim_exhaust.h"
#include "support/check.h"

static const struct sim_exhaust EXHAUST = {.ambient_c = 20.0,
                                           .full_c = 620.0,
                                           .speed_share = 0.2,
                                           .load_share = 0.4,
                                           .lean_c_percent = 10.0,
                                           .peak_percent = 20.0,
                                           .pipe_share = 0.2,
                                           .boss_share = 0.05,
                                           .pipe_s = 20.0,
                                           .boss_s = 40.0,
                                           .probe_s = 1.5,
                                           .probe_flow = 0.4};

/* A first-order probe has 63.2 % of a step after one time constant, 86.5 %
 * after two, 95.0 % after three and 99.3 % after five (63.2 and 99.3 % stand on
 * sensor makers' reference pages). */
static void test_sim_exhaust__probe_answers_a_step_as_published(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        int taus;
        double share;
    } cases[] = {{"1 tau", 1, 0.632120558828558},
                 {"2 tau", 2, 0.864664716763387},
                 {"3 tau", 3, 0.950212931632136},
                 {"5 tau", 5, 0.993262053000915}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double probe_c = 0.0;
        for (int k = 0; k < 500 * cases[i].taus; k++)
            probe_c = sim_probe_step(probe_c, 1.0, 1.5, 1.5 / 500.0);
        check_near(cases[i].label, probe_c, cases[i].share, 1e-9);
    }
}

/* More gas, quicker probe: the lag on the straight is the shortest. */
static void test_sim_exhaust__lag_is_shortest_at_full_flow(void **state)
{
    (void)state;
    check_near("full", sim_probe_lag_s(&EXHAUST, 1.0), 1.5, 1e-12);
    check_true("idle", sim_probe_lag_s(&EXHAUST, 0.05) > 3.0);
    check_true("not for ever", sim_probe_lag_s(&EXHAUST, 1e-6) < 7.0);
}

/* About 10 C for each percent of fuel (common practice, no source), hotter up
 * to a peak, then cooler again. */
static void test_sim_exhaust__lean_is_hotter_up_to_a_peak(void **state)
{
    (void)state;
    const double slope_c = sim_lean_heat_c(&EXHAUST, 0.5) * 2.0;
    check_near("slope", slope_c, 10.0, 0.2);
    check_true("6 % is hot", sim_lean_heat_c(&EXHAUST, 6.0) > 40.0);
    check_true("past the peak", sim_lean_heat_c(&EXHAUST, 30.0) <
                                    sim_lean_heat_c(&EXHAUST, 20.0));
    check_true("rich is cool", sim_lean_heat_c(&EXHAUST, -6.0) < -50.0);
}

static double held_c(const struct sim_gas *gas,
                     double for_s,
                     struct sim_heat *heat)
{
    for (double s = 0.0; s < for_s; s += 0.01)
        sim_heat_step(heat, &EXHAUST, gas, 0.01);
    return heat->probe_c;
}

/* The first laps read low: the pipe needs a minute or two. */
static void test_sim_exhaust__pipe_warms_up_over_a_minute(void **state)
{
    (void)state;
    const struct sim_gas pull = {1.0, 1.0, 0.0, 20.0, true};
    struct sim_heat heat = sim_heat_at(20.0);
    const double after_10_s = held_c(&pull, 10.0, &heat);
    const double after_2_min = held_c(&pull, 110.0, &heat);
    const double after_4_min = held_c(&pull, 120.0, &heat);
    check_true("reads low at first", after_10_s < after_2_min - 15.0);
    check_near("then holds", after_4_min, after_2_min, 6.0);
    check_true("never above the gas", after_4_min < sim_gas_c(&EXHAUST, &pull));
}

/* On the throttle EGT climbs with RPM, off the throttle it drops. */
static void test_sim_exhaust__reads_low_without_load_or_speed(void **state)
{
    (void)state;
    const struct sim_gas full = {1.0, 1.0, 0.0, 20.0, true};
    const struct sim_gas slow = {0.5, 1.0, 0.0, 20.0, true};
    const struct sim_gas lift = {1.0, 0.0, 0.0, 20.0, true};
    const struct sim_gas off = {0.0, 0.0, 0.0, 0.0, false};
    check_true("slow", sim_gas_c(&EXHAUST, &slow) < sim_gas_c(&EXHAUST, &full));
    check_true("lift",
               sim_gas_c(&EXHAUST, &lift) < sim_gas_c(&EXHAUST, &full) - 100.0);
    check_near("off", sim_gas_c(&EXHAUST, &off), 20.0, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_exhaust__probe_answers_a_step_as_published),
        cmocka_unit_test(test_sim_exhaust__lag_is_shortest_at_full_flow),
        cmocka_unit_test(test_sim_exhaust__lean_is_hotter_up_to_a_peak),
        cmocka_unit_test(test_sim_exhaust__pipe_warms_up_over_a_minute),
        cmocka_unit_test(test_sim_exhaust__reads_low_without_load_or_speed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
