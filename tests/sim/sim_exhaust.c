/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exhaust temperature of the simulator, see sim_exhaust.h. */
#include "sim_exhaust.h"

#include <math.h>

/* A pipe at speed loses its heat this much faster than one at rest. */
static const double AIR_AT_SPEED_M_S = 15.0;
/* A probe in still gas follows at most this much slower than at full flow. */
static const double SLOWEST_LAG = 4.0;

struct sim_heat sim_heat_at(double temperature_c)
{
    return (struct sim_heat){temperature_c, temperature_c, temperature_c};
}

/* A parabola with its top at peak_percent, slope lean_c_percent at zero; past
 * the top it falls, but no deeper than a misfiring engine gives. */
double sim_lean_heat_c(const struct sim_exhaust *exhaust, double lean_percent)
{
    const double peak = exhaust->peak_percent;
    const double m = fmax(lean_percent, -1.2 * peak);
    const double rise = m - m * m / (2.0 * peak);
    return exhaust->lean_c_percent * fmax(rise, -1.5 * peak);
}

double sim_gas_c(const struct sim_exhaust *exhaust, const struct sim_gas *gas)
{
    if (gas->rpm_share < 0.005)
        return exhaust->ambient_c;
    if (!gas->firing)
        return exhaust->ambient_c +
               0.12 * (exhaust->full_c - exhaust->ambient_c);
    const double speed = fmin(fmax(gas->rpm_share, 0.0), 1.2);
    const double by_speed =
        1.0 - exhaust->speed_share * (1.0 - pow(speed, 0.8));
    const double by_load = 1.0 - exhaust->load_share * (1.0 - gas->load);
    const double rise =
        (exhaust->full_c - exhaust->ambient_c) * by_speed * by_load;
    return exhaust->ambient_c + rise +
           (0.25 + 0.75 * gas->load) *
               sim_lean_heat_c(exhaust, gas->lean_percent);
}

double sim_flow(const struct sim_gas *gas)
{
    const double flow = gas->rpm_share * (0.2 + 0.8 * gas->load);
    return fmin(fmax(flow, 0.02), 1.3);
}

double sim_probe_step(double probe_c,
                      double seen_c,
                      double lag_s,
                      double step_s)
{
    return seen_c + (probe_c - seen_c) * exp(-step_s / lag_s);
}

double sim_probe_lag_s(const struct sim_exhaust *exhaust, double flow)
{
    return exhaust->probe_s *
           fmin(pow(flow, -exhaust->probe_flow), SLOWEST_LAG);
}

void sim_heat_step(struct sim_heat *heat,
                   const struct sim_exhaust *exhaust,
                   const struct sim_gas *gas,
                   double step_s)
{
    const double flow = sim_flow(gas);
    const double gas_c = sim_gas_c(exhaust, gas);
    const double cooling = 0.06 + 0.16 * gas->air_m_s / AIR_AT_SPEED_M_S;
    const double air_c = exhaust->ambient_c;
    heat->pipe_c +=
        step_s / exhaust->pipe_s *
        (flow * (gas_c - heat->pipe_c) - cooling * (heat->pipe_c - air_c));
    heat->boss_c += step_s / exhaust->boss_s * (heat->pipe_c - heat->boss_c);
    /* Slow gas has time to leave its heat in the pipe before the probe. */
    const double given = fmin(exhaust->pipe_share / (0.4 + 0.6 * flow), 0.9);
    const double at_probe_c = gas_c - given * (gas_c - heat->pipe_c);
    const double seen_c =
        at_probe_c - exhaust->boss_share * (at_probe_c - heat->boss_c);
    heat->probe_c = sim_probe_step(heat->probe_c, seen_c,
                                   sim_probe_lag_s(exhaust, flow), step_s);
}
