/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heat of a slipping clutch against a textbook's two flywheels. */
#include "analysis/clutch_energy.h"

#include "support/check.h"

enum { STEPS = 4000 };

static const double RPM_PER_RAD_S = 9.549296585513721;

/* Two flywheels joined by a clutch that slips under a steady torque:
 * E = I1 I2 (w1 - w2)^2 / (2 (I1 + I2)), t = I1 I2 (w1 - w2) / (T (I1 + I2))
 * (Shigley, Mechanical Engineering Design, from memory for the chapter).
 *
 * First row: a worked example on a homework page, which prints 92.9004 rad/s,
 * 159.22 s and 69,947.66 J; the last comes from a rounded common speed, its own
 * numbers give 69,939.615734 J (computed). Second row: 4 and 2 kg m2, 60 rpm
 * and rest, 40 rpm, 26.318945070 J (computed). */
struct flywheels {
    const char *label;
    double inertia_1_kg_m2;
    double inertia_2_kg_m2;
    double speed_1_rad_s;
    double speed_2_rad_s;
    double torque_nm;
    double common_rad_s;
    double slip_s;
    double energy_j;
};

static const struct flywheels cases[] = {
    {"worked example", 54.08, 68.34375, 130.8997, 62.8319, 12.90625,
     92.900466140, 159.22, 69939.615734},
    {"from rest", 4.0, 2.0, 6.283185307, 0.0, 1.0, 4.188790205, NAN,
     26.318945070},
};

/* Slips both flywheels down the textbook's straight lines. */
static double energy_of(const struct flywheels *c, double slip_s)
{
    static double time_s[STEPS], engine_rpm[STEPS], driven_rpm[STEPS];
    for (int i = 0; i < STEPS; i++) {
        const double t = slip_s * i / (STEPS - 1.0);
        time_s[i] = t;
        engine_rpm[i] = RPM_PER_RAD_S * (c->speed_1_rad_s -
                                         c->torque_nm / c->inertia_1_kg_m2 * t);
        driven_rpm[i] = RPM_PER_RAD_S * (c->speed_2_rad_s +
                                         c->torque_nm / c->inertia_2_kg_m2 * t);
    }
    check_near(c->label, driven_rpm[STEPS - 1] / RPM_PER_RAD_S, c->common_rad_s,
               1e-6 * c->common_rad_s);
    const struct kw_driven_side side = {.inertia_kg_m2 = c->inertia_2_kg_m2};
    return kw_slip_energy_j(&side, time_s, engine_rpm, driven_rpm, STEPS);
}

/* A lining is judged by the heat it took; a wrong sum condemns a good one. */
static void test_clutch_energy__two_flywheels_as_in_the_textbook(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct flywheels *c = &cases[k];
        const double slip_s =
            c->inertia_1_kg_m2 * c->inertia_2_kg_m2 *
            (c->speed_1_rad_s - c->speed_2_rad_s) /
            (c->torque_nm * (c->inertia_1_kg_m2 + c->inertia_2_kg_m2));
        if (!isnan(c->slip_s))
            check_near(c->label, slip_s, c->slip_s, 0.01);
        check_near(c->label, energy_of(c, slip_s), c->energy_j,
                   1e-6 * c->energy_j);
    }
}

/* A kart brought up to speed against a steady engine loses in the clutch what
 * the kart gains: its kinetic energy, m v^2 / 2, and 5 % of what turns with it.
 */
static void test_clutch_energy__start_costs_the_karts_own_energy(void **state)
{
    (void)state;
    static double time_s[STEPS], engine_rpm[STEPS], driven_rpm[STEPS];
    const double hold_rpm = 4800.0;
    for (int i = 0; i < STEPS; i++) {
        time_s[i] = 2.0 * i / (STEPS - 1.0);
        engine_rpm[i] = hold_rpm;
        driven_rpm[i] = hold_rpm * i / (STEPS - 1.0);
    }
    struct kw_driven_side kart = kw_kart_as_flywheel(165.0, 0.85, 78.0 / 11.0);
    kart.resistance_nm = 0.0;
    const double speed_m_s = hold_rpm / 60.0 * 0.85 / (78.0 / 11.0);
    check_near("kinetic energy",
               kw_slip_energy_j(&kart, time_s, engine_rpm, driven_rpm, STEPS),
               1.05 * 165.0 * speed_m_s * speed_m_s / 2.0, 0.5);
}

/* No points, no heat. */
static void test_clutch_energy__nothing_costs_nothing(void **state)
{
    (void)state;
    const struct kw_driven_side side = {.inertia_kg_m2 = 1.0};
    const double one = 0.0;
    check_near("none", kw_slip_energy_j(&side, NULL, NULL, NULL, 0), 0.0, 0.0);
    check_near("one", kw_slip_energy_j(&side, &one, &one, &one, 1), 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clutch_energy__two_flywheels_as_in_the_textbook),
        cmocka_unit_test(test_clutch_energy__start_costs_the_karts_own_energy),
        cmocka_unit_test(test_clutch_energy__nothing_costs_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
