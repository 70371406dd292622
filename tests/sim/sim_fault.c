/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The effects of the faults, see sim_fault.h. */
#include "sim_fault.h"

#include <math.h>

double sim_fault_share(const struct sim_fault *fault, double time_s)
{
    if (time_s < fault->start_s)
        return 0.0;
    if (fault->ramp_s <= 0.0)
        return time_s < fault->end_s ? 1.0 : 0.0;
    const double up = (time_s - fault->start_s) / fault->ramp_s;
    const double down = (fault->end_s - time_s) / fault->ramp_s;
    return fmax(fmin(fmin(up, down + 1.0), 1.0), 0.0);
}

/* A jet or needle does not begin at one RPM: its range fades in and out. */
static double fade(double x, double from)
{
    return 1.0 / (1.0 + exp(-(x - from) / 0.035));
}

static double region_share(enum sim_region region,
                           const struct sim_moment *moment)
{
    const double span_rpm = fmax(moment->high_rpm - moment->low_rpm, 100.0);
    const double x = (moment->rpm - moment->low_rpm) / span_rpm;
    switch (region) {
    case SIM_LOW:
        return 1.0 - fade(x, 1.0 / 3.0);
    case SIM_MIDDLE:
        return fade(x, 1.0 / 3.0) * (1.0 - fade(x, 2.0 / 3.0));
    case SIM_TOP:
        return fade(x, 2.0 / 3.0);
    case SIM_ANYWHERE:
    default:
        return 1.0;
    }
}

static void air_leak(struct sim_effect *effect,
                     const struct sim_fault *fault,
                     const struct sim_moment *moment,
                     double share)
{
    const double span_rpm = fmax(moment->high_rpm - moment->low_rpm, 100.0);
    const double x = (moment->rpm - moment->low_rpm) / span_rpm;
    /* The leak is the same, the engine's own air grows with RPM. */
    effect->lean_percent +=
        fault->strength * share * fmin(fmax(1.15 - 0.95 * x, 0.0), 1.3);
    effect->idle_rise_rpm += share * fault->strength * moment->high_rpm * 0.006;
    effect->hang += share * fault->strength * 0.006;
}

static void seizure(struct sim_effect *effect,
                    const struct sim_fault *fault,
                    double share)
{
    effect->lean_percent += fault->strength * fmin(2.5 * share, 1.0);
    effect->drag_nm_share += fmax(share - 0.4, 0.0) * 2.2;
    effect->seized = effect->seized || share > 0.98;
}

static void add(struct sim_effect *effect,
                const struct sim_fault *fault,
                const struct sim_moment *moment)
{
    const double share = sim_fault_share(fault, moment->time_s);
    if (share <= 0.0)
        return;
    switch (fault->kind) {
    case SIM_LEAN:
        effect->lean_percent +=
            fault->strength * share * region_share(fault->region, moment);
        break;
    case SIM_RICH:
        effect->lean_percent -=
            fault->strength * share * region_share(fault->region, moment);
        break;
    case SIM_RESTRICTION:
        effect->restriction =
            fmax(effect->restriction, fault->strength * share);
        break;
    case SIM_AIR_LEAK:
        air_leak(effect, fault, moment, share);
        break;
    case SIM_LOOSE:
        effect->spark_off = effect->spark_off || fault->cuts_spark;
        break;
    case SIM_WORN_CLUTCH:
        effect->clutch_share *= 1.0 - fault->strength;
        effect->clutch_rise += 0.25 * fault->strength;
        break;
    case SIM_CHAIN_JUMP:
        effect->chain_slips = true;
        break;
    case SIM_EXHAUST_LEAK:
        effect->leak_share += fault->strength * share;
        break;
    case SIM_SEIZURE:
        seizure(effect, fault, share);
        break;
    case SIM_OPEN_PROBE:
    case SIM_GLITCH:
    default: /* these live in the logger */
        break;
    }
}

struct sim_effect sim_faults_at(const struct sim_plan *plan,
                                const struct sim_moment *moment)
{
    struct sim_effect effect = {.clutch_share = 1.0};
    for (size_t i = 0; i < plan->n_faults; i++)
        add(&effect, &plan->fault[i], moment);
    return effect;
}
