/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The made-up drive, see drive_script.h. */
#include "support/drive_script.h"

#include "analysis/detectors.h"
#include "core/array.h"
#include "support/check.h"

/* Rates in shares of the highest RPM each second: a free engine, hard braking,
 * rolling. */
static const double FREE_EACH_S = 1.1;
static const double BRAKE_EACH_S = 0.24;
static const double COAST_EACH_S = 0.05;
static const double STEP_S = 0.001;

struct drive_options drive_defaults(void)
{
    return (struct drive_options){
        .rate_hz = 20.0,
        .idle_rpm = 2100.0,
        .clutch_rpm = 4200.0,
        .hold_rpm = 5000.0,
        .top_rpm = 14500.0,
        .launch_rpm_s = 1300.0,
        .rpm_per_m_s = 480.0,
        .rpm_noise = 15.0,
        .speed_noise_m_s = 0.05,
    };
}

struct state {
    double engine_rpm;
    double axle_rpm;
};

/* Moves a value towards another, no faster than a rate. */
static double approach(double from, double to, double most)
{
    return from + fmin(fmax(to - from, -most), most);
}

static void step(const struct drive_options *o,
                 enum foot_does does,
                 struct state *now)
{
    const bool open = does == PULL || does == FREE;
    const bool locked = now->axle_rpm >= 0.999 * now->engine_rpm &&
                        now->axle_rpm > 0.9 * o->clutch_rpm && does != FREE;
    const bool grips = now->engine_rpm >= o->clutch_rpm && does != FREE;
    double axle_rpm_s = -COAST_EACH_S * o->top_rpm;
    if (does == BRAKE || does == STAND)
        axle_rpm_s = -BRAKE_EACH_S * o->top_rpm;
    if (does == PULL && grips)
        axle_rpm_s = o->launch_rpm_s * (1.0 - 0.6 * now->axle_rpm / o->top_rpm);
    now->axle_rpm =
        fmin(fmax(now->axle_rpm + axle_rpm_s * STEP_S, 0.0), o->top_rpm);
    if (locked) {
        now->engine_rpm = now->axle_rpm;
        return;
    }
    double wanted_rpm = open ? o->hold_rpm : o->idle_rpm;
    if (does == FREE)
        wanted_rpm = o->top_rpm;
    now->engine_rpm = approach(now->engine_rpm, wanted_rpm,
                               FREE_EACH_S * o->top_rpm * STEP_S);
    if (grips && now->axle_rpm > now->engine_rpm)
        now->engine_rpm = now->axle_rpm;
}

/* A number of about the standard normal distribution (sum of twelve). */
static double normal(uint64_t *random)
{
    double sum = -6.0;
    for (int i = 0; i < 12; i++) {
        *random = *random * 6364136223846793005ULL + 1442695040888963407ULL;
        sum += (double)(*random >> 11) / 9007199254740992.0;
    }
    return sum;
}

static double *doubles(size_t n)
{
    double *values = kw_array_new(n, sizeof *values, NULL);
    assert_non_null(values);
    return values;
}

static void open_session(const struct drive_options *o,
                         double end_s,
                         struct kw_session *session)
{
    const size_t n = (size_t)(end_s * o->rate_hz);
    session->n_samples = n;
    session->rate_hz = o->rate_hz;
    session->probe_lag_s = NAN;
    session->time_s = doubles(n);
    session->rpm = doubles(n);
    session->rpm_raw = doubles(n);
    session->speed_m_s = o->has_speed ? doubles(n) : NULL;
    session->egt_c = o->has_egt ? doubles(n) : NULL;
    session->gas_c = o->has_egt ? doubles(n) : NULL;
}

/* Gas as hot as RPM and the throttle make it. */
static double gas_for(const struct drive_options *o,
                      const struct state *now,
                      enum foot_does does)
{
    const double share = now->engine_rpm / o->top_rpm;
    return does == PULL ? 350.0 + 270.0 * share : 250.0 + 120.0 * share;
}

static void note_start(const struct drive_options *o,
                       const struct state *now,
                       double time_s,
                       struct drive_script *out)
{
    if (isnan(out->start_s) && now->engine_rpm >= o->clutch_rpm)
        out->start_s = time_s;
    if (!isnan(out->start_s) && isnan(out->locked_s) &&
        now->axle_rpm >= 0.97 * now->engine_rpm)
        out->locked_s = time_s;
}

static void drive(const struct drive_options *o,
                  const struct foot *script,
                  struct drive_script *out)
{
    struct kw_session *session = &out->session;
    struct state now = {o->idle_rpm, 0.0};
    uint64_t random = 7;
    size_t row = 0;
    size_t phase = 0;
    for (size_t k = 0; row < session->n_samples; k++) {
        const double t = STEP_S * (double)k;
        while (t >= script[phase].until_s)
            phase++;
        step(o, script[phase].does, &now);
        note_start(o, &now, t, out);
        if (t < (double)row / o->rate_hz)
            continue;
        session->time_s[row] = (double)row / o->rate_hz;
        session->rpm[row] = now.engine_rpm + o->rpm_noise * normal(&random);
        session->rpm_raw[row] = session->rpm[row];
        if (session->speed_m_s != NULL)
            session->speed_m_s[row] =
                fmax(now.axle_rpm / o->rpm_per_m_s +
                         o->speed_noise_m_s * normal(&random),
                     0.0);
        if (session->gas_c != NULL)
            session->gas_c[row] = session->egt_c[row] =
                gas_for(o, &now, script[phase].does);
        row++;
    }
}

void drive_new(const struct drive_options *options,
               const struct foot *script,
               size_t n,
               struct drive_script *out)
{
    *out = (struct drive_script){.start_s = NAN, .locked_s = NAN};
    kw_profile_init(&out->profile);
    open_session(options, script[n - 1].until_s, &out->session);
    drive(options, script, out);
    out->scene = (struct kw_scene){.session = &out->session,
                                   .profile = &out->profile,
                                   .events = &out->before};
}

void drive_free(struct drive_script *drive)
{
    kw_session_free(&drive->session);
    kw_events_free(&drive->before);
}

void drive_find_starts(const struct drive_script *drive,
                       struct kw_events *found)
{
    *found = (struct kw_events){0};
    assert_int_equal(kw_find_clutch_engagements(&drive->scene, found, NULL),
                     KW_OK);
}

size_t drive_at(const struct drive_script *drive, double time_s)
{
    size_t i = 0;
    while (i < drive->session.n_samples && drive->session.time_s[i] < time_s)
        i++;
    return i;
}
