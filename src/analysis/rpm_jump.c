/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where RPM leaves what is possible, and how: see rpm_jump.h. */
#include "analysis/rpm_jump.h"

#include <math.h>

/* A lost signal is gone within two readings, or this long in a quick log; an
 * engine that falls free takes longer. */
static const double QUICKEST_FALL_S = 0.08;
enum { READINGS_OF_A_JUMP = 2 };

/* A logger that smooths its readings (by 0.15 s, as some do) draws a jump out
 * so long. */
static const double SMOOTHED_S = 0.45;

/* An engine without its kart, throttle shut, loses its top end in about a
 * second; this many top ends each second are the signal, however it was
 * smoothed, or a wheel that locks. Common practice, no source. */
static const double FREE_FALL_SHARE = 1.5;
/* Nor is any engine revved up, free, from idle to its top end in less than 0.2
 * s or so, nor stopped faster by wheels that lock. Beyond this many top ends a
 * second it was the signal, both ways. Common practice, no source. */
static const double IMPOSSIBLE_SHARE = 6.0;

/* Readings are repeated in a log that is written faster than the engine is read
 * from this many rows for each on: that may be a pair or more. */
static const double HELD_ROWS = 1.5;

/* From one reading to another. */
double kw_rpm_seconds(const struct kw_rpm_search *search,
                      size_t from,
                      size_t to)
{
    return search->session->time_s[to] - search->session->time_s[from];
}

/* The next one that is not missing. */
size_t kw_rpm_next(const struct kw_rpm_search *search, size_t i)
{
    return kw_next_rpm(search->session, search->limits, i);
}

/* Up and down have limits of their own: an engine speeds up by its torque, and
 * slows by the brakes. */
static bool moves_too_fast(const struct kw_rpm_search *search,
                           size_t a,
                           size_t b,
                           bool up)
{
    return up ? kw_rises_too_fast(search->session, search->limits, a, b)
              : kw_falls_too_fast(search->session, search->limits, a, b);
}

/* Could the kart be at b what it was at a? */
bool kw_is_plausible(const struct kw_rpm_search *search, size_t a, size_t b)
{
    return !moves_too_fast(search, a, b, false) &&
           !moves_too_fast(search, a, b, true);
}

bool kw_repeats(const struct kw_rpm_search *search)
{
    return search->limits->fresh_s > HELD_ROWS * search->limits->step_s;
}

/* So long may n readings that repeat take: a window may end a row late, and
 * times of rows tremble by half a row. */
static double held_s(const struct kw_rpm_search *search, size_t n)
{
    const struct kw_rate_limits *limits = search->limits;
    return kw_repeats(search)
               ? (double)n * limits->fresh_s + 1.5 * limits->step_s
               : 0.0;
}

/* The reading after i, within the time that a lost signal takes to go or until
 * the next fresh one, that RPM cannot have come to; n_samples when there is
 * none. In a quick log a smoothed jump has many readings, each of them near the
 * one before. */
size_t kw_jump_from(const struct kw_rpm_search *search, size_t i, bool up)
{
    const size_t n = search->session->n_samples;
    const size_t next = kw_rpm_next(search, i);
    const double moment_s = fmax(QUICKEST_FALL_S, held_s(search, 1));
    for (size_t k = next; k < n; k = kw_rpm_next(search, k)) {
        if (k != next && kw_rpm_seconds(search, i, k) > moment_s)
            break;
        if (moves_too_fast(search, i, k, up))
            return k;
    }
    return n;
}

/* RPM that stays this near for so long has not jumped, whatever the time that
 * it had: most of a session is told apart by this alone. */
bool kw_stays_near(const struct kw_rpm_search *search, size_t i)
{
    const double *rpm = search->session->rpm;
    const size_t n = search->session->n_samples;
    const double near_rpm = search->limits->unsteady_rpm;
    const size_t next = kw_rpm_next(search, i);
    const double moment_s = fmax(QUICKEST_FALL_S, held_s(search, 1));
    for (size_t k = next; k < n; k = kw_rpm_next(search, k)) {
        if (k != next && kw_rpm_seconds(search, i, k) > moment_s)
            return true;
        if (rpm[k] < rpm[i] - near_rpm || rpm[k] > rpm[i] + near_rpm)
            return false;
    }
    return true;
}

/* Where the jump that was seen from i ends: on while RPM still jumps the same
 * way. */
size_t kw_end_of_jump(const struct kw_rpm_search *search, size_t i, bool up)
{
    size_t last = i;
    for (size_t k = kw_jump_from(search, last, up);
         k < search->session->n_samples; k = kw_jump_from(search, last, up))
        last = k;
    return last;
}

/* The last reading that was where it should be: what was seen from i may have
 * begun some readings later. A fresh reading may be as far off as the kart gets
 * in the time of one. */
size_t kw_begin_of_jump(const struct kw_rpm_search *search, size_t i, bool up)
{
    const double *rpm = search->session->rpm;
    const size_t end = kw_jump_from(search, i, up);
    const double half_way = (rpm[i] + rpm[end]) / 2.0;
    const double near_rpm = search->limits->unsteady_rpm;
    const bool held = kw_repeats(search);
    size_t begin = i;
    for (size_t k = kw_rpm_next(search, i); k < end;
         k = kw_rpm_next(search, k)) {
        const bool is_near = fabs(rpm[k] - rpm[i]) < near_rpm ||
                             (held && !moves_too_fast(search, i, k, up));
        if (up ? (is_near || rpm[k] < rpm[i]) && rpm[k] < half_way
               : (is_near || rpm[k] > rpm[i]) && rpm[k] > half_way)
            begin = k;
    }
    return begin;
}

/* Whether RPM changed somewhere by more than so many top ends a second. */
static bool changes_by(const struct kw_rpm_search *search,
                       size_t from,
                       size_t last,
                       double share_s)
{
    const double *rpm = search->session->rpm;
    const struct kw_rate_limits *limits = search->limits;
    for (size_t i = from; i < last; i = kw_rpm_next(search, i)) {
        for (size_t k = kw_rpm_next(search, i); k <= last;
             k = kw_rpm_next(search, k)) {
            const double took_s =
                fmax(kw_rpm_seconds(search, i, k), limits->fresh_s);
            if (fabs(rpm[k] - rpm[i]) >
                share_s * limits->top_rpm * took_s + limits->unsteady_rpm)
                return true;
        }
    }
    return false;
}

/* Steeper somewhere than an engine that falls free. */
bool kw_is_steep(const struct kw_rpm_search *search, size_t from, size_t last)
{
    return changes_by(search, from, last, FREE_FALL_SHARE);
}

bool kw_is_impossible(const struct kw_rpm_search *search,
                      size_t from,
                      size_t last)
{
    return changes_by(search, from, last, IMPOSSIBLE_SHARE);
}

/* How often a reading differs from the one before: those that repeat count as
 * one. */
static size_t changes(const struct kw_rpm_search *search,
                      size_t from,
                      size_t last)
{
    const double *rpm = search->session->rpm;
    size_t n = 0;
    for (size_t i = from; i < last; i = kw_rpm_next(search, i)) {
        const size_t next = kw_rpm_next(search, i);
        n += next < search->session->n_samples && fabs(rpm[next] - rpm[i]) > 0.0
                 ? 1
                 : 0;
    }
    return n;
}

/* Readings of an interval, without its first: of sensors that are written in
 * rows of their own, most rows have none. */
static size_t readings(const struct kw_rpm_search *search,
                       size_t from,
                       size_t last)
{
    size_t n = 0;
    for (size_t i = from + 1; i <= last; i++)
        n += isnan(search->session->rpm[i]) ? 0 : 1;
    return n;
}

/* Gone at once, and not over the time that an engine takes. Where readings are
 * repeated two of them are no longer at once. */
bool kw_is_at_once(const struct kw_rpm_search *search, size_t from, size_t last)
{
    return (readings(search, from, last) <= READINGS_OF_A_JUMP &&
            (!kw_repeats(search) || changes(search, from, last) <= 1)) ||
           kw_rpm_seconds(search, from, last) <= QUICKEST_FALL_S;
}

/* Or as quickly as readings that repeat can show. */
bool kw_is_quick(const struct kw_rpm_search *search, size_t from, size_t last)
{
    return readings(search, from, last) <= READINGS_OF_A_JUMP ||
           kw_rpm_seconds(search, from, last) <= QUICKEST_FALL_S ||
           (kw_rpm_seconds(search, from, last) <=
                held_s(search, READINGS_OF_A_JUMP) &&
            changes(search, from, last) <= READINGS_OF_A_JUMP);
}

/* Smoothing in the logger spreads a cut over some readings: a little longer is
 * still brief. */
bool kw_is_brief(const struct kw_rpm_search *search, size_t from, size_t last)
{
    return kw_is_quick(search, from, last) ||
           kw_rpm_seconds(search, from, last) <= SMOOTHED_S;
}

/* Sharp is at once, or brief and steep: what a wire does, and no driver. */
bool kw_is_sharp(const struct kw_rpm_search *search, size_t from, size_t last)
{
    return kw_is_quick(search, from, last) ||
           (kw_is_brief(search, from, last) && kw_is_steep(search, from, last));
}

/* Engine over axle is one number while the clutch is locked; by how much it may
 * be off, beside the scatter of this log's. */
static const double AXLE_SHARE = 0.06;
static const double AXLE_SCATTERS = 3.0;

/* Written so that a NAN meets nothing. */
bool kw_meets_axle(const struct kw_rpm_search *search, size_t i, double times)
{
    const double near = AXLE_SHARE + AXLE_SCATTERS * search->axle_scatter;
    return search->axle_rpm != NULL &&
           fabs(search->session->rpm[i] / search->axle_rpm[i] / times - 1.0) <
               near;
}

/* Below this share of the top end no engine turns: idle is twice as much. */
static const double NOTHING_SHARE = 0.06;
static const double RUNS_SHARE = 0.09;

/* Some loggers show 0 for no signal, others a few hundred. */
bool kw_is_nothing(const struct kw_rpm_search *search, double rpm)
{
    return rpm < NOTHING_SHARE * search->limits->top_rpm;
}

/* Written so that NAN counts as turning: a missing reading is no sign of a
 * stop. */
bool kw_is_turning(const struct kw_rpm_search *search, double rpm)
{
    return !(rpm < RUNS_SHARE * search->limits->top_rpm);
}
