/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits of a turning engine and a rolling kart, learned robustly: the session
 * that they are learned from holds the drop-outs that they have to tell.
 *
 * What is faster than an engine can speed up, or a kart can slow it, was the
 * signal and not the engine: the whole search for loose wires rests on these
 * two numbers. */
#include "analysis/rate_limit.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/rpm.h"
#include "signal/spike.h"

#include <math.h>
#include <stdlib.h>

static const double STANDARD_GRAVITY_M_S2 = 9.80665;

/* Hard braking of a kart, in g, with a margin for a bump or a kerb on the way
 * (1 g is usual: common practice, no source). */
static const double HARDEST_BRAKING_G = 1.3;

/* Without a profile: braking from top speed to nothing takes no less than about
 * two seconds, whatever the engine, since top RPM goes with top speed (the
 * kart's 1 g at 110 km/h takes 3 s; common practice, no source). */
static const double SMALLEST_FALL_SHARE = 0.45;

/* A locked engine gains its whole top speed in no less than about three
 * seconds (common practice, no source); wheelspin and kerbs are quicker for
 * a moment. */
static const double SMALLEST_RISE_SHARE = 0.35;

/* Where much of a session changes faster than all of the above, the engine ran
 * free (a bench, a kart on its stand), and only what is faster still is odd. */
static const double LARGEST_SHARE = 6.0;

/* The quickest that most braking and pulling shows, and the margin above it.
 * Not the very quickest: that is a drop-out where there is one, and thirty of
 * them are seconds of a session's braking. Common practice, no source. */
static const double USUAL_QUICKEST = 0.95;
static const double MARGIN = 1.6;

/* No engine falls by more than so many of its top ends a second, and no kart.
 * What does is a signal that is lost, or a wheel that locks, and for so long
 * behind it the logger's smoothing and the way back: such moments teach nothing
 * of braking. Common practice, no source. */
static const double NO_FALL_SHARE = 1.5;
static const double NO_FALL_S = 0.5;

/* The top end: nearly the highest reading, since a doubled one is higher. A
 * kart is there for more than 3 % of its time on any track with a straight. */
static const double NEARLY_HIGHEST = 0.97;

/* The clutch is locked from about 30 % of top RPM on two-strokes and 40 % on
 * rental four-strokes (common practice, no source). */
static const double LOCKED_SHARE = 0.45;

/* Engine speeds below this share of the top end are idle or standing. */
static const double RUNNING_SHARE = 0.1;

/* Rates are taken over this time at least: from row to row of a quick log they
 * are noise, and in one that repeats its readings they are leaps. Brakes and
 * engine act for longer (common practice, no source). */
static const double RATE_BASE_S = 0.1;

/* A single reading is this uncertain, in standard deviations of its noise and,
 * for what is no noise (kerbs, wheelspin), in shares of the top end: 500 of
 * 15,000 rpm. Common practice, no source. */
static const double NOISE_SDS = 5.0;
static const double UNSTEADY_SHARE = 0.035;

/* Readings further apart than this many usual steps have a gap between: two
 * lost in a row happen, three are a hole. A glitch that was set aside is
 * none. */
static const double GAP_STEPS = 2.6;

/* Fills scratch with the rates of change while locked, falling or rising.
 *
 * returns  how many. */
static size_t rates(const struct kw_session *session,
                    const struct kw_rate_limits *limits,
                    double sign,
                    double *scratch)
{
    const double base_s = fmax(RATE_BASE_S, limits->fresh_s) - 1e-6;
    const double no_fall_rpm_s =
        sign < 0.0 ? NO_FALL_SHARE * limits->top_rpm : INFINITY;
    double lost_s = -INFINITY;
    size_t n = 0;
    size_t from = 0;
    for (size_t i = 1; i < session->n_samples; i++) {
        while (from + 1 < i &&
               session->time_s[i] - session->time_s[from + 1] >= base_s)
            from++;
        const double change = session->rpm[i] - session->rpm[from];
        const double step_s = session->time_s[i] - session->time_s[from];
        if (step_s >= base_s && sign * change > no_fall_rpm_s * step_s)
            lost_s = session->time_s[i];
        if (session->time_s[i] - lost_s < NO_FALL_S)
            continue;
        if (session->rpm[from] > limits->locked_rpm &&
            session->rpm[i] > limits->locked_rpm && sign * change > 0.0 &&
            step_s >= base_s)
            scratch[n++] = sign * change / step_s;
    }
    return n;
}

/* What a session taught counts only within what karts can do; a session that
 * taught nothing (NAN: never locked) gets the low end. */
static double clamp(double value, double low, double high)
{
    return isnan(value) ? low : fmin(fmax(value, low), high);
}

/* The second difference of a smooth signal is noise: its variance is six times
 * that of one reading. */
static double noise_of(const struct kw_session *session,
                       double running_rpm,
                       double *scratch)
{
    size_t n = 0;
    for (size_t i = 2; i < session->n_samples; i++) {
        if (session->rpm[i] > running_rpm)
            scratch[n++] = session->rpm[i] - 2.0 * session->rpm[i - 1] +
                           session->rpm[i - 2];
    }
    const double sd = kw_mad_sd(scratch, n, 1.0, scratch);
    return isnan(sd) ? 1.0 : sd / sqrt(6.0);
}

/* Falls and rises have limits of their own: brakes stop a kart harder than any
 * engine pushes it. What the owner states of the gearing gives the limit that
 * the hardest braking has, through that gearing; it may widen the
 * learned one and never narrows it, for the profile may be that of last month's
 * sprocket. */
enum kw_status kw_find_rate_limits(const struct kw_session *session,
                                   const struct kw_profile *profile,
                                   struct kw_rate_limits *out,
                                   struct kw_error *error)
{
    *out = (struct kw_rate_limits){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double top =
        kw_quantile(session->rpm, session->n_samples, NEARLY_HIGHEST, scratch);
    if (top > 0.0) {
        out->top_rpm = top;
        out->locked_rpm = LOCKED_SHARE * top;
        out->step_s = 1.0 / session->rate_hz;
        const double held =
            kw_update_samples(session->rpm, session->n_samples, scratch);
        out->fresh_s = out->step_s * fmax(1.0, held);
        size_t n = rates(session, out, -1.0, scratch);
        out->fall_rpm_s =
            clamp(MARGIN * kw_quantile(scratch, n, USUAL_QUICKEST, scratch),
                  SMALLEST_FALL_SHARE * top, LARGEST_SHARE * top);
        n = rates(session, out, 1.0, scratch);
        out->rise_rpm_s =
            clamp(MARGIN * kw_quantile(scratch, n, USUAL_QUICKEST, scratch),
                  SMALLEST_RISE_SHARE * top, LARGEST_SHARE * top);
        out->noise_rpm = noise_of(session, RUNNING_SHARE * top, scratch);
        out->unsteady_rpm = NOISE_SDS * out->noise_rpm + UNSTEADY_SHARE * top;
    }
    /* Braking in m/s2 by the tyre's circumference is turns of the axle a
     * second, each second; times the gearing, turns of the engine; times 60,
     * RPM a second. */
    const double stated = HARDEST_BRAKING_G * STANDARD_GRAVITY_M_S2 /
                          profile->tyre_circumference_m *
                          kw_profile_gearing(profile) * 60.0;
    if (top > 0.0 && !isnan(stated))
        out->fall_rpm_s = fmax(stated, out->fall_rpm_s);
    free(scratch);
    return KW_OK;
}

/* A reading that the logger repeats is as old as its last fresh one: the time
 * between two is never shorter than one update. */
static double seconds_between(const struct kw_session *session,
                              const struct kw_rate_limits *limits,
                              size_t a,
                              size_t b)
{
    return fmax(session->time_s[b] - session->time_s[a], limits->fresh_s);
}

/* More than braking can take, and more than the reading's own unrest. */
bool kw_falls_too_fast(const struct kw_session *session,
                       const struct kw_rate_limits *limits,
                       size_t a,
                       size_t b)
{
    const double most_rpm =
        limits->fall_rpm_s * seconds_between(session, limits, a, b);
    return session->rpm[b] < session->rpm[a] - most_rpm - limits->unsteady_rpm;
}

/* More than the engine's torque can give, likewise. */
bool kw_rises_too_fast(const struct kw_session *session,
                       const struct kw_rate_limits *limits,
                       size_t a,
                       size_t b)
{
    const double most_rpm =
        limits->rise_rpm_s * seconds_between(session, limits, a, b);
    return session->rpm[b] > session->rpm[a] + most_rpm + limits->unsteady_rpm;
}

/* Across a longer hole nothing is asked: anything may have happened. */
size_t kw_next_rpm(const struct kw_session *session,
                   const struct kw_rate_limits *limits,
                   size_t i)
{
    size_t next = i + 1;
    while (next < session->n_samples && isnan(session->rpm[next]))
        next++;
    if (next < session->n_samples &&
        session->time_s[next] - session->time_s[i] >
            GAP_STEPS * limits->step_s + KW_GLITCH_S)
        return session->n_samples;
    return next;
}
