/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lead that came off for good, or for laps: see dead_signal.h.
 *
 * An engine that dies leaves a kart that only slows down. One that still pulls
 * out of bends, or keeps the pace of a straight, has an engine that runs,
 * whatever its RPM reads. */
#include "analysis/dead_signal.h"

#include <math.h>

/* Power is told from the axle over so long: a receiver that gives one speed a
 * second, or trembles, still shows it. This and what follows: common practice,
 * no source. */
static const double POWER_S = 2.0;
/* A receiver may tell the time before the loss for so long after it. */
static const double LATE_S = 0.5;

/* Gain over POWER_S that takes an engine, as a share of the top end: 0.6 m/s2
 * for a kart of 110 km/h, half of what it has out of a bend. Rolling, it gains
 * that only on a hill of one in ten. */
static const double PULL_SHARE = 0.08;
/* At this share of the top end the air alone slows a rolling kart by 1 m/s2;
 * one that loses less than this share over POWER_S is driven. */
static const double FAST_SHARE = 0.7;
static const double HELD_SHARE = 0.02;

/* Driven for so long, and for this share of the absence. A lap is half pulls,
 * some of them too slow to tell. */
static const double LEAST_DRIVEN_S = 1.5;
static const double LEAST_DRIVEN_PART = 0.15;

/* Slower than this share of the top end the kart rolls out, or is pushed. */
static const double MOVES_SHARE = 0.1;

/* Does the axle show power over the time from sample a to sample b? A speed
 * that is the same to the bit may be that of a receiver that hangs. Written so
 * that a NAN shows none. */
static bool shows_power(const struct kw_rpm_search *search, size_t a, size_t b)
{
    const double *axle_rpm = search->axle_rpm;
    const double top_rpm = search->limits->top_rpm;
    const double gain_rpm = axle_rpm[b] - axle_rpm[a];
    return gain_rpm > PULL_SHARE * top_rpm ||
           (axle_rpm[b] > FAST_SHARE * top_rpm &&
            gain_rpm > -HELD_SHARE * top_rpm && fabs(gain_rpm) > 0.0);
}

/* The first sample from which RPM is something again; the sample behind the
 * last one where a hole comes before, or the end of the log. */
static size_t end_of_nothing(const struct kw_rpm_search *search, size_t from)
{
    const size_t n = search->session->n_samples;
    size_t last = from;
    for (size_t i = from; i < n; i = kw_rpm_next(search, i)) {
        if (!kw_is_nothing(search, search->session->rpm[i]))
            return i;
        last = i;
    }
    return last + 1;
}

/* Behind the last sample of the absence in which the kart moved. */
static size_t end_of_moving(const struct kw_rpm_search *search,
                            size_t from,
                            size_t to)
{
    while (to > from &&
           !(search->axle_rpm[to - 1] > MOVES_SHARE * search->limits->top_rpm))
        to--;
    return to;
}

/* Under power for long enough, by all that was read while RPM was away. */
static bool is_driven(const struct kw_rpm_search *search,
                      size_t from,
                      size_t to)
{
    double driven_s = 0.0;
    size_t since = from;
    while (since < to && kw_rpm_seconds(search, from, since) < LATE_S)
        since++;
    for (size_t i = since; i < to; i++) {
        if (kw_rpm_seconds(search, since, i) < POWER_S)
            continue;
        while (kw_rpm_seconds(search, since + 1, i) >= POWER_S)
            since++;
        driven_s +=
            shows_power(search, since, i) ? search->limits->step_s : 0.0;
    }
    return driven_s >= LEAST_DRIVEN_S &&
           driven_s >= LEAST_DRIVEN_PART * kw_rpm_seconds(search, from, to - 1);
}

bool kw_is_dead_signal(const struct kw_rpm_search *search,
                       struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    if (search->axle_rpm == NULL || absence->up ||
        !(rpm[absence->before] > search->limits->locked_rpm) ||
        !kw_is_nothing(search, rpm[absence->gone]) ||
        !kw_is_quick(search, absence->before, absence->gone))
        return false;
    const size_t end = end_of_nothing(search, absence->gone);
    const size_t to = end_of_moving(search, absence->gone, end);
    if (to == absence->gone || !is_driven(search, absence->gone, to))
        return false;
    absence->back = to < search->session->n_samples ? to : to - 1;
    return true;
}
