/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drives one session, step by step, and keeps the trace of true states.
 *
 * A session goes: engine off, cranking, idling, driving, idling, off. Each step
 * asks the faults, the driver, the engine, the drive train and the exhaust, in
 * that order. A second exhaust without the mixture faults runs beside the first
 * and says what a healthy engine would have shown.
 */
#include "sim_driver.h"
#include "sim_engine.h"
#include "sim_exhaust.h"
#include "sim_fault.h"
#include "sim_trace.h"

#include <math.h>

static const double STEP_S = 0.002;
static const double GRAVITY_M_S2 = 9.80665;
static const double RPM_PER_RAD_S = 9.549296585513721;
static const double LONGEST_SESSION_S = 1500.0;
/* A sound pump gives this much more than the engine ever takes. */
static const double PUMP_RESERVE = 1.2;
static const double CRANK_RPM = 550.0;
/* Wind comes in gusts: this share more and less, about once a minute. */
static const double GUST = 0.4;
static const double GUST_S = 47.0;

enum phase { ENGINE_OFF, CRANKING, IDLING, DRIVING, IDLING_AFTER, OVER };

struct runner {
    const struct sim_session *session;
    struct sim_hand hand;
    struct sim_random random;
    struct sim_drive drive;
    struct sim_heat heat, healthy;
    enum phase phase;
    double phase_from_s, crank_s, off_s;
    double time_s, distance_m, end_m;
    double low_rpm, high_rpm;
    double fuel;     /* bowl, 0 .. 1 */
    double lost_m_s; /* speed that starving has cost in this pull */
    double hang;     /* throttle left over by an air leak */
    double flutter, wander;
    double blip, blip_until_s;
    double cut_until_s;
    bool seized;
};

static double rpm_of(const struct runner *run)
{
    return run->drive.engine_rad_s * RPM_PER_RAD_S;
}

static void enter(struct runner *run, enum phase phase)
{
    run->phase = phase;
    run->phase_from_s = run->time_s;
}

/* The RPM range under load, from the targets of a lap without scatter. */
static void expect_range(struct runner *run)
{
    const struct sim_session *session = run->session;
    run->high_rpm = session->engine.max_rpm;
    run->low_rpm = 0.45 * run->high_rpm;
    if (session->plan.place != SIM_ON_TRACK)
        return;
    sim_lap_targets(session, NULL, run->hand.target_m_s);
    double slowest = 1e9;
    for (size_t i = 0; i < session->track.n; i++)
        slowest = fmin(slowest, run->hand.target_m_s[i]);
    const double rpm =
        slowest / session->kart.tyre_m * 60.0 * sim_ratio(&session->kart);
    run->low_rpm =
        fmin(fmax(rpm, session->kart.clutch_rpm), 0.75 * run->high_rpm);
}

static void start_running(struct runner *run)
{
    const struct sim_plan *plan = &run->session->plan;
    run->distance_m = plan->pit_m;
    run->end_m = plan->pit_m + plan->drive_m;
    run->fuel = 1.0;
    run->phase = plan->running_at_start ? IDLING : ENGINE_OFF;
    if (plan->running_at_start)
        run->drive.engine_rad_s = run->session->engine.idle_rpm / RPM_PER_RAD_S;
    if (!plan->rolling_start)
        return;
    run->phase = DRIVING;
    run->drive.speed_m_s =
        fmin(0.8 * sim_track_at(&run->session->track, run->hand.target_m_s,
                                run->distance_m),
             0.6 * run->high_rpm / sim_ratio(&run->session->kart) / 60.0 *
                 run->session->kart.tyre_m);
    run->drive.axle_rad_s =
        run->drive.speed_m_s / run->session->kart.tyre_m * 6.283185307179586;
    run->drive.engine_rad_s =
        run->drive.axle_rad_s * sim_ratio(&run->session->kart);
    const double warm_c = 0.6 * run->session->exhaust.full_c;
    run->heat = sim_heat_at(warm_c);
    run->healthy = run->heat;
}

/* A session that begins on the track begins in the middle of a lap, warm. */
static struct runner open_runner(const struct sim_session *session)
{
    struct runner run = {.session = session,
                         .hand = sim_hand_open(session),
                         .random =
                             sim_random_open(session->seed, 5, session->widen),
                         .heat = sim_heat_at(session->exhaust.ambient_c),
                         .healthy = sim_heat_at(session->exhaust.ambient_c)};
    run.off_s = sim_between(&run.random, 0.5, 8.0);
    run.crank_s = sim_between(&run.random, 0.3, 1.8);
    expect_range(&run);
    start_running(&run);
    return run;
}

/* Time-table of what is not driving. */
static void change_phase(struct runner *run)
{
    const struct sim_plan *plan = &run->session->plan;
    const double since_s = run->time_s - run->phase_from_s;
    switch (run->phase) {
    case ENGINE_OFF:
        if (run->seized && since_s > 8.0)
            enter(run, OVER);
        else if (!run->seized && since_s > run->off_s)
            enter(run, CRANKING);
        break;
    case CRANKING:
        if (since_s > run->crank_s)
            enter(run, run->distance_m > plan->pit_m + 1.0 ? DRIVING : IDLING);
        break;
    case IDLING:
        if (since_s > plan->idle_before_s) {
            enter(run, DRIVING);
            run->hand.launch_from_s = run->time_s;
        }
        break;
    case DRIVING:
        if (plan->place == SIM_ON_BENCH) {
            if (since_s > plan->laps)
                enter(run, IDLING_AFTER);
            break;
        }
        if (plan->ends_on_track && run->distance_m > run->end_m)
            enter(run, OVER);
        else if (run->distance_m > run->end_m - 1.0 &&
                 run->drive.speed_m_s < 0.1)
            enter(run, IDLING_AFTER);
        break;
    case IDLING_AFTER:
        if (since_s > plan->idle_after_s)
            enter(run, OVER);
        break;
    case OVER:
    default:
        break;
    }
    if (run->time_s > LONGEST_SESSION_S)
        enter(run, OVER);
}

/* Idling drivers blip the throttle; on the bench that is all there is. */
static double idle_blip(struct runner *run, double step_s)
{
    const bool on_bench =
        run->session->plan.place == SIM_ON_BENCH && run->phase == DRIVING;
    if (run->time_s > run->blip_until_s) {
        run->blip = 0.0;
        if (sim_chance(&run->random, step_s * (on_bench ? 0.35 : 0.1))) {
            run->blip = sim_between(&run->random, 0.04, on_bench ? 0.5 : 0.09);
            run->blip_until_s =
                run->time_s + sim_between(&run->random, 0.2, on_bench ? 6 : 1);
        }
    }
    return run->blip;
}

/* Fuel in the bowl: what the pump gives less what the engine takes. Returns the
 * percent by which a bowl that runs empty leans the mixture. */
static double starve(struct runner *run,
                     double restriction,
                     double demand,
                     double step_s)
{
    const double supply = PUMP_RESERVE * (1.0 - restriction);
    run->fuel += step_s / run->session->plan.fuel_store_s * (supply - demand);
    run->fuel = fmin(fmax(run->fuel, 0.0), 1.0);
    if (demand <= supply || run->fuel > 0.15)
        return 0.0;
    const double empty = 1.0 - run->fuel / 0.15;
    return fmin(100.0 * empty * (1.0 - supply / demand), 35.0);
}

/* 1 = fires. A governor fades, a limiter cuts for some revolutions. */
static double limiter_share(struct runner *run, double rpm)
{
    const struct sim_engine *engine = &run->session->engine;
    if (engine->limiter_rpm <= 0.0)
        return 1.0;
    if (engine->governor)
        return fmin(
            fmax((engine->limiter_rpm - rpm) / (0.04 * engine->limiter_rpm),
                 0.0),
            1.0);
    if (rpm > engine->limiter_rpm)
        run->cut_until_s = run->time_s + 0.03;
    return run->time_s < run->cut_until_s ? 0.0 : 1.0;
}

/* What the engine gives in this step, and the gas that goes with it. */
struct burn {
    double net_nm, load, lean_percent, fault_percent, starved, gas_nm;
    struct sim_gas gas, healthy;
};

/* Nothing stays quite the same: fuel sloshes, the air warms up. */
static const double WANDER_S = 15.0;

static double wander(struct runner *run, double step_s)
{
    const double kept = exp(-step_s / WANDER_S);
    run->wander =
        kept * run->wander +
        sim_normal(&run->random, run->session->exhaust.wander_percent *
                                     sqrt(1.0 - kept * kept));
    return run->wander +
           run->session->exhaust.drift_percent * run->time_s / 600.0;
}

static double own_map_percent(const struct sim_exhaust *exhaust,
                              double rpm_share)
{
    const double at = fmin(fmax(rpm_share, 0.0), 0.999) * 4.0;
    const size_t i = (size_t)at;
    return exhaust->map_percent[i] +
           (at - (double)i) *
               (exhaust->map_percent[i + 1] - exhaust->map_percent[i]);
}

/* A rich engine fires every other time at the top: torque flutters. */
static double flutter(struct runner *run,
                      double fault_percent,
                      double share,
                      double step_s)
{
    const double rich =
        fmax(-fault_percent - 5.0, 0.0) * fmax(share - 0.6, 0.0);
    const double sd = run->session->engine.flutter + 0.05 * rich;
    const double kept = exp(-step_s / 0.03);
    run->flutter = kept * run->flutter +
                   sim_normal(&run->random, sd * sqrt(1.0 - kept * kept));
    return 1.0 + run->flutter - 0.012 * rich;
}

static double idle_nm(const struct runner *run,
                      const struct sim_effect *effect,
                      double rpm)
{
    const struct sim_engine *engine = &run->session->engine;
    const double idle_rpm = engine->idle_rpm + effect->idle_rise_rpm;
    const double pull = (idle_rpm - rpm) / (0.3 * idle_rpm);
    return fmin(fmax(0.25 * engine->torque_peak_nm * pull +
                         sim_friction_nm(engine, rpm),
                     0.0),
                0.5 * engine->torque_peak_nm);
}

/* A leak holds the revs up after a lift and lets them down slowly. */
static double hanging(struct runner *run,
                      const struct sim_effect *effect,
                      double throttle,
                      double step_s)
{
    if (throttle > 0.3)
        run->hang = effect->hang;
    else
        run->hang *= exp(-step_s / 1.6);
    return fmax(throttle, run->hang);
}

static struct burn burn_fuel(struct runner *run,
                             const struct sim_effect *effect,
                             double throttle,
                             double step_s)
{
    const struct sim_session *session = run->session;
    const struct sim_engine *engine = &session->engine;
    const double rpm = rpm_of(run);
    const double share = rpm / engine->max_rpm;
    struct burn burn = {.fault_percent = effect->lean_percent};
    burn.load = sim_load(hanging(run, effect, throttle, step_s), share);
    const double lean_by_starving =
        starve(run, effect->restriction, share * burn.load, step_s);
    const double own_percent =
        own_map_percent(&session->exhaust, share) + wander(run, step_s);
    burn.lean_percent = own_percent + effect->lean_percent + lean_by_starving;
    const bool fires = run->phase != ENGINE_OFF && run->phase != CRANKING &&
                       !effect->spark_off && !run->seized;
    const double limited = limiter_share(run, rpm);
    const double fed = sim_mixture_torque(burn.lean_percent - lean_by_starving);
    const double mixture = sim_mixture_torque(burn.lean_percent);
    burn.starved = 1.0 - mixture / fmax(fed, 0.02);
    burn.gas_nm = sim_full_torque_nm(engine, rpm) * burn.load * limited * fed *
                  flutter(run, burn.fault_percent, share, step_s);
    const double friction_nm =
        sim_friction_nm(engine, rpm) * (1.0 - burn.load) +
        effect->drag_nm_share * engine->torque_peak_nm;
    burn.net_nm = fires ? burn.gas_nm * (1.0 - burn.starved) +
                              idle_nm(run, effect, rpm) - friction_nm
                        : -sim_friction_nm(engine, rpm) - friction_nm;
    if (rpm < 0.45 * engine->idle_rpm && burn.net_nm < 0.0 && fires)
        burn.net_nm *= rpm / (0.45 * engine->idle_rpm);
    burn.gas = (struct sim_gas){share, burn.load * limited, burn.lean_percent,
                                run->drive.speed_m_s, fires};
    burn.healthy = burn.gas;
    burn.healthy.lean_percent = own_percent;
    return burn;
}

/* Drag, rolling, slope and sliding, as a force against motion. */
static double resistance_n(const struct runner *run,
                           const struct sim_pedals *pedals)
{
    const struct sim_session *session = run->session;
    const struct sim_kart *kart = &session->kart;
    const struct sim_track *track = &session->track;
    const double v = run->drive.speed_m_s;
    if (v < 0.02)
        return 0.0;
    const double heading =
        sim_track_at(track, track->heading_rad, run->distance_m);
    const double gust =
        1.0 + GUST * sin(6.283185307179586 * run->time_s / GUST_S);
    const double wind =
        gust * kart->wind_m_s * cos(kart->wind_heading_rad - heading);
    const double air = v - wind;
    const double bend =
        sim_track_at(track, track->curvature_1_m, run->distance_m);
    const double side_m_s2 = v * v * fabs(bend);
    const double at_limit = fmin(side_m_s2 / (kart->grip * GRAVITY_M_S2), 1.2);
    return 0.6 * kart->drag_area_m2 * air * fabs(air) *
               (1.0 - pedals->shelter) +
           kart->mass_kg * (GRAVITY_M_S2 * (kart->rolling +
                                            sim_track_at(track, track->slope,
                                                         run->distance_m)) +
                            0.1 * side_m_s2 * at_limit + pedals->scrub_m_s2);
}

static struct sim_forces forces_on(const struct runner *run,
                                   const struct sim_effect *effect,
                                   const struct sim_pedals *pedals,
                                   double engine_nm)
{
    const struct sim_session *session = run->session;
    const struct sim_kart *kart = &session->kart;
    const double v = run->drive.speed_m_s;
    const double side =
        v * v *
        fabs(sim_track_at(&session->track, session->track.curvature_1_m,
                          run->distance_m)) /
        (kart->grip * GRAVITY_M_S2);
    return (struct sim_forces){
        .engine_nm = engine_nm,
        .brake_nm = pedals->brake * kart->brake_m_s2 * kart->mass_kg *
                    kart->tyre_m / 6.283185307179586,
        .resist_n = resistance_n(run, pedals),
        .grip_n = kart->grip * GRAVITY_M_S2 * kart->mass_kg *
                  pedals->grip_share * sqrt(fmax(1.0 - side * side, 0.08)),
        .clutch_share = effect->clutch_share * (effect->chain_slips ? 0.15 : 1),
        .clutch_rpm = kart->clutch_rpm * (1.0 + effect->clutch_rise),
        .chain_off = session->plan.place == SIM_ON_BENCH};
}

static struct sim_pedals pedals_now(struct runner *run, double step_s)
{
    struct sim_pedals pedals = {.brake = 1.0, .grip_share = 1.0};
    if (run->phase == DRIVING && run->session->plan.place != SIM_ON_BENCH) {
        const struct sim_seen seen = {run->time_s, run->distance_m,
                                      run->drive.speed_m_s, run->end_m};
        pedals = sim_hand_step(&run->hand, run->session, &seen, step_s);
    } else if (run->phase != ENGINE_OFF && run->phase != CRANKING) {
        pedals.throttle = idle_blip(run, step_s);
    }
    if (run->phase == ENGINE_OFF && run->drive.speed_m_s > 0.5)
        pedals.brake = 0.3;
    return pedals;
}

static void note_loss(struct runner *run,
                      const struct burn *burn,
                      double step_s)
{
    const struct sim_kart *kart = &run->session->kart;
    if (burn->load > 0.5)
        run->lost_m_s += step_s * burn->starved * burn->gas_nm *
                         sim_ratio(kart) * 6.283185307179586 / kart->tyre_m /
                         kart->mass_kg;
    else
        run->lost_m_s *= exp(-step_s / 0.2);
}

static void turn_starter(struct runner *run)
{
    if (run->phase == CRANKING)
        run->drive.engine_rad_s =
            CRANK_RPM / RPM_PER_RAD_S * (1.0 + 0.15 * sin(30.0 * run->time_s));
    /* It has caught: the first revolutions bring it to idle. */
    if (run->phase == CRANKING &&
        run->time_s - run->phase_from_s > run->crank_s - 0.01)
        run->drive.engine_rad_s =
            0.7 * run->session->engine.idle_rpm / RPM_PER_RAD_S;
}

static struct sim_now now(const struct runner *run,
                          const struct burn *burn,
                          const struct sim_pedals *pedals,
                          double lean_percent)
{
    const struct sim_session *session = run->session;
    const struct sim_seen seen = {run->time_s, run->distance_m,
                                  run->drive.speed_m_s, run->end_m};
    const double ratio = sim_ratio(&session->kart);
    const double v = run->drive.speed_m_s;
    const double slip_rad_s =
        run->drive.engine_rad_s - ratio * run->drive.axle_rad_s;
    return (struct sim_now){
        .distance_m = run->distance_m,
        .aside_m = sim_hand_aside_m(&run->hand, session, &seen),
        .speed_m_s = v,
        .axle_rpm = run->drive.axle_rad_s * ratio * RPM_PER_RAD_S,
        .engine_rpm = rpm_of(run),
        .throttle = pedals->throttle,
        .load = burn->gas.firing ? burn->load : 0.0,
        .lean_percent = lean_percent,
        .starved = burn->starved,
        .lost_rpm = run->lost_m_s / session->kart.tyre_m * 60.0 * ratio,
        .probe_c = run->heat.probe_c,
        .healthy_c = run->healthy.probe_c,
        .accel_m_s2 = run->drive.accel_m_s2,
        .lateral_m_s2 =
            v * v *
            sim_track_at(&session->track, session->track.curvature_1_m,
                         run->distance_m),
        .clutch_nm = run->drive.clutch_nm,
        .clutch_w = fabs(run->drive.clutch_nm * slip_rad_s),
        .running = run->phase != ENGINE_OFF && run->phase != CRANKING &&
                   rpm_of(run) > 0.4 * session->engine.idle_rpm};
}

static void take_step(struct runner *run, struct sim_trace *trace)
{
    const struct sim_session *session = run->session;
    const struct sim_moment moment = {run->time_s, rpm_of(run), run->low_rpm,
                                      run->high_rpm};
    const struct sim_effect effect = sim_faults_at(&session->plan, &moment);
    const struct sim_pedals pedals = pedals_now(run, STEP_S);
    if (pedals.stalled || (effect.seized && !run->seized)) {
        run->seized = effect.seized;
        run->off_s = sim_between(&run->random, 3.0, 15.0);
        enter(run, ENGINE_OFF);
    }
    const struct burn burn = burn_fuel(run, &effect, pedals.throttle, STEP_S);
    note_loss(run, &burn, STEP_S);
    const struct sim_forces forces =
        forces_on(run, &effect, &pedals, burn.net_nm);
    sim_drive_step(&run->drive, session, &forces, STEP_S);
    turn_starter(run);
    run->distance_m += STEP_S * run->drive.speed_m_s;
    sim_heat_step(&run->heat, &session->exhaust, &burn.gas, STEP_S);
    sim_heat_step(&run->healthy, &session->exhaust, &burn.healthy, STEP_S);
    struct sim_now row = now(run, &burn, &pedals, effect.lean_percent);
    /* A leaking joint draws air in: the probe reads a thinner, cooler gas. */
    row.probe_c -=
        effect.leak_share * (row.probe_c - session->exhaust.ambient_c);
    sim_trace_add(trace, &row);
    run->time_s += STEP_S;
    change_phase(run);
}

struct sim_trace sim_run(const struct sim_session *session)
{
    struct runner run = open_runner(session);
    struct sim_trace trace = sim_trace_open(STEP_S, LONGEST_SESSION_S);
    while (run.phase != OVER && trace.n < trace.room)
        take_step(&run, &trace);
    sim_hand_free(&run.hand);
    sim_random_close(&run.random);
    return trace;
}
