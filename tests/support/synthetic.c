/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Made-up sessions: a lap is a table of straights, stretched by each lap's own
 * pace; RPM follows speed while the clutch is locked. */
#include "support/synthetic.h"

#include "core/array.h"
#include "core/text.h"
#include "support/check.h"

#include <stdlib.h>

/* Where the made-up track lies: open sea. */
static const double CENTRE_LAT_DEG = 51.5;
static const double CENTRE_LON_DEG = 3.0;
static const double M_EACH_DEGREE = 111195.0; /* on a sphere of 6,371 km */
static const double PI = 3.14159265358979323846;

static const double SLIP_S = 2.0;    /* the clutch slips that long at a start */
static const double JOIN_S = 3.0;    /* from lock-up to the pace of the lap */
static const double BRAKE_S = 4.0;   /* from the pace of the lap to a stop */
static const double PULL_TAU = 0.45; /* how fast a pull flattens, of itself */

/* One straight and the bend after it. share: of the lap time; pull, brake: of
 * the straight's own time, the rest holds the bend; top, slow: 0 is the slowest
 * bend of the lap, 1 the fastest reading. */
struct straight {
    double share;
    double pull;
    double brake;
    double top;
    double slow;
};

static const struct straight track[] = {
    {0.34, 0.76, 0.14, 1.00, 0.00},
    {0.19, 0.66, 0.20, 0.55, 0.18},
    {0.27, 0.72, 0.16, 0.83, 0.08},
    {0.20, 0.68, 0.18, 0.62, 0.30},
};

enum { N_STRAIGHTS = sizeof track / sizeof track[0] };

struct synthetic_options synthetic_defaults(void)
{
    return (struct synthetic_options){
        .rate_hz = 20.0,
        .laps = 8,
        .lap_s = 48.0,
        .lap_scatter = 0.005,
        .rpm_top = 14800.0,
        .rpm_slow = 6500.0,
        .idle_rpm = 2200.0,
        .clutch_rpm = 4300.0,
        .standing_s = 15.0,
        .speed_top_m_s = 30.0,
        .egt_top_c = 640.0,
        .egt_idle_c = 250.0,
        .probe_lag_s = 1.2,
        .rpm_noise = 25.0,
        .egt_noise_c = 0.8,
        .rpm_step = 10.0,
        .egt_step_c = 0.5,
        .has_egt = true,
        .seed = 1,
    };
}

/* Steele, Lea and Flood 2014, "splitmix64" step, from memory; any generator
 * would do. */
static double uniform(struct synthetic *s)
{
    uint64_t z = s->random += 0x9E3779B97F4A7C15U;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

double synthetic_normal(struct synthetic *s)
{
    const double radius = sqrt(-2.0 * log(uniform(s)));
    return radius * cos(2.0 * PI * uniform(s));
}

/* Pace at a place of the lap, 0 to 1, and whether the engine pulls there. */
static double pace_at(double place, double *load)
{
    size_t i = 0;
    while (i + 1 < N_STRAIGHTS && place >= track[i].share)
        place -= track[i++].share;
    const struct straight *now = &track[i];
    const double from = track[(i + N_STRAIGHTS - 1) % N_STRAIGHTS].slow;
    const double part = place / now->share;
    *load = part < now->pull ? 1.0 : 0.0;
    if (part < now->pull) {
        const double rise = 1.0 - exp(-part / now->pull / PULL_TAU);
        return from + (now->top - from) * rise / (1.0 - exp(-1.0 / PULL_TAU));
    }
    if (part < now->pull + now->brake)
        return now->top +
               (now->slow - now->top) * (part - now->pull) / now->brake;
    return now->slow;
}

/* Where a moment lies in the session. */
struct moment {
    double rpm;
    double axle_rpm; /* engine speed that the rolling kart would give */
    double load;
};

static double smooth_step(double part)
{
    return part * part * (3.0 - 2.0 * part);
}

static struct moment lap_moment(const struct synthetic *s, double time_s)
{
    size_t lap = 0;
    while (lap + 2 < s->n_laps && time_s >= s->lap_start_s[lap + 1])
        lap++;
    const double length_s = s->lap_start_s[lap + 1] - s->lap_start_s[lap];
    struct moment at = {0};
    const double pace =
        pace_at((time_s - s->lap_start_s[lap]) / length_s, &at.load);
    const struct synthetic_options *o = &s->options;
    at.rpm =
        (o->rpm_slow + (o->rpm_top - o->rpm_slow) * pace) * o->lap_s / length_s;
    at.axle_rpm = at.rpm;
    return at;
}

static struct moment moment_at(const struct synthetic *s, double time_s)
{
    const struct synthetic_options *o = &s->options;
    const double stop_s = s->lap_start_s[s->n_laps - 1];
    if (time_s < s->start_s || time_s >= stop_s + BRAKE_S)
        return (struct moment){o->idle_rpm, 0.0, 0.0};
    if (time_s < s->locked_s) {
        const double part = (time_s - s->start_s) / SLIP_S;
        return (struct moment){o->clutch_rpm, o->clutch_rpm * part, 1.0};
    }
    if (time_s >= stop_s) {
        const double part = (time_s - stop_s) / BRAKE_S;
        const double pace = track[N_STRAIGHTS - 1].slow;
        const double lap_rpm = o->rpm_slow + (o->rpm_top - o->rpm_slow) * pace;
        const double axle_rpm = lap_rpm * (1.0 - part);
        const double rpm = axle_rpm > o->clutch_rpm ? axle_rpm : o->idle_rpm;
        return (struct moment){rpm, axle_rpm, 0.0};
    }
    struct moment at = lap_moment(s, time_s);
    const double joined = (time_s - s->locked_s) / JOIN_S;
    if (joined < 1.0) {
        at.rpm = o->clutch_rpm + (at.rpm - o->clutch_rpm) * smooth_step(joined);
        at.axle_rpm = at.rpm;
        at.load = 1.0;
    }
    return at;
}

/* Gas temperature for RPM and load: warmer with speed, cold off the load. */
static double gas_for(const struct synthetic_options *o,
                      const struct moment *at)
{
    const double share = at->rpm / o->rpm_top;
    const double loaded_c =
        o->egt_idle_c + (o->egt_top_c - o->egt_idle_c) * (0.45 + 0.55 * share);
    if (at->load > 0.5)
        return loaded_c;
    return o->egt_idle_c + (loaded_c - o->egt_idle_c) * 0.45 * share;
}

static double *new_doubles(size_t n)
{
    double *values = kw_array_new(n, sizeof *values, NULL);
    assert_non_null(values);
    return values;
}

static void plan_laps(struct synthetic *s)
{
    const struct synthetic_options *o = &s->options;
    s->n_laps = o->laps + 3;
    s->lap_start_s = new_doubles(s->n_laps);
    s->start_s = o->standing_s;
    s->locked_s = o->standing_s + SLIP_S;
    double at_s = s->locked_s;
    for (size_t i = 0; i < s->n_laps; i++) {
        s->lap_start_s[i] = at_s;
        at_s += o->lap_s * (1.0 + o->lap_scatter * synthetic_normal(s));
    }
}

/* A lap covers the same metres whatever its time: mean pace times lap time. */
static double lap_length_m(const struct synthetic_options *o)
{
    enum { STEPS = 20000 };
    double mean = 0.0;
    for (int k = 0; k < STEPS; k++) {
        double load;
        mean += pace_at((k + 0.5) / STEPS, &load) / STEPS;
    }
    const double rpm = o->rpm_slow + (o->rpm_top - o->rpm_slow) * mean;
    return rpm / o->rpm_top * o->speed_top_m_s * o->lap_s;
}

/* The track is a circle in plan: enough for a line to cross. */
static void place_on_track(struct synthetic *s)
{
    s->lat_deg = new_doubles(s->n);
    s->lon_deg = new_doubles(s->n);
    const double lap_m = lap_length_m(&s->options);
    const double radius_deg = lap_m / (2.0 * PI) / M_EACH_DEGREE;
    double driven_m = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        const double angle = 2.0 * PI * driven_m / lap_m;
        s->lat_deg[i] = CENTRE_LAT_DEG + radius_deg * sin(angle);
        s->lon_deg[i] = CENTRE_LON_DEG + radius_deg * cos(angle) /
                                             cos(CENTRE_LAT_DEG * PI / 180.0);
        driven_m += s->speed_m_s[i] / s->options.rate_hz;
    }
}

static void fill(struct synthetic *s)
{
    const struct synthetic_options *o = &s->options;
    for (size_t i = 0; i < s->n; i++) {
        s->time_s[i] = (double)i / o->rate_hz;
        const struct moment at = moment_at(s, s->time_s[i]);
        s->rpm[i] = at.rpm + o->rpm_noise * synthetic_normal(s);
        s->speed_m_s[i] = at.axle_rpm / o->rpm_top * o->speed_top_m_s;
        s->load[i] = at.load;
        s->gas_c[i] = gas_for(o, &at);
    }
    if (o->has_position)
        place_on_track(s);
}

struct synthetic synthetic_new(const struct synthetic_options *options)
{
    struct synthetic s = {.options = *options, .random = options->seed};
    plan_laps(&s);
    const double end_s =
        s.lap_start_s[s.n_laps - 1] + BRAKE_S + options->standing_s;
    s.n = (size_t)(end_s * options->rate_hz) + 1;
    s.time_s = new_doubles(s.n);
    s.rpm = new_doubles(s.n);
    s.gas_c = new_doubles(s.n);
    s.egt_c = new_doubles(s.n);
    s.speed_m_s = new_doubles(s.n);
    s.load = new_doubles(s.n);
    fill(&s);
    synthetic_follow_gas(&s);
    return s;
}

void synthetic_free(struct synthetic *s)
{
    free(s->time_s);
    free(s->rpm);
    free(s->gas_c);
    free(s->egt_c);
    free(s->speed_m_s);
    free(s->load);
    free(s->lat_deg);
    free(s->lon_deg);
    free(s->lap_start_s);
    *s = (struct synthetic){0};
}

size_t synthetic_at(const struct synthetic *s, double time_s)
{
    size_t i = 0;
    while (i < s->n && s->time_s[i] < time_s)
        i++;
    return i;
}

double synthetic_highest_rpm(const struct synthetic *s, size_t from, size_t to)
{
    double highest = 0.0;
    for (size_t i = from; i < to; i++)
        highest = fmax(highest, s->rpm[i]);
    return highest;
}

void synthetic_lose_signal(struct synthetic *s,
                           double start_s,
                           double end_s,
                           double factor)
{
    for (size_t i = synthetic_at(s, start_s); i < synthetic_at(s, end_s); i++)
        s->rpm[i] *= factor;
}

void synthetic_freeze_signal(struct synthetic *s, double start_s, double end_s)
{
    const size_t from = synthetic_at(s, start_s);
    for (size_t i = from; i < synthetic_at(s, end_s); i++)
        s->rpm[i] = s->rpm[from];
}

void synthetic_starve(struct synthetic *s,
                      double start_s,
                      double end_s,
                      double depth_rpm,
                      double extra_c)
{
    for (size_t i = synthetic_at(s, start_s); i < synthetic_at(s, end_s); i++) {
        const double part = (s->time_s[i] - start_s) / (end_s - start_s);
        s->rpm[i] -= depth_rpm * part;
        s->gas_c[i] += extra_c * part;
    }
    synthetic_follow_gas(s);
}

/* The other straights end at 0.83 of the range and less. */
static const double LONGEST_SHARE = 0.9;

bool synthetic_next_longest(const struct synthetic *s, size_t *from, size_t *to)
{
    const double range_rpm = s->options.rpm_top - s->options.rpm_slow;
    const double longest_rpm = s->options.rpm_slow + LONGEST_SHARE * range_rpm;
    for (; *from < s->n; *from = *to + 1) {
        *to = *from;
        while (*to < s->n && s->load[*to] > 0.5)
            (*to)++;
        if (synthetic_highest_rpm(s, *from, *to) > longest_rpm)
            return true;
    }
    return false;
}

static const double BRAKES_RPM_S = 4000.0;

void synthetic_sink(struct synthetic *s,
                    size_t from,
                    size_t to,
                    double from_rpm,
                    double sinks_rpm_s)
{
    const double since_s = s->time_s[from];
    const double until_s = s->time_s[to - 1];
    for (size_t i = from; i < s->n; i++) {
        const double for_s = fmin(s->time_s[i], until_s) - since_s;
        const double braked_s = fmax(s->time_s[i] - until_s, 0.0);
        const double rpm =
            fmax(from_rpm - sinks_rpm_s * for_s - BRAKES_RPM_S * braked_s,
                 s->options.rpm_slow);
        if (i >= to && s->rpm[i] <= rpm)
            break;
        s->rpm[i] = fmin(s->rpm[i], rpm);
    }
}

void synthetic_lean(struct synthetic *s,
                    double start_s,
                    double end_s,
                    double extra_c)
{
    for (size_t i = synthetic_at(s, start_s); i < synthetic_at(s, end_s); i++)
        s->gas_c[i] += s->load[i] * extra_c;
    synthetic_follow_gas(s);
}

void synthetic_stop_engine(struct synthetic *s, double start_s, double end_s)
{
    for (size_t i = synthetic_at(s, start_s); i < synthetic_at(s, end_s); i++) {
        s->rpm[i] = 0.0;
        s->load[i] = 0.0;
        s->gas_c[i] = 60.0;
    }
    synthetic_follow_gas(s);
}

void synthetic_fix_probe(struct synthetic *s,
                         double start_s,
                         double end_s,
                         double reading_c)
{
    for (size_t i = synthetic_at(s, start_s); i < synthetic_at(s, end_s); i++)
        s->egt_c[i] = reading_c;
}

void synthetic_follow_gas(struct synthetic *s)
{
    const struct synthetic_options *o = &s->options;
    const double keep =
        o->probe_lag_s > 0.0 ? exp(-1.0 / (o->rate_hz * o->probe_lag_s)) : 0.0;
    double probe_c = s->gas_c[0];
    /* The same noise each time, so that a fault changes nothing else. */
    const uint64_t random = s->random;
    s->random = o->seed + 1;
    for (size_t i = 0; i < s->n; i++) {
        probe_c = s->gas_c[i] + (probe_c - s->gas_c[i]) * keep;
        s->egt_c[i] = probe_c + o->egt_noise_c * synthetic_normal(s);
    }
    s->random = random;
}

static void add_channel(struct kw_log *log,
                        enum kw_role role,
                        const char *column,
                        const double *values,
                        double step)
{
    struct kw_channel *channel = &log->channels[log->n_channels++];
    channel->role = role;
    channel->column = kw_text_duplicate(column, NULL);
    channel->unit = kw_text_duplicate("", NULL);
    channel->why = kw_text_duplicate("made up", NULL);
    assert_non_null(channel->column);
    assert_non_null(channel->unit);
    assert_non_null(channel->why);
    if (values == NULL)
        return;
    channel->values = new_doubles(log->rows_used);
    for (size_t i = 0; i < log->rows_used; i++) {
        channel->values[i] =
            step > 0.0 ? step * round(values[i] / step) : values[i];
        channel->missing += isnan(values[i]) ? 1 : 0;
    }
}

void synthetic_log(const struct synthetic *s, struct kw_log *log)
{
    enum { MOST_CHANNELS = 7 };
    const struct synthetic_options *o = &s->options;
    *log = (struct kw_log){
        .data_rows = s->n,
        .rows_used = s->n,
        .sample_rate_hz = o->rate_hz,
        .duration_s = s->time_s[s->n - 1],
        .start_unix_s = NAN,
    };
    log->path = kw_text_duplicate("made-up.csv", NULL);
    log->channels = kw_array_new(MOST_CHANNELS, sizeof *log->channels, NULL);
    assert_non_null(log->path);
    assert_non_null(log->channels);
    log->time_s = new_doubles(s->n);
    for (size_t i = 0; i < s->n; i++)
        log->time_s[i] = s->time_s[i];
    add_channel(log, KW_ROLE_TIME, "Time", NULL, 0.0);
    add_channel(log, KW_ROLE_RPM, "RPM", s->rpm, o->rpm_step);
    if (o->has_egt)
        add_channel(log, KW_ROLE_EGT, "EGT", s->egt_c, o->egt_step_c);
    if (o->has_speed)
        add_channel(log, KW_ROLE_SPEED, "Speed", s->speed_m_s, 0.0);
    if (o->has_position) {
        add_channel(log, KW_ROLE_LATITUDE, "Lat", s->lat_deg, 0.0);
        add_channel(log, KW_ROLE_LONGITUDE, "Lon", s->lon_deg, 0.0);
    }
    if (o->has_throttle)
        add_channel(log, KW_ROLE_THROTTLE, "Throttle", s->load, 0.0);
}

void synthetic_session(const struct synthetic *s,
                       const struct kw_profile *profile,
                       struct kw_session *session)
{
    struct kw_log log;
    struct kw_error error = {0};
    synthetic_log(s, &log);
    if (kw_session_from_log(&log, profile, session, &error) != KW_OK)
        fail_msg("cleaning a made-up log: %s", error.what);
    kw_log_free(&log);
}
