/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed from engine turns where they agree with the speed channel.
 *
 * With the clutch locked and the tyres gripping, engine turns measure the
 * kart's way more evenly than any receiver: no lag, no jumps, twenty times a
 * second. Where the two disagree one of them slips, and the speed channel is
 * believed. */
#include "analysis/lap_pace.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Faster than this share of the usual top the clutch is locked. */
static const double LOCKED_SHARE = 0.35;
/* The two witnesses agree within so many standard deviations of what they
 * usually differ by, or this share of the top. */
static const double AGREE_SD = 8.0;
static const double AGREE_SHARE = 0.05;
/* A disagreement counts for this time on both sides: it begins before it is
 * plain. */
static const double AROUND_S = 0.3;
/* The engine is a witness only if it is locked to the kart this much of the
 * time that the kart is fast, and this closely, as a share of the top. */
static const double LEAST_LOCKED = 0.8;
static const double MOST_SPREAD = 0.04;

/* The two witnesses, and what ties them; speed in the channel's own unit.
 *
 * each_rpm  speed for each turn a minute.
 * locked    slower than this the clutch may slip. */
struct witnesses {
    const struct kw_session *session;
    const double *speed;
    double each_rpm;
    double tolerance;
    double locked;
};

const double *kw_speed_channel(const struct kw_session *session)
{
    return session->speed_m_s != NULL ? session->speed_m_s : session->axle_rpm;
}

/* Slow, the clutch slips, and a speedometer reads in steps that are large for
 * its reading. */
static bool is_fast(const struct witnesses *w, size_t i)
{
    return w->speed[i] > w->locked && w->session->rpm[i] > 0.0;
}

/* What the engine says of the speed, less what the speed channel says. */
static double difference(const struct witnesses *w, size_t i)
{
    return w->each_rpm * w->session->rpm[i] - w->speed[i];
}

/* Learns the gearing; false where the engine is no witness. */
static bool learn_gearing(struct witnesses *w, double *scratch)
{
    const size_t n = w->session->n_samples;
    const double top = kw_quantile(w->speed, n, 0.98, scratch);
    w->locked = LOCKED_SHARE * top;
    size_t fast = 0;
    for (size_t i = 0; i < n; i++) {
        if (is_fast(w, i))
            scratch[fast++] = w->speed[i] / w->session->rpm[i];
    }
    w->each_rpm = kw_median(scratch, fast, scratch);
    fast = 0;
    for (size_t i = 0; i < n; i++) {
        if (is_fast(w, i))
            scratch[fast++] = fabs(difference(w, i));
    }
    /* The median is 0 by the choice of the gearing, near enough. */
    const double sd = KW_MAD_TO_SD * kw_median(scratch, fast, scratch);
    w->tolerance = fmax(AGREE_SD * sd, AGREE_SHARE * top);
    size_t agree = 0;
    for (size_t i = 0; i < fast; i++)
        agree += scratch[i] < w->tolerance ? 1 : 0;
    return fast > 0 && sd < MOST_SPREAD * top &&
           (double)agree > LEAST_LOCKED * (double)fast;
}

/* Takes engine turns but within AROUND_S of a disagreement. */
static void choose(const struct witnesses *w, double *out)
{
    const double *time_s = w->session->time_s;
    const size_t n = w->session->n_samples;
    double last_s = -INFINITY;
    size_t next = 0;
    for (size_t i = 0; i < n; i++) {
        if (fabs(difference(w, i)) > w->tolerance)
            last_s = time_s[i];
        next = next > i ? next : i;
        while (next < n && time_s[next] < time_s[i] + AROUND_S &&
               !(fabs(difference(w, next)) > w->tolerance))
            next++;
        const bool soon = next < n && time_s[next] < time_s[i] + AROUND_S;
        const double turns = w->each_rpm * w->session->rpm[i];
        const bool slips =
            soon || time_s[i] - last_s < AROUND_S || w->speed[i] < w->locked;
        out[i] = isnan(turns) || (slips && !isnan(w->speed[i])) ? w->speed[i]
                                                                : turns;
    }
}

/* Engine turns are even and quick where a receiver lags and jumps; but only a
 * locked clutch and tyres that grip tie them to the kart. Without the engine as
 * a witness the speed channel stands as it is. */
enum kw_status kw_kart_speed(const struct kw_session *session,
                             double *out,
                             struct kw_error *error)
{
    const size_t n = session->n_samples;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    struct witnesses w = {.session = session,
                          .speed = kw_speed_channel(session)};
    for (size_t i = 0; i < n; i++)
        out[i] = w.speed[i];
    if (session->rpm != NULL && learn_gearing(&w, scratch))
        choose(&w, out);
    free(scratch);
    return KW_OK;
}
