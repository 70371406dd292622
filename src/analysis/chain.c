/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain jumps over a tooth: under load the engine is free for a moment,
 * leaps ahead of the kart and is caught again.
 *
 * A free engine leaps at once; wheels that spin or leave the ground have to be
 * turned faster too, over a tenth of a second or more. It loses RPM as fast
 * when the chain bites: both edges are asked for, and that the kart, before and
 * after, is where its speed says. */
#include "analysis/detectors.h"

#include "analysis/gearing.h"
#include "core/text.h"

#include <math.h>

/* Slower logs miss it; in a log that is not quick a jump is one odd reading,
 * and so is a spike of the signal: there it takes more of them. */
static const double SLOWEST_HZ = 9.0;
static const double QUICK_HZ = 19.0;
/* Edges as shares of the highest RPM each second: a kart gains 0.15 at most, a
 * free engine 0.7 and more (common practice, no source). */
static const double RISE_EACH_S = 0.45;
static const double FALL_EACH_S = 0.5;
/* In a fast log an edge has several readings: up, at once, and down. */
static const double LEAP_S = 0.03;
static const double EDGE_S = 0.05;
/* So much of the height is reached by the leap: the rest is the kart, which
 * gathers speed (common practice, no source). */
static const double LEAP_SHARE = 0.6;
/* How far ahead, as a share of RPM, and in times the noise of a reading. A
 * clutch that hunts in a slow corner does less in a tenth of a second (common
 * practice, no source). */
static const double AHEAD = 0.06;
static const double AHEAD_IF_SLOW = 0.12;
static const double AHEAD_NOISES = 6.0;
/* Nor does a free engine get further in that time; a reading that does is a
 * fault of the signal and stands under drop-outs. */
static const double MOST_AHEAD = 0.3;
static const double LONGEST_S = 0.45;
/* An odd reading that is shorter than 0.05 s is a glitch (contract); the clocks
 * of logs at 20 Hz waver. */
static const double SHORTEST_S = 0.045;
/* RPM before and after belong to one kart: not further apart than this. */
static const double SAME_SHARE = 0.06;
/* Now and then a wheel in the air does the same; a chain that jumps goes on. */
enum { FEWEST_JUMPS = 3, FEWEST_IF_SLOW = 4 };
/* How sure, with so few and with more (common practice, no source). */
static const double SURE_BY_FEW = 0.75;
static const double SURE_BY_MORE = 0.9;
/* Engine and axle agree before and after. */
static const double LOCKED = 0.06;
static const double LEAST_RPM_SHARE = 0.4;

/* What the search works on. */
struct search {
    const struct kw_scene *scene;
    const struct kw_session *session;
    const struct kw_drive *drive;
};

struct jumps {
    size_t n;
    double first_s;
    double last_s;
    double worst_rpm;
};

static bool is_quick(const struct search *s)
{
    return s->session->rate_hz >= QUICK_HZ;
}

/* Missing readings are stepped over: a jump is told from two that are there. */
static size_t next_reading(const struct kw_session *session, size_t i)
{
    size_t next = i + 1;
    while (next < session->n_samples && isnan(session->rpm[next]))
        next++;
    return next;
}

/* Within what the log's own scatter allows: a speed in whole km/h is rough. */
static bool is_locked(const struct search *s, size_t i)
{
    const double off = s->session->rpm[i] / s->drive->axle_rpm[i] - 1.0;
    return fabs(off) < LOCKED + 2.0 * s->drive->scatter;
}

/* RPM leaps up after i: the first reading within an edge's time that is far
 * enough ahead; the end of the log when there is none. */
static size_t leaps(const struct search *s, size_t i)
{
    const double *rpm = s->session->rpm;
    const double ahead = is_quick(s) ? AHEAD : AHEAD_IF_SLOW;
    const double least_rpm =
        fmax(ahead * rpm[i], AHEAD_NOISES * s->drive->noise_rpm);
    const size_t n = s->session->n_samples;
    for (size_t k = next_reading(s->session, i); k < n;
         k = next_reading(s->session, k)) {
        const double since_s = s->session->time_s[k] - s->session->time_s[i];
        const double rise = rpm[k] - rpm[i];
        if (rise > MOST_AHEAD * rpm[i])
            break;
        if (rise > least_rpm && rise > RISE_EACH_S * s->drive->top_rpm *
                                           fmax(since_s, s->drive->fresh_s))
            return k;
        if (since_s > LEAP_S)
            break;
    }
    return n;
}

/* Up at once, and not on and on as wheels do that have lost the ground; and no
 * glitch of the signal. */
static bool is_leap(const struct search *s, size_t i, size_t ahead, size_t back)
{
    const double *rpm = s->session->rpm;
    const double lasts_s = s->session->time_s[back] - s->session->time_s[ahead];
    double highest = rpm[ahead];
    for (size_t k = ahead; k < back; k++)
        highest = fmax(highest, rpm[k]);
    return lasts_s > SHORTEST_S &&
           rpm[ahead] - rpm[i] > LEAP_SHARE * (highest - rpm[i]);
}

/* The highest RPM within an edge's time before k. */
static double highest_before(const struct search *s, size_t from, size_t k)
{
    double highest = 0.0;
    for (size_t i = k; i-- > from;) {
        highest = fmax(highest, s->session->rpm[i]);
        if (s->session->time_s[k] - s->session->time_s[i] > EDGE_S)
            break;
    }
    return highest;
}

/* The sample at which it is back where it came from, with a fall as steep; the
 * end of the log when it is not. */
static size_t is_back(const struct search *s, size_t i, size_t ahead)
{
    const double *rpm = s->session->rpm;
    const double *time_s = s->session->time_s;
    const size_t n = s->session->n_samples;
    const double edge_s = fmax(EDGE_S, s->drive->fresh_s);
    for (size_t k = next_reading(s->session, ahead); k < n;
         k = next_reading(s->session, k)) {
        if (time_s[k] - time_s[i] > LONGEST_S + 2.0 * s->drive->fresh_s)
            break;
        const double fall = highest_before(s, ahead, k) - rpm[k];
        if (fabs(rpm[k] - rpm[i]) < SAME_SHARE * rpm[i] &&
            fall > FALL_EACH_S * s->drive->top_rpm * edge_s)
            return k;
    }
    return n;
}

/* Under load: a chain that jumps jumps when it is pulled. */
static bool is_driven(const struct search *s, size_t i)
{
    return s->session->rpm[i] > LEAST_RPM_SHARE * s->drive->top_rpm &&
           !(s->scene->load != NULL && kw_off_load(s->scene->load[i])) &&
           is_locked(s, i);
}

/* Ahead and back again. RPM that stays ahead is a clutch or a wheel in the
 * air. */
static void find_jumps(const struct search *s, struct jumps *jumps)
{
    const struct kw_session *session = s->session;
    const size_t n = session->n_samples;
    size_t next = 0;
    for (size_t i = 0; i < n; i = next) {
        next = next_reading(session, i);
        const size_t ahead = is_driven(s, i) ? leaps(s, i) : n;
        const size_t back = ahead < n ? is_back(s, i, ahead) : n;
        if (back >= n || !is_locked(s, back) || !is_leap(s, i, ahead, back))
            continue;
        for (size_t k = ahead; k < back; k++)
            jumps->worst_rpm =
                fmax(jumps->worst_rpm, session->rpm[k] - session->rpm[i]);
        jumps->first_s = jumps->n == 0 ? session->time_s[i] : jumps->first_s;
        jumps->last_s = session->time_s[back];
        jumps->n++;
        next = back;
    }
}

/* One event for all jumps: it is one chain. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct jumps *jumps,
                           struct kw_events *found,
                           struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_addf(
        &text,
        "Under load RPM leapt ahead of the kart and back %zu times, by up to ",
        jumps->n);
    kw_text_add_whole(&text, jumps->worst_rpm);
    kw_text_add(&text, " RPM, faster than wheels can spin.");
    const struct kw_event event = {
        .kind = KW_CHAIN_JUMP,
        .start_s = jumps->first_s,
        .end_s = jumps->last_s,
        .lap = kw_lap_at(scene->laps, jumps->first_s),
        .severity = KW_BEFORE_NEXT_RUN,
        .confidence = jumps->n > FEWEST_JUMPS ? SURE_BY_MORE : SURE_BY_FEW,
    };
    return kw_events_tell(found, &event, &text, error);
}

/* A slow log would see a jump as one odd reading, and so does an odd
 * reading. */
enum kw_status kw_find_chain_jumps(const struct kw_scene *scene,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    if (scene->session->rate_hz < SLOWEST_HZ)
        return KW_OK;
    struct kw_drive own;
    const struct kw_drive *drive;
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status != KW_OK)
        return status;
    const struct search s = {scene, scene->session, drive};
    struct jumps jumps = {0};
    if (drive->axle_rpm != NULL)
        find_jumps(&s, &jumps);
    if (jumps.n >= (is_quick(&s) ? FEWEST_JUMPS : FEWEST_IF_SLOW))
        status = tell(scene, &jumps, found, error);
    kw_drive_free(&own);
    return status;
}
