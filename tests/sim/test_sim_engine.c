/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sim_engine.h"
#include "support/check.h"

static const double TWO_PI = 6.283185307179586;
static const double STEP_S = 0.002;

/* A kart of round figures, without track, driver or logger. */
static struct sim_session plain_session(void)
{
    return (struct sim_session){
        .engine = {.inertia_kg_m2 = 0.003, .max_rpm = 15000.0},
        .kart = {.mass_kg = 160.0,
                 .tyre_m = 0.85,
                 .engine_teeth = 11,
                 .axle_teeth = 78,
                 .axle_inertia_kg_m2 = 0.2,
                 .clutch_rpm = 4300.0,
                 .clutch_nm_rad2 = 2e-4}};
}

/* The drive of an owner's clutch is judged by its slip: the capacity must be
 * that of the textbooks, T = n mu m r R (w^2 - w0^2). Worked example, 25 kW at
 * 1,200 rpm, in the manner of Khurmi and Gupta, Theory of Machines: 4 shoes of
 * 1.866408243 kg, mu 0.3, r 0.075 m, R 0.1 m, w0 half of w: 198.943679 N m. */
static void test_sim_engine__clutch_holds_what_the_textbook_says(void **state)
{
    (void)state;
    const double w = 1200.0 * TWO_PI / 60.0;
    const struct sim_kart kart = {.clutch_nm_rad2 =
                                      4 * 0.3 * 1.866408243 * 0.075 * 0.1};
    check_near("capacity", sim_clutch_capacity_nm(&kart, w, 600.0), 198.943679,
               1e-4);
    check_near("below engagement", sim_clutch_capacity_nm(&kart, w, 1300.0),
               0.0, 0.0);
}

/* Two masses that a clutch brings together: Shigley, Mechanical Engineering
 * Design (from memory), worked example seen with I 54.08 and 68.34375 kg m2,
 * 130.8997 and 62.8319 rad/s: 92.900466 rad/s after, 69,939.6 J of heat. */
static void test_sim_engine__slip_turns_into_the_right_heat(void **state)
{
    (void)state;
    struct sim_session session = plain_session();
    session.engine.inertia_kg_m2 = 54.08;
    session.kart.axle_inertia_kg_m2 = 68.34375;
    session.kart.axle_teeth = session.kart.engine_teeth;
    session.kart.clutch_nm_rad2 = 0.05;
    struct sim_drive drive = {.engine_rad_s = 130.8997, .axle_rad_s = 62.8319};
    const struct sim_forces free_wheels = {.clutch_share = 1.0};
    double heat_j = 0.0;
    for (int i = 0; i < 100000; i++) {
        const double before = drive.engine_rad_s - drive.axle_rad_s;
        sim_drive_step(&drive, &session, &free_wheels, STEP_S);
        const double after = drive.engine_rad_s - drive.axle_rad_s;
        heat_j += STEP_S * drive.clutch_nm * 0.5 * (before + after);
    }
    check_near("common speed", drive.engine_rad_s, 92.900466140, 1e-6);
    check_near("locked", drive.axle_rad_s, drive.engine_rad_s, 1e-6);
    check_near("heat", heat_j, 69939.615734, 0.5);
}

static double energy_j(const struct sim_drive *drive,
                       const struct sim_session *session)
{
    return 0.5 * (session->engine.inertia_kg_m2 * drive->engine_rad_s *
                      drive->engine_rad_s +
                  session->kart.axle_inertia_kg_m2 * drive->axle_rad_s *
                      drive->axle_rad_s +
                  session->kart.mass_kg * drive->speed_m_s * drive->speed_m_s);
}

/* A kart that gains more than its engine gives would reach RPM that no engine
 * reaches, and teach the detectors nonsense. */
static void test_sim_engine__start_gains_no_more_than_the_engine_gave(
    void **state)
{
    (void)state;
    const struct sim_session session = plain_session();
    const struct sim_forces forces = {.engine_nm = 9.0,
                                      .grip_n = 2400.0,
                                      .clutch_share = 1.0,
                                      .clutch_rpm = 4300.0};
    struct sim_drive drive = {.engine_rad_s = 230.0};
    const double start_j = energy_j(&drive, &session);
    double work_j = 0.0, clutch_j = 0.0;
    for (int i = 0; i < 3000; i++) {
        work_j += STEP_S * forces.engine_nm * drive.engine_rad_s;
        const double slip =
            drive.engine_rad_s - sim_ratio(&session.kart) * drive.axle_rad_s;
        sim_drive_step(&drive, &session, &forces, STEP_S);
        clutch_j += STEP_S * drive.clutch_nm * slip;
    }
    const double gain_j = energy_j(&drive, &session) - start_j;
    check_true("moves", drive.speed_m_s > 10.0);
    check_true("no more than given", gain_j + clutch_j < 1.01 * work_j);
    /* What is missing was left in the slip of the tyres: a few percent. */
    check_true("hardly less", gain_j + clutch_j > 0.9 * work_j);
}

/* The trade's example: 1 g, 78/11 teeth and a 0.85 m tyre are 4,900 RPM per
 * second. With the clutch locked nothing may fall faster. */
static void test_sim_engine__locked_rpm_falls_as_the_kart_brakes(void **state)
{
    (void)state;
    const struct sim_session session = plain_session();
    const double radius_m = 0.85 / TWO_PI;
    struct sim_drive drive = {.speed_m_s = 25.0};
    drive.axle_rad_s = drive.speed_m_s / radius_m;
    drive.engine_rad_s = drive.axle_rad_s * sim_ratio(&session.kart);
    const struct sim_forces forces = {.brake_nm = 0.9 * 160.0 * 9.81 * radius_m,
                                      .grip_n = 1.0 * 160.0 * 9.81,
                                      .clutch_share = 1.0,
                                      .clutch_rpm = 4300.0};
    const double before = drive.engine_rad_s;
    for (int i = 0; i < 500; i++)
        sim_drive_step(&drive, &session, &forces, STEP_S);
    const double fall_rpm_s = (before - drive.engine_rad_s) * 60.0 / TWO_PI;
    check_true("not faster than 1 g", fall_rpm_s < 4910.0 * 1.07);
    check_true("not much slower", fall_rpm_s > 4000.0);
}

/* A wide-open throttle is full load at any speed, a shut one none. */
static void test_sim_engine__load_goes_from_none_to_full(void **state)
{
    (void)state;
    for (double rpm = 0.1; rpm < 1.2; rpm += 0.1) {
        check_near("shut", sim_load(0.0, rpm), 0.0, 1e-12);
        check_near("open", sim_load(1.0, rpm), 1.0, 1e-12);
        check_true("rises", sim_load(0.6, rpm) > sim_load(0.3, rpm));
    }
    check_true("a little feeds a slow engine",
               sim_load(0.2, 0.3) > sim_load(0.2, 1.0));
}

/* Lean costs power only when it is far off; the racer cannot feel 6 %. */
static void test_sim_engine__lean_engine_keeps_power_until_it_starves(
    void **state)
{
    (void)state;
    check_near("right", sim_mixture_torque(0.0), 1.0, 1e-12);
    check_true("6 % lean is not felt", sim_mixture_torque(6.0) > 0.99);
    check_true("25 % lean is", sim_mixture_torque(25.0) < 0.75);
    check_true("rich is slow", sim_mixture_torque(-15.0) < 0.9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_engine__clutch_holds_what_the_textbook_says),
        cmocka_unit_test(test_sim_engine__slip_turns_into_the_right_heat),
        cmocka_unit_test(
            test_sim_engine__start_gains_no_more_than_the_engine_gave),
        cmocka_unit_test(test_sim_engine__locked_rpm_falls_as_the_kart_brakes),
        cmocka_unit_test(test_sim_engine__load_goes_from_none_to_full),
        cmocka_unit_test(
            test_sim_engine__lean_engine_keeps_power_until_it_starves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
