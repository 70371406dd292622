/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heat in the clutch, from the motion of both its sides.
 *
 * The engine's side turns as RPM says; the driven side is the kart, taken as a
 * flywheel behind the gearing. What the torque between them does on the way
 * that one turns more than the other is heat in the lining: for a launch some
 * ten kilojoules, as much as warms the drum by a few tens of degrees. */
#include "analysis/clutch_energy.h"

#include <math.h>

/* As the 3rd CGPM defined it in 1901. */
static const double STANDARD_GRAVITY_M_S2 = 9.80665;
/* Turns and RPM in radians: 2 pi, and 2 pi / 60. */
static const double TWO_PI = 6.283185307179586;
static const double RAD_S_PER_RPM = 0.10471975511965977;
/* Rolling resistance as a share of weight: soft tyres on a short axle without a
 * differential drag more than a car's 0.01 (common practice, no source). */
static const double ROLLING_SHARE = 0.02;
/* Axle, wheels and brake disc have to be turned too: as if the kart were this
 * much heavier (common practice, no source). */
static const double ROTATING_SHARE = 0.05;

/* A mass m that moves r metres for each radian of the engine is a flywheel of m
 * r^2 at the engine; a drag F is a torque of F r. */
struct kw_driven_side kw_kart_as_flywheel(double mass_kg,
                                          double tyre_circumference_m,
                                          double gearing)
{
    const double m_per_rad = tyre_circumference_m / TWO_PI / gearing;
    return (struct kw_driven_side){
        .inertia_kg_m2 =
            (1.0 + ROTATING_SHARE) * mass_kg * m_per_rad * m_per_rad,
        .resistance_nm =
            ROLLING_SHARE * mass_kg * STANDARD_GRAVITY_M_S2 * m_per_rad};
}

/* The clutch passes one torque and turns at two speeds: what goes in at the
 * engine's and does not come out at the axle's stays in it as heat. Its torque
 * is what speeds the kart up and overcomes its drag; by the trapezium rule over
 * the steps. */
double kw_slip_energy_j(const struct kw_driven_side *side,
                        const double *time_s,
                        const double *engine_rpm,
                        const double *driven_rpm,
                        size_t n)
{
    double sum_j = 0.0;
    for (size_t i = 1; i < n; i++) {
        const double step_s = time_s[i] - time_s[i - 1];
        const double gained =
            RAD_S_PER_RPM * (driven_rpm[i] - driven_rpm[i - 1]);
        const double slip = 0.5 * RAD_S_PER_RPM *
                            (engine_rpm[i] - driven_rpm[i] + engine_rpm[i - 1] -
                             driven_rpm[i - 1]);
        sum_j += (side->inertia_kg_m2 * gained + side->resistance_nm * step_s) *
                 slip;
    }
    return fmax(sum_j, 0.0);
}
