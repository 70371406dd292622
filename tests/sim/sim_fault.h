/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the faults of the plan do at one moment. */
#ifndef SIM_FAULT_H
#define SIM_FAULT_H

#include "sim_model.h"

/* Where the engine is when the faults act on it. */
struct sim_moment {
    double time_s;
    double rpm;
    double low_rpm, high_rpm; /* range of this session under load */
};

struct sim_effect {
    double lean_percent; /* of all mixture faults; rich is negative */
    double restriction;  /* share of the fuel's way that is shut */
    double clutch_share; /* capacity left */
    double clutch_rise;  /* share by which it takes hold later */
    double idle_rise_rpm;
    double hang;          /* throttle that the leak amounts to */
    double drag_nm_share; /* of peak torque: a piston that picks up */
    double leak_share;    /* of gas that air replaces at the probe */
    bool spark_off;
    bool chain_slips;
    bool seized;
};

struct sim_effect sim_faults_at(const struct sim_plan *plan,
                                const struct sim_moment *moment);

/* How far a fault is on: 0 before, a ramp, 1, a ramp down after. */
double sim_fault_share(const struct sim_fault *fault, double time_s);

#endif
