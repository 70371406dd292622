/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Draws the logger: rates, noise, resolution, gaps and columns. */
#include "sim_draw.h"

#include <math.h>

static const double RATES_HZ[] = {5, 8, 10, 10, 12.5, 20, 20, 25, 50, 100};
static const double RPM_STEPS[] = {1, 1, 5, 10, 15, 20, 50, 100};
static const double EGT_STEPS_C[] = {0.1, 0.1, 0.25, 0.5, 1, 1, 2, 5};
static const double GPS_HZ[] = {1, 5, 5, 10, 10, 18, 20, 25};

static double one_of(struct sim_random *random, const double *values, size_t n)
{
    return values[sim_pick(random, n)];
}

/* Cheap loggers update RPM a few times a second and repeat it in between. */
static void draw_rpm(struct sim_session *session, struct sim_random *random)
{
    struct sim_logger *logger = &session->logger;
    logger->rpm_step = one_of(random, RPM_STEPS, 8);
    if (session->engine.four_stroke)
        logger->rpm_step = fmin(logger->rpm_step, 25.0);
    logger->rpm_noise =
        session->engine.max_rpm * sim_log_span(random, 0.0004, 0.004);
    logger->rpm_update_hz =
        sim_chance(random, 0.3)
            ? fmin(sim_log_span(random, 4.0, 25.0), logger->rate_hz)
            : fmax(logger->rate_hz, 30.0);
}

/* Thermocouple amplifiers are slow, coarse, and catch sparks. */
static void draw_egt(struct sim_session *session, struct sim_random *random)
{
    struct sim_logger *logger = &session->logger;
    logger->egt_step_c = one_of(random, EGT_STEPS_C, 8);
    logger->egt_noise_c = sim_log_span(random, 0.2, 3.0);
    logger->egt_update_hz =
        sim_chance(random, 0.4) ? sim_log_span(random, 1.5, 10.0) : 1000.0;
    logger->egt_spikes_h =
        sim_chance(random, 0.3) ? sim_log_span(random, 5, 120) : 0.0;
    logger->has_second_egt = sim_chance(random, 0.05);
}

/* A third of the logs have position, a quarter speed alone; noise is white from
 * fix to fix, drift wanders over minutes and is what two laps differ by. */
static void draw_position(struct sim_session *session,
                          struct sim_random *random)
{
    struct sim_logger *logger = &session->logger;
    const double dice = sim_between(random, 0.0, 1.0);
    const bool on_track = session->plan.place == SIM_ON_TRACK;
    logger->gps_hz = fmin(one_of(random, GPS_HZ, 8), logger->rate_hz);
    logger->gps_noise_m = sim_log_span(random, 0.08, 0.8);
    logger->gps_drift_m = sim_log_span(random, 0.1, 2.0);
    logger->speed_noise_m_s = sim_log_span(random, 0.03, 0.3);
    logger->latitude = sim_between(random, -55.0, 60.0);
    logger->longitude = sim_between(random, -170.0, 170.0);
    logger->has_position = on_track && dice < 0.35;
    logger->has_speed = session->plan.place != SIM_ON_BENCH &&
                        ((logger->has_position && sim_chance(random, 0.8)) ||
                         (dice >= 0.35 && dice < 0.6));
    logger->speed_is_wheel = !logger->has_position && sim_chance(random, 0.4);
    if (logger->speed_is_wheel)
        logger->gps_hz = logger->rate_hz;
    logger->has_lap = on_track && sim_chance(random, 0.12);
    logger->has_marker =
        on_track && !logger->has_lap && sim_chance(random, 0.05);
    logger->has_profile = sim_chance(random, 0.4);
    logger->profile_full = sim_chance(random, 0.6);
    logger->line_known = (logger->has_position && logger->has_profile &&
                          sim_chance(random, 0.5)) ||
                         logger->has_lap || logger->has_marker;
}

/* Each trouble comes to some of the logs, so that clean ones are left. */
static void draw_trouble(struct sim_session *session, struct sim_random *random)
{
    struct sim_logger *logger = &session->logger;
    if (sim_chance(random, 0.4))
        logger->jitter_s = sim_log_span(random, 0.005, 0.2) / logger->rate_hz;
    if (sim_chance(random, 0.25))
        logger->gaps_h = sim_log_span(random, 2.0, 20.0);
    if (sim_chance(random, 0.3))
        logger->lost_rows_h = sim_log_span(random, 5.0, 300.0);
    if (sim_chance(random, 0.2))
        logger->odd_stamps_h = sim_log_span(random, 2.0, 60.0);
    if (sim_chance(random, 0.12) && !logger->speed_is_wheel)
        logger->lost_fixes_h = sim_log_span(random, 4.0, 25.0);
    logger->stamp_step_s =
        sim_chance(random, 0.75) || logger->rate_hz > 20 ? 0.001 : 0.01;
}

void sim_draw_logger(struct sim_session *session, struct sim_random *random)
{
    struct sim_logger *logger = &session->logger;
    logger->rate_hz = one_of(random, RATES_HZ, 10);
    if (session->widen > 0.0 && sim_chance(random, 0.3))
        logger->rate_hz = round(sim_log_span(random, 5.0, 95.0));
    draw_rpm(session, random);
    draw_egt(session, random);
    draw_position(session, random);
    draw_trouble(session, random);
    logger->has_throttle = sim_chance(random, 0.12);
    logger->has_water = sim_chance(random, 0.4);
    logger->has_head = sim_chance(random, 0.15);
    logger->has_accel = sim_chance(random, 0.15);
    logger->has_battery = sim_chance(random, 0.2);
    logger->has_axle = sim_chance(random, 0.04);
}
