/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Draws kart, engine, exhaust and driver of one session. All ranges are common
 * practice (no source) and on the wide side, see sim_model.h. */
#include "sim_draw.h"

#include "sim_driver.h"
#include "sim_engine.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_spline.h>

static const double TWO_PI = 6.283185307179586;
static const double RPM_PER_RAD_S = 9.549296585513721;
/* Best power comes at about this share of the highest RPM. */
static const double POWER_SHARE = 0.86;

enum { N_KNOTS = 10 };
static const double KNOT[N_KNOTS] = {0.0,  0.15, 0.3, 0.5, 0.65,
                                     0.78, 0.88, 1.0, 1.1, 1.25};
static const double TWO_STROKE_TORQUE[N_KNOTS] = {0.35, 0.55, 0.68, 0.76, 0.86,
                                                  0.97, 1.0,  0.8,  0.5,  0.05};
static const double FOUR_STROKE_TORQUE[N_KNOTS] = {0.5,  0.72, 0.88, 0.98, 1.0,
                                                   0.96, 0.9,  0.78, 0.6,  0.1};

/* Each engine bends the curve of its kind a little, through the same knots. */
static void fill_torque(struct sim_engine *engine, struct sim_random *random)
{
    double knots[N_KNOTS];
    for (size_t i = 0; i < N_KNOTS; i++)
        knots[i] = (engine->four_stroke ? FOUR_STROKE_TORQUE[i]
                                        : TWO_STROKE_TORQUE[i]) *
                   (1.0 + sim_span(random, -0.07, 0.07));
    gsl_spline *spline = gsl_spline_alloc(gsl_interp_akima, N_KNOTS);
    if (spline == NULL ||
        gsl_spline_init(spline, KNOT, knots, N_KNOTS) != GSL_SUCCESS)
        abort();
    for (size_t i = 0; i < SIM_TORQUE_STEPS; i++) {
        const double x = 1.25 * (double)i / (SIM_TORQUE_STEPS - 1);
        engine->torque[i] = fmax(gsl_spline_eval(spline, x, NULL), 0.01);
    }
    gsl_spline_free(spline);
}

/* Rental engines are governed, some two-strokes are cut; others run free and
 * are held by the gearing alone. */
static void draw_limiter(struct sim_engine *engine, struct sim_random *random)
{
    engine->governor = engine->four_stroke && sim_chance(random, 0.6);
    if (engine->governor)
        engine->limiter_rpm = engine->max_rpm * sim_between(random, 0.97, 1.05);
    else if (sim_chance(random, engine->four_stroke ? 0.5 : 0.25))
        engine->limiter_rpm = engine->max_rpm * sim_between(random, 0.94, 1.04);
}

void sim_draw_engine(struct sim_session *session, struct sim_random *random)
{
    struct sim_engine *engine = &session->engine;
    const bool four = engine->four_stroke;
    engine->max_rpm = four ? sim_log_span(random, 3800, 6300)
                           : sim_log_span(random, 10500, 15700);
    engine->idle_rpm = four ? engine->max_rpm * sim_span(random, 0.24, 0.34)
                            : sim_span(random, 1700, 2700);
    const double power_w = four ? sim_log_span(random, 4500, 9500)
                                : sim_log_span(random, 11500, 22000);
    engine->torque_peak_nm =
        power_w / (POWER_SHARE * engine->max_rpm) * RPM_PER_RAD_S;
    engine->friction_nm = engine->torque_peak_nm * sim_span(random, 0.15, 0.35);
    engine->inertia_kg_m2 = four ? sim_log_span(random, 0.006, 0.018)
                                 : sim_log_span(random, 0.0015, 0.005);
    engine->flutter = sim_log_span(random, 0.01, 0.06);
    fill_torque(engine, random);
    draw_limiter(engine, random);
}

/* It must let go at idle and must hold in most bends, or the kart would neither
 * stand nor drive; between the two anything goes. */
static void draw_clutch(struct sim_session *session, struct sim_random *random)
{
    const struct sim_engine *engine = &session->engine;
    struct sim_kart *kart = &session->kart;
    const double lowest = engine->idle_rpm * 1.3;
    kart->clutch_rpm =
        engine->four_stroke
            ? fmax(engine->max_rpm * sim_span(random, 0.33, 0.44), lowest)
            : fmax(sim_span(random, 2800, 5000), lowest);
    kart->clutch_rpm = fmin(kart->clutch_rpm, 0.52 * engine->max_rpm);
    /* At full throttle it holds the engine a little above that speed. */
    const double hold_rpm = kart->clutch_rpm * sim_span(random, 1.06, 1.3);
    const double w1 = hold_rpm / RPM_PER_RAD_S;
    const double w0 = kart->clutch_rpm / RPM_PER_RAD_S;
    kart->clutch_nm_rad2 =
        sim_full_torque_nm(engine, hold_rpm) / (w1 * w1 - w0 * w0);
}

/* The axle sprocket that brings max_rpm at the top speed of this track. */
static void choose_gearing(struct sim_session *session,
                           struct sim_random *random)
{
    struct sim_kart *kart = &session->kart;
    const bool four = session->engine.four_stroke;
    kart->engine_teeth =
        (int)sim_between(random, four ? 14 : 10, four ? 22 : 14);
    const double top_m_s = sim_guess_lap(session).top_m_s;
    const double ratio = session->engine.max_rpm / 60.0 * kart->tyre_m /
                         (top_m_s * sim_span(random, 0.97, 1.05));
    kart->axle_teeth = (int)lround(ratio * kart->engine_teeth);
    if (kart->axle_teeth < kart->engine_teeth)
        kart->axle_teeth = kart->engine_teeth;
}

void sim_draw_kart(struct sim_session *session, struct sim_random *random)
{
    struct sim_kart *kart = &session->kart;
    *kart = (struct sim_kart){
        .mass_kg = sim_span(random, 120, 185),
        .drag_area_m2 = sim_span(random, 0.5, 0.8),
        .rolling = sim_span(random, 0.015, 0.035),
        .tyre_m = sim_span(random, 0.80, 0.89),
        .axle_inertia_kg_m2 = sim_span(random, 0.15, 0.35),
        .grip = session->engine.four_stroke ? sim_span(random, 1.0, 1.5)
                                            : sim_span(random, 1.2, 2.0),
        .brake_m_s2 = sim_span(random, 5.0, 9.5),
        .wind_m_s = sim_chance(random, 0.5) ? sim_span(random, 0.5, 6.0) : 0.0,
        .wind_heading_rad = sim_between(random, 0.0, TWO_PI)};
    draw_clutch(session, random);
    choose_gearing(session, random);
}

/* A good driver repeats a lap within 0.3 to 1 %, a learner within a few. */
void sim_draw_driver(struct sim_session *session, struct sim_random *random)
{
    const bool learner = session->group[0] == 'l';
    session->driver = (struct sim_driver){
        .lap_scatter = learner ? sim_log_span(random, 0.01, 0.03)
                               : sim_log_span(random, 0.002, 0.007),
        .corner_scatter = learner ? sim_log_span(random, 0.02, 0.05)
                                  : sim_log_span(random, 0.005, 0.02),
        .pace = learner ? sim_span(random, 0.5, 0.75)
                        : sim_span(random, 0.78, 0.93),
        .throttle_s = sim_log_span(random, 0.08, 0.4),
        .brake_share = sim_span(random, 0.5, 0.95),
        .aside_m = sim_span(random, 0.3, 1.2),
        .launch_throttle = sim_span(random, 0.6, 1.0),
        .launch_s = sim_log_span(random, 0.2, 1.2)};
}

/* Tops from 450 to 750 C: another probe position or pipe shifts everything, so
 * no detector may know a number. */
void sim_draw_exhaust(struct sim_session *session, struct sim_random *random)
{
    struct sim_exhaust *exhaust = &session->exhaust;
    *exhaust =
        (struct sim_exhaust){.ambient_c = sim_span(random, 4, 36),
                             .full_c = sim_span(random, 500, 740),
                             .speed_share = sim_span(random, 0.1, 0.4),
                             .load_share = sim_span(random, 0.2, 0.5),
                             .lean_c_percent = sim_span(random, 6, 13),
                             .peak_percent = sim_span(random, 16, 28),
                             .pipe_share = sim_span(random, 0.06, 0.28),
                             .boss_share = sim_span(random, 0.02, 0.12),
                             .pipe_s = sim_log_span(random, 10, 45),
                             .boss_s = sim_log_span(random, 15, 70),
                             .probe_s = sim_log_span(random, 0.3, 2.0),
                             .probe_flow = sim_span(random, 0.1, 0.6),
                             .drift_percent = sim_span(random, -1.2, 1.2),
                             .wander_percent = sim_log_span(random, 0.1, 0.6)};
    for (size_t i = 0; i < 5; i++)
        exhaust->map_percent[i] = sim_span(random, -2.5, 2.5);
}

struct sim_guess sim_guess_lap(const struct sim_session *session)
{
    const struct sim_track *track = &session->track;
    const struct sim_kart *kart = &session->kart;
    const struct sim_engine *engine = &session->engine;
    const double power_w = 0.85 * engine->torque_peak_nm * POWER_SHARE *
                           engine->max_rpm / RPM_PER_RAD_S;
    double *target = sim_allocate(track->n, sizeof(double));
    sim_lap_targets(session, NULL, target);
    struct sim_guess guess = {0};
    double v = 8.0;
    for (size_t k = 0; k < 2 * track->n; k++) {
        const size_t i = k % track->n;
        const double side = v * v * fabs(track->curvature_1_m[i]);
        const double pull_n =
            power_w / fmax(v, 5.0) - 0.6 * kart->drag_area_m2 * v * v -
            kart->mass_kg * (9.81 * kart->rolling + 0.08 * side);
        v = sqrt(
            fmax(v * v + 2.0 * track->step_m * pull_n / kart->mass_kg, 4.0));
        v = fmin(v, target[i]);
        if (k < track->n)
            continue;
        guess.lap_s += track->step_m / v;
        guess.top_m_s = fmax(guess.top_m_s, v);
    }
    free(target);
    return guess;
}

/* Benches and yards are few, but a tool that finds laps there is wrong. */
static const char *draw_group(struct sim_session *session,
                              struct sim_random *random)
{
    const double dice = sim_between(random, 0.0, 1.0);
    session->engine.four_stroke = sim_chance(random, 0.25);
    session->plan.place = SIM_ON_TRACK;
    if (dice < 0.04) {
        session->plan.place = SIM_ON_BENCH;
        return "bench";
    }
    if (dice < 0.08) {
        session->plan.place = SIM_IN_YARD;
        return "yard";
    }
    if (dice < 0.22)
        return "learner";
    return session->engine.four_stroke ? "four_stroke" : "two_stroke";
}

enum { STREAM_TRACK = 1, STREAM_KART, STREAM_PLAN, STREAM_LOGGER = 7 };

void sim_draw(struct sim_session *session, unsigned long seed, enum sim_set set)
{
    *session = (struct sim_session){
        .seed = seed, .set = set, .widen = set == SIM_SCORE ? 0.3 : 0.0};
    struct sim_random random =
        sim_random_open(seed, STREAM_TRACK, session->widen);
    session->group = draw_group(session, &random);
    session->track =
        session->plan.place == SIM_ON_TRACK
            ? sim_track_build(&random, sim_log_span(&random, 420, 1400))
            : sim_track_straight(4000.0);
    sim_random_close(&random);

    random = sim_random_open(seed, STREAM_KART, session->widen);
    sim_draw_engine(session, &random);
    sim_draw_driver(session, &random);
    sim_draw_kart(session, &random);
    sim_draw_exhaust(session, &random);
    sim_random_close(&random);

    struct sim_guess guess = sim_guess_lap(session);
    random = sim_random_open(seed, STREAM_PLAN, session->widen);
    sim_draw_plan(session, &random, &guess);
    sim_draw_faults(session, &random, &guess);
    sim_random_close(&random);

    random = sim_random_open(seed, STREAM_LOGGER, session->widen);
    sim_draw_logger(session, &random);
    sim_random_close(&random);
}

void sim_session_free(struct sim_session *session)
{
    sim_track_free(&session->track);
}
