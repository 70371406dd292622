/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trace of true states: filled row by row, read column by column. */
#ifndef SIM_TRACE_H
#define SIM_TRACE_H

#include "sim_model.h"

/* One row of struct sim_trace, the same names and units. */
struct sim_now {
    double distance_m, aside_m, speed_m_s, axle_rpm, engine_rpm;
    double throttle, load, lean_percent, starved, lost_rpm;
    double probe_c, healthy_c, accel_m_s2, lateral_m_s2, clutch_nm, clutch_w;
    bool running;
};

struct sim_trace sim_trace_open(double step_s, double longest_s);
void sim_trace_add(struct sim_trace *trace, const struct sim_now *now);

/* A column at any time, between two steps by proportion; ends are held. */
double sim_trace_at(const struct sim_trace *trace,
                    const double *column,
                    double time_s);

/* When the distance passes `distance_m`, by proportion between two steps;
 * negative when it never does. */
double sim_trace_time_at_m(const struct sim_trace *trace, double distance_m);

#endif
