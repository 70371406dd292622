/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Engine, clutch, axle and tyres: one step of the drive train.
 *
 * The clutch is dry friction that can stick: it carries what keeps engine and
 * axle together, at most its capacity k (w^2 - w0^2). The tyre force grows with
 * slip up to the grip. Both are solved implicitly, so that a step of 1 ms is
 * stable whatever the gearing.
 */
#ifndef SIM_ENGINE_H
#define SIM_ENGINE_H

#include "sim_model.h"

/* State of the drive train. */
struct sim_drive {
    double engine_rad_s;
    double axle_rad_s;
    double speed_m_s;
    double clutch_nm;
    double accel_m_s2;
};

/* What acts on it in one step. */
struct sim_forces {
    double engine_nm;    /* torque of gas and friction together */
    double brake_nm;     /* at the axle */
    double resist_n;     /* drag, rolling, slope, scrub: against motion */
    double grip_n;       /* longest force the tyres can give now */
    double clutch_share; /* 1 = as new */
    double clutch_rpm;
    bool chain_off;
};

/* Load: torque over what this RPM gives with an open throttle, 0 .. 1. A small
 * opening already feeds a slow engine. */
double sim_load(double throttle, double rpm_share);

/* Full-throttle torque at this RPM. */
double sim_full_torque_nm(const struct sim_engine *engine, double rpm);

/* Torque factor of a mixture that is off by `lean_percent`. */
double sim_mixture_torque(double lean_percent);

/* Friction and pumping, throttle shut. */
double sim_friction_nm(const struct sim_engine *engine, double rpm);

double sim_clutch_capacity_nm(const struct sim_kart *kart,
                              double engine_rad_s,
                              double clutch_rpm);

void sim_drive_step(struct sim_drive *drive,
                    const struct sim_session *session,
                    const struct sim_forces *forces,
                    double step_s);

#endif
