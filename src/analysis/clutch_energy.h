/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The heat that a slipping clutch makes. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_ENERGY_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_ENERGY_H

#include <stddef.h>

/* What the clutch sets in motion, seen from the engine's side.
 *
 * inertia_kg_m2  of the driven side, at engine speed.
 * resistance_nm  torque that the driven side takes beside its inertia. */
struct kw_driven_side {
    double inertia_kg_m2;
    double resistance_nm;
};

/* Kart and driver as a flywheel on the engine: mass * (metres for each radian
 * of engine)^2, 5 % more for what turns with the wheels, and rolling resistance
 * of 2 % of the weight (common practice, no source).
 *
 * gearing  engine turns for each turn of the axle. */
struct kw_driven_side kw_kart_as_flywheel(double mass_kg,
                                          double tyre_circumference_m,
                                          double gearing);

/* Energy lost to slip: the torque that moved the driven side, times the speed
 * by which the clutch slipped, added up.
 *
 * driven_rpm, engine_rpm  [n], the driven side at engine speed.
 * returns  joules; 0 for n < 2.
 * source   work of a couple; for two flywheels and a steady torque it is the
 *          textbook's I1 I2 (w1 - w2)^2 / (2 (I1 + I2)). */
double kw_slip_energy_j(const struct kw_driven_side *side,
                        const double *time_s,
                        const double *engine_rpm,
                        const double *driven_rpm,
                        size_t n);

#endif
