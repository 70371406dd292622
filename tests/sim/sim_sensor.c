/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings from true states, see sim_sensor.h. */
#include "sim_sensor.h"

#include "sim_trace.h"

#include <math.h>
#include <stdlib.h>

static const double DEGREE = 0.017453292519943295;
/* Equatorial radius and flattening of the WGS 84 ellipsoid. */
static const double ELLIPSOID_M = 6378137.0;
static const double FLATTENING = 1.0 / 298.257223563;

void sim_degrees(const struct sim_logger *logger,
                 double east_m,
                 double north_m,
                 double *latitude,
                 double *longitude)
{
    const double e2 = FLATTENING * (2.0 - FLATTENING);
    const double s = sin(logger->latitude * DEGREE);
    const double w = sqrt(1.0 - e2 * s * s);
    const double along_m = ELLIPSOID_M * (1.0 - e2) / (w * w * w);
    const double across_m = ELLIPSOID_M / w * cos(logger->latitude * DEGREE);
    *latitude = logger->latitude + north_m / along_m / DEGREE;
    *longitude = logger->longitude + east_m / across_m / DEGREE;
}

double sim_rpm_moment_s(const struct sim_logger *logger, double row_s)
{
    if (logger->rpm_update_hz >= logger->rate_hz)
        return row_s;
    return floor(row_s * logger->rpm_update_hz + 1e-6) / logger->rpm_update_hz;
}

static double rounded(double value, double step)
{
    return round(value / step) * step;
}

/* Everything that lasts from row to row. */
struct bench {
    const struct sim_session *session;
    const struct sim_trace *trace;
    struct sim_random random;
    double rpm, rpm_moment_s;
    double egt_c, egt_moment_s, egt_wander;
    double speed_m_s, east_m, north_m, fix_s;
    double drift_east_m, drift_north_m;
    double water_c, head_c, before_s;
    double open_reading_c;
    double sky_hidden_until_s;
    double phase; /* of the slow updates */
};

/* Mean engine speed over the time that the pulses are counted. */
static double counted_rpm(const struct bench *bench, double at_s)
{
    const double window_s =
        fmin(1.0 / bench->session->logger.rpm_update_hz, 0.25);
    double sum = 0.0;
    for (int i = 0; i < 8; i++)
        sum += sim_trace_at(bench->trace, bench->trace->engine_rpm,
                            at_s - window_s * (i + 0.5) / 8.0);
    return sum / 8.0;
}

static double through_bad_contact(const struct bench *bench,
                                  double at_s,
                                  double rpm)
{
    const struct sim_plan *plan = &bench->session->plan;
    for (size_t i = 0; i < plan->n_faults; i++) {
        const struct sim_fault *fault = &plan->fault[i];
        if ((fault->kind != SIM_LOOSE && fault->kind != SIM_GLITCH) ||
            at_s < fault->start_s || at_s >= fault->end_s)
            continue;
        switch (fault->signal) {
        case SIM_ZERO:
            return 0.0;
        case SIM_HALF:
            return rpm / 2.0;
        case SIM_DOUBLE:
            return rpm * 2.0;
        case SIM_FROZEN:
            return counted_rpm(bench, fault->start_s);
        case SIM_TRUE:
        default:
            break;
        }
    }
    return rpm;
}

static double read_rpm(struct bench *bench, double at_s)
{
    const struct sim_logger *logger = &bench->session->logger;
    const double moment_s = sim_rpm_moment_s(logger, at_s);
    if (moment_s > bench->rpm_moment_s) {
        bench->rpm_moment_s = moment_s;
        double rpm = counted_rpm(bench, moment_s);
        if (rpm > 50.0)
            rpm += sim_normal(&bench->random, logger->rpm_noise);
        rpm = through_bad_contact(bench, moment_s, rpm);
        bench->rpm = fmax(rounded(rpm, logger->rpm_step), 0.0);
    }
    return bench->rpm;
}

static bool probe_is_open(const struct bench *bench, double at_s)
{
    const struct sim_plan *plan = &bench->session->plan;
    for (size_t i = 0; i < plan->n_faults; i++)
        if (plan->fault[i].kind == SIM_OPEN_PROBE &&
            at_s >= plan->fault[i].start_s && at_s < plan->fault[i].end_s)
            return true;
    return false;
}

/* A leaking joint makes the reading wander: slow noise that grows with it. */
static double leak_wander_c(struct bench *bench, double at_s, double past_s)
{
    double share = 0.0;
    const struct sim_plan *plan = &bench->session->plan;
    for (size_t i = 0; i < plan->n_faults; i++)
        if (plan->fault[i].kind == SIM_EXHAUST_LEAK &&
            at_s > plan->fault[i].start_s)
            share = plan->fault[i].strength;
    const double kept = exp(-past_s / 0.6);
    bench->egt_wander =
        kept * bench->egt_wander +
        sim_normal(&bench->random, 90.0 * share * sqrt(1.0 - kept * kept));
    return bench->egt_wander;
}

static double read_egt(struct bench *bench, double at_s)
{
    const struct sim_logger *logger = &bench->session->logger;
    const double hz = logger->egt_update_hz;
    const double moment_s =
        hz >= logger->rate_hz
            ? at_s
            : (floor(at_s * hz + bench->phase) - bench->phase) / hz;
    if (moment_s <= bench->egt_moment_s)
        return bench->egt_c;
    const double past_s = fmax(moment_s - fmax(bench->egt_moment_s, 0.0), 0.0);
    bench->egt_moment_s = moment_s;
    double c = sim_trace_at(bench->trace, bench->trace->probe_c, moment_s);
    c += sim_normal(&bench->random, logger->egt_noise_c);
    c += leak_wander_c(bench, moment_s, past_s);
    if (sim_chance(&bench->random, logger->egt_spikes_h * past_s / 3600.0))
        c += sim_between(&bench->random, -250.0, 400.0);
    if (probe_is_open(bench, moment_s))
        c = bench->open_reading_c;
    bench->egt_c = rounded(c, logger->egt_step_c);
    return bench->egt_c;
}

static void drift(struct bench *bench, double past_s)
{
    const double sd = bench->session->logger.gps_drift_m;
    const double kept = exp(-past_s / 90.0);
    const double new_sd = sd * sqrt(1.0 - kept * kept);
    bench->drift_east_m =
        kept * bench->drift_east_m + sim_normal(&bench->random, new_sd);
    bench->drift_north_m =
        kept * bench->drift_north_m + sim_normal(&bench->random, new_sd);
}

/* A fix: position and speed, held until the next one. */
static void take_fix(struct bench *bench, double at_s)
{
    const struct sim_session *session = bench->session;
    const struct sim_logger *logger = &session->logger;
    const struct sim_trace *trace = bench->trace;
    double moment_s = at_s;
    if (logger->gps_hz < logger->rate_hz * 0.999)
        moment_s =
            fmax(floor(at_s * logger->gps_hz + 1e-6) / logger->gps_hz, 0.0);
    if (moment_s <= bench->fix_s)
        return;
    if (sim_chance(&bench->random, logger->lost_fixes_h / 3600.0 *
                                       (moment_s - fmax(bench->fix_s, 0.0))))
        bench->sky_hidden_until_s =
            moment_s + sim_log_span(&bench->random, 0.8, 6.0);
    if (moment_s < bench->sky_hidden_until_s)
        return;
    drift(bench, moment_s - fmax(bench->fix_s, 0.0));
    bench->fix_s = moment_s;
    sim_track_point(&session->track,
                    sim_trace_at(trace, trace->distance_m, moment_s),
                    sim_trace_at(trace, trace->aside_m, moment_s),
                    &bench->east_m, &bench->north_m);
    bench->east_m +=
        bench->drift_east_m + sim_normal(&bench->random, logger->gps_noise_m);
    bench->north_m +=
        bench->drift_north_m + sim_normal(&bench->random, logger->gps_noise_m);
    const double v = logger->speed_is_wheel
                         ? sim_trace_at(trace, trace->axle_rpm, moment_s) /
                               sim_ratio(&session->kart) / 60.0 *
                               session->kart.tyre_m
                         : sim_trace_at(trace, trace->speed_m_s, moment_s);
    bench->speed_m_s =
        fmax(v + sim_normal(&bench->random, logger->speed_noise_m_s), 0.0);
}

/* Water and head follow the engine's work within a minute or two. */
static void warm(struct bench *bench, double at_s)
{
    const double past_s = at_s - bench->before_s;
    const double load = sim_trace_at(bench->trace, bench->trace->load, at_s);
    const double rpm =
        sim_trace_at(bench->trace, bench->trace->engine_rpm, at_s) /
        bench->session->engine.max_rpm;
    const double work = rpm * (0.2 + 0.8 * load);
    const double air_c = bench->session->exhaust.ambient_c;
    bench->water_c +=
        past_s / 80.0 * (air_c + 55.0 * work + 8.0 - bench->water_c);
    bench->head_c +=
        past_s / 40.0 * (air_c + 160.0 * work + 20.0 - bench->head_c);
    bench->before_s = at_s;
}

static double lap_number(const struct bench *bench, double at_s)
{
    const double length_m = bench->session->track.length_m;
    const double m = sim_trace_at(bench->trace, bench->trace->distance_m, at_s);
    return floor(m / length_m) - floor(bench->session->plan.pit_m / length_m);
}

static void put(struct sim_rows *rows, enum sim_column column, double value)
{
    if (rows->value[column] != NULL)
        rows->value[column][rows->n] = value;
}

static void take_row(struct bench *bench, struct sim_rows *rows, double at_s)
{
    const struct sim_session *session = bench->session;
    const struct sim_trace *trace = bench->trace;
    const double lap_before = lap_number(bench, bench->before_s);
    warm(bench, at_s);
    take_fix(bench, at_s);
    double latitude = 0.0, longitude = 0.0;
    sim_degrees(&session->logger, bench->east_m, bench->north_m, &latitude,
                &longitude);
    const double rpm = read_rpm(bench, at_s);
    const double egt = read_egt(bench, at_s);
    rows->true_s[rows->n] = at_s;
    put(rows, SIM_TIME, rounded(at_s, session->logger.stamp_step_s));
    put(rows, SIM_RPM, rpm);
    put(rows, SIM_EGT, egt);
    put(rows, SIM_EGT_TWO, 0.94 * egt + sim_normal(&bench->random, 2.0));
    put(rows, SIM_SPEED, bench->speed_m_s);
    put(rows, SIM_LATITUDE, latitude);
    put(rows, SIM_LONGITUDE, longitude);
    put(rows, SIM_LAP, lap_number(bench, at_s));
    put(rows, SIM_MARKER, lap_number(bench, at_s) > lap_before ? 1.0 : 0.0);
    put(rows, SIM_WATER, bench->water_c);
    put(rows, SIM_HEAD, bench->head_c);
    put(rows, SIM_THROTTLE, 100.0 * sim_trace_at(trace, trace->throttle, at_s));
    put(rows, SIM_AXLE,
        sim_trace_at(trace, trace->axle_rpm, at_s) / sim_ratio(&session->kart));
    put(rows, SIM_ACCEL_LONG,
        sim_trace_at(trace, trace->accel_m_s2, at_s) / 9.80665 +
            sim_normal(&bench->random, 0.05));
    put(rows, SIM_ACCEL_LAT,
        sim_trace_at(trace, trace->lateral_m_s2, at_s) / 9.80665 +
            sim_normal(&bench->random, 0.08));
    put(rows, SIM_BATTERY, 12.6 + sim_normal(&bench->random, 0.04));
    rows->n++;
}

static struct sim_rows open_rows(const struct sim_logger *logger, size_t room)
{
    const bool has[SIM_N_COLUMNS] = {true,
                                     true,
                                     true,
                                     logger->has_second_egt,
                                     logger->has_speed,
                                     logger->has_position,
                                     logger->has_position,
                                     logger->has_lap,
                                     logger->has_marker,
                                     logger->has_water,
                                     logger->has_head,
                                     logger->has_throttle,
                                     logger->has_axle,
                                     logger->has_accel,
                                     logger->has_accel,
                                     logger->has_battery};
    struct sim_rows rows = {.true_s = sim_allocate(room, sizeof(double))};
    for (size_t i = 0; i < SIM_N_COLUMNS; i++)
        if (has[i])
            rows.value[i] = sim_allocate(room, sizeof(double));
    return rows;
}

void sim_rows_free(struct sim_rows *rows)
{
    free(rows->true_s);
    for (size_t i = 0; i < SIM_N_COLUMNS; i++)
        free(rows->value[i]);
    *rows = (struct sim_rows){0};
}

/* A stamp that repeats or goes back: the row is there, its time is wrong. The
 * row of a lap marker is spared: with it the lap itself would be gone. */
static void spoil_stamps(struct bench *bench,
                         struct sim_rows *rows,
                         double per_row)
{
    double *time_s = rows->value[SIM_TIME];
    const double *marker = rows->value[SIM_MARKER];
    for (size_t i = 2; i < rows->n; i++)
        if (sim_chance(&bench->random, per_row) &&
            (marker == NULL || marker[i] < 0.5))
            time_s[i] =
                sim_chance(&bench->random, 0.6) ? time_s[i - 1] : time_s[i - 2];
}

static const double OPEN_READINGS_C[] = {1300.0, 1023.0, 999.0,
                                         1372.0, 0.0,    NAN};

static struct bench open_bench(const struct sim_session *session,
                               const struct sim_trace *trace)
{
    struct bench bench = {.session = session,
                          .trace = trace,
                          .random =
                              sim_random_open(session->seed, 8, session->widen),
                          .rpm_moment_s = -1.0,
                          .egt_moment_s = -1.0,
                          .fix_s = -1.0,
                          .water_c = session->exhaust.ambient_c,
                          .head_c = session->exhaust.ambient_c};
    bench.open_reading_c = OPEN_READINGS_C[sim_pick(&bench.random, 6)];
    bench.phase = sim_between(&bench.random, 0.0, 1.0);
    drift(&bench, 1e6);
    return bench;
}

struct sim_rows sim_measure(const struct sim_session *session,
                            const struct sim_trace *trace)
{
    const struct sim_logger *logger = &session->logger;
    const double end_s = trace->step_s * (double)(trace->n - 1);
    const size_t most = (size_t)(end_s * logger->rate_hz) + 1;
    struct bench bench = open_bench(session, trace);
    struct sim_rows rows = open_rows(logger, most + 1);
    double gap_until_s = -1.0;
    for (size_t k = 0; k < most; k++) {
        double at_s = (double)k / logger->rate_hz;
        if (k > 5) {
            const double jitter = sim_normal(&bench.random, logger->jitter_s);
            at_s += fmax(fmin(jitter, 0.35 / logger->rate_hz),
                         -0.35 / logger->rate_hz);
            const double rows_h = 3600.0 * logger->rate_hz;
            if (sim_chance(&bench.random, logger->gaps_h / rows_h))
                gap_until_s = at_s + sim_log_span(&bench.random, 0.3, 4.0);
            if (at_s < gap_until_s ||
                sim_chance(&bench.random, logger->lost_rows_h / rows_h))
                continue;
        }
        take_row(&bench, &rows, fmin(at_s, end_s));
    }
    spoil_stamps(&bench, &rows,
                 logger->odd_stamps_h / (3600.0 * logger->rate_hz));
    sim_random_close(&bench.random);
    return rows;
}
