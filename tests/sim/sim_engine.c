/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One step of the drive train, see sim_engine.h. */
#include "sim_engine.h"

#include <math.h>

static const double RPM_PER_RAD_S = 9.549296585513721;
static const double TWO_PI = 6.283185307179586;

/* A tyre gives its full force at this slip (common practice, no source). */
static const double FULL_SLIP = 0.06;

double sim_ratio(const struct sim_kart *kart)
{
    return (double)kart->axle_teeth / (double)kart->engine_teeth;
}

double sim_load(double throttle, double rpm_share)
{
    const double k = 2.2 / (0.25 + fmax(rpm_share, 0.0));
    return (1.0 - exp(-k * throttle)) / (1.0 - exp(-k));
}

double sim_full_torque_nm(const struct sim_engine *engine, double rpm)
{
    const double steps = (double)(SIM_TORQUE_STEPS - 1) / 1.25;
    const double at = fmin(fmax(rpm / engine->max_rpm, 0.0), 1.2499) * steps;
    const size_t i = (size_t)at;
    const double part = at - (double)i;
    return engine->torque_peak_nm *
           (engine->torque[i] +
            part * (engine->torque[i + 1] - engine->torque[i]));
}

/* A little lean of the rich setting costs nothing; then power falls ever
 * faster, until the engine hardly fires. Rich costs power steadily. */
double sim_mixture_torque(double lean_percent)
{
    if (lean_percent < 0.0)
        return 1.0 + fmax(0.009 * lean_percent, -0.6);
    const double past = fmax(lean_percent - 8.0, 0.0);
    return fmax(1.0 - 0.0011 * past * past, 0.02);
}

double sim_friction_nm(const struct sim_engine *engine, double rpm)
{
    const double share = rpm / engine->max_rpm;
    return engine->friction_nm * (0.3 + 0.7 * share * share);
}

double sim_clutch_capacity_nm(const struct sim_kart *kart,
                              double engine_rad_s,
                              double clutch_rpm)
{
    const double w0 = clutch_rpm / RPM_PER_RAD_S;
    return fmax(kart->clutch_nm_rad2 * (engine_rad_s * engine_rad_s - w0 * w0),
                0.0);
}

/* Tyre force after the step for a known torque at the axle. */
static double tyre_force_n(const struct sim_drive *drive,
                           const struct sim_session *session,
                           const struct sim_forces *forces,
                           double axle_nm,
                           double step_s)
{
    const double radius_m = session->kart.tyre_m / TWO_PI;
    const double inertia = session->kart.axle_inertia_kg_m2;
    const double stiff =
        forces->grip_n / (FULL_SLIP * fmax(drive->speed_m_s, 2.0));
    const double w =
        (inertia * drive->axle_rad_s +
         step_s * (axle_nm + stiff * radius_m * drive->speed_m_s)) /
        (inertia + step_s * stiff * radius_m * radius_m);
    const double force_n = stiff * (w * radius_m - drive->speed_m_s);
    if (fabs(force_n) <= forces->grip_n)
        return force_n;
    return force_n > 0.0 ? forces->grip_n : -forces->grip_n;
}

/* The torque that would bring engine and axle together within this step. */
static double locking_torque_nm(const struct sim_drive *drive,
                                const struct sim_session *session,
                                const struct sim_forces *forces,
                                double step_s)
{
    const double ratio = sim_ratio(&session->kart);
    const double radius_m = session->kart.tyre_m / TWO_PI;
    const double stiff =
        forces->grip_n / (FULL_SLIP * fmax(drive->speed_m_s, 2.0));
    const double axle_inertia =
        session->kart.axle_inertia_kg_m2 + step_s * stiff * radius_m * radius_m;
    const double axle_w =
        (session->kart.axle_inertia_kg_m2 * drive->axle_rad_s +
         step_s * (stiff * radius_m * drive->speed_m_s - forces->brake_nm)) /
        axle_inertia;
    const double engine_w =
        drive->engine_rad_s +
        step_s * forces->engine_nm / session->engine.inertia_kg_m2;
    return (engine_w - ratio * fmax(axle_w, 0.0)) /
           (step_s * (ratio * ratio / axle_inertia +
                      1.0 / session->engine.inertia_kg_m2));
}

void sim_drive_step(struct sim_drive *drive,
                    const struct sim_session *session,
                    const struct sim_forces *forces,
                    double step_s)
{
    const struct sim_kart *kart = &session->kart;
    const double ratio = sim_ratio(kart);
    const double capacity_nm =
        forces->chain_off
            ? 0.0
            : forces->clutch_share * sim_clutch_capacity_nm(kart,
                                                            drive->engine_rad_s,
                                                            forces->clutch_rpm);
    const double wanted_nm = locking_torque_nm(drive, session, forces, step_s);
    drive->clutch_nm = fmax(fmin(wanted_nm, capacity_nm), -capacity_nm);

    const double axle_nm = ratio * drive->clutch_nm - forces->brake_nm;
    const double tyre_n = tyre_force_n(drive, session, forces, axle_nm, step_s);
    const double radius_m = kart->tyre_m / TWO_PI;
    drive->axle_rad_s +=
        step_s * (axle_nm - tyre_n * radius_m) / kart->axle_inertia_kg_m2;
    drive->axle_rad_s = fmax(drive->axle_rad_s, 0.0);
    drive->engine_rad_s += step_s * (forces->engine_nm - drive->clutch_nm) /
                           session->engine.inertia_kg_m2;
    drive->engine_rad_s = fmax(drive->engine_rad_s, 0.0);

    drive->accel_m_s2 = (tyre_n - forces->resist_n) / kart->mass_kg;
    drive->speed_m_s += step_s * drive->accel_m_s2;
    if (drive->speed_m_s < 0.0) {
        drive->speed_m_s = 0.0;
        drive->accel_m_s2 = 0.0;
    }
}
