/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trace of true states, see sim_trace.h. */
#include "sim_trace.h"

#include <math.h>
#include <stdlib.h>

enum { N_COLUMNS = 16 };

/* One block, cut into columns: one allocation, one free (through distance_m,
 * the first column). */
struct sim_trace sim_trace_open(double step_s, double longest_s)
{
    struct sim_trace trace = {.step_s = step_s,
                              .room = (size_t)(longest_s / step_s) + 2};
    double *block = sim_allocate(trace.room * N_COLUMNS, sizeof(double));
    double **columns[N_COLUMNS] = {
        &trace.distance_m, &trace.aside_m,      &trace.speed_m_s,
        &trace.axle_rpm,   &trace.engine_rpm,   &trace.throttle,
        &trace.load,       &trace.lean_percent, &trace.starved,
        &trace.lost_rpm,   &trace.probe_c,      &trace.healthy_c,
        &trace.accel_m_s2, &trace.lateral_m_s2, &trace.clutch_nm,
        &trace.clutch_w};
    for (size_t i = 0; i < N_COLUMNS; i++)
        *columns[i] = block + i * trace.room;
    trace.running = sim_allocate(trace.room, 1);
    return trace;
}

void sim_trace_free(struct sim_trace *trace)
{
    free(trace->distance_m);
    free(trace->running);
    *trace = (struct sim_trace){0};
}

void sim_trace_add(struct sim_trace *trace, const struct sim_now *now)
{
    const size_t i = trace->n++;
    trace->distance_m[i] = now->distance_m;
    trace->aside_m[i] = now->aside_m;
    trace->speed_m_s[i] = now->speed_m_s;
    trace->axle_rpm[i] = now->axle_rpm;
    trace->engine_rpm[i] = now->engine_rpm;
    trace->throttle[i] = now->throttle;
    trace->load[i] = now->load;
    trace->lean_percent[i] = now->lean_percent;
    trace->starved[i] = now->starved;
    trace->lost_rpm[i] = now->lost_rpm;
    trace->probe_c[i] = now->probe_c;
    trace->healthy_c[i] = now->healthy_c;
    trace->accel_m_s2[i] = now->accel_m_s2;
    trace->lateral_m_s2[i] = now->lateral_m_s2;
    trace->clutch_nm[i] = now->clutch_nm;
    trace->clutch_w[i] = now->clutch_w;
    trace->running[i] = now->running;
}

double sim_trace_at(const struct sim_trace *trace,
                    const double *column,
                    double time_s)
{
    const double steps = fmax(time_s / trace->step_s, 0.0);
    const size_t i = (size_t)steps;
    if (i + 1 >= trace->n)
        return column[trace->n - 1];
    return column[i] + (steps - (double)i) * (column[i + 1] - column[i]);
}

double sim_trace_time_at_m(const struct sim_trace *trace, double distance_m)
{
    size_t low = 0, high = trace->n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (trace->distance_m[middle] < distance_m)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == trace->n || low == 0)
        return low == 0 ? 0.0 : -1.0;
    const double before = trace->distance_m[low - 1];
    const double gone = trace->distance_m[low] - before;
    return trace->step_s *
           ((double)(low - 1) + (distance_m - before) / fmax(gone, 1e-9));
}
