/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Teeth, tyre and speed; clutch locked and tyre not slipping. The circumference
 * is the rolling one, with the driver aboard: a tyre squats under load and
 * grows with speed by a percent or so (common practice, no source). */
#include "kartwright/trackside.h"

static const double SECONDS_A_MINUTE = 60.0;

/* 78 on the axle and 11 on the engine: 7.09 turns of the engine for each. */
double kw_gearing_ratio(const struct kw_gearing *gearing)
{
    return gearing->axle_teeth / gearing->engine_teeth;
}

/* Turns of the axle in a second, a circumference for each. */
double kw_gearing_speed_m_s(const struct kw_gearing *gearing, double rpm)
{
    return rpm / kw_gearing_ratio(gearing) / SECONDS_A_MINUTE *
           gearing->tyre_circumference_m;
}

double kw_gearing_rpm(const struct kw_gearing *gearing, double speed_m_s)
{
    return speed_m_s / gearing->tyre_circumference_m * SECONDS_A_MINUTE *
           kw_gearing_ratio(gearing);
}
