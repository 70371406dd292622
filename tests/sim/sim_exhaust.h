/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exhaust temperature: gas, pipe, boss and probe.
 *
 * gas    steady value from RPM, load and mixture
 * pipe   takes heat from the gas and gives it to the air: minutes
 * boss   the probe's seat, follows the pipe: minutes
 * probe  first-order lag, d/dt = (seen - probe) / tau, with tau growing as the
 *        flow falls
 */
#ifndef SIM_EXHAUST_H
#define SIM_EXHAUST_H

#include "sim_model.h"

struct sim_heat {
    double pipe_c;
    double boss_c;
    double probe_c;
};

/* What the engine sends out in one step. */
struct sim_gas {
    double rpm_share;    /* of max_rpm */
    double load;         /* 0 .. 1 */
    double lean_percent; /* of the mixture, map and faults together */
    double air_m_s;      /* that cools the pipe */
    bool firing;
};

struct sim_heat sim_heat_at(double temperature_c);

/* Temperature added by a mixture that is off: rises to a peak, then falls. */
double sim_lean_heat_c(const struct sim_exhaust *exhaust, double lean_percent);
double sim_gas_c(const struct sim_exhaust *exhaust, const struct sim_gas *gas);

/* Share of the full mass flow, at least a breath. */
double sim_flow(const struct sim_gas *gas);

/* The probe's own step: exact for a steady `seen_c`. */
double sim_probe_step(double probe_c,
                      double seen_c,
                      double lag_s,
                      double step_s);
double sim_probe_lag_s(const struct sim_exhaust *exhaust, double flow);

void sim_heat_step(struct sim_heat *heat,
                   const struct sim_exhaust *exhaust,
                   const struct sim_gas *gas,
                   double step_s);

#endif
