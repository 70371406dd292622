/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed from engine turns where they agree with the speed channel. */
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

/* What the engine says of the speed, and how far it may be trusted. */
struct gearing {
    double m_s_each_rpm;
    double tolerance_m_s;
    double locked_m_s; /* slower than this the clutch may slip */
};

/* Slow, the clutch slips, and a speedometer reads in steps that are large for
 * its reading. */
static bool is_fast(const struct kw_session *session, size_t i, double top_m_s)
{
    return session->speed_m_s[i] > LOCKED_SHARE * top_m_s &&
           session->rpm[i] > 0.0;
}

/* What the engine says of the speed, less what the speed channel says. */
static double difference_m_s(const struct kw_session *session,
                             size_t i,
                             double m_s_each_rpm)
{
    return m_s_each_rpm * session->rpm[i] - session->speed_m_s[i];
}

/* Learns the gearing; false where the engine is no witness. */
static bool learn_gearing(const struct kw_session *session,
                          double *scratch,
                          struct gearing *gearing)
{
    const size_t n = session->n_samples;
    const double top_m_s = kw_quantile(session->speed_m_s, n, 0.98, scratch);
    size_t fast = 0;
    for (size_t i = 0; i < n; i++) {
        if (is_fast(session, i, top_m_s))
            scratch[fast++] = session->speed_m_s[i] / session->rpm[i];
    }
    gearing->m_s_each_rpm = kw_median(scratch, fast, scratch);
    gearing->locked_m_s = LOCKED_SHARE * top_m_s;
    fast = 0;
    for (size_t i = 0; i < n; i++) {
        if (is_fast(session, i, top_m_s))
            scratch[fast++] = difference_m_s(session, i, gearing->m_s_each_rpm);
    }
    size_t agree = 0;
    const double least_m_s = AGREE_SHARE * top_m_s;
    /* The median is 0 by the choice of the gearing, near enough. */
    for (size_t i = 0; i < fast; i++)
        scratch[i] = fabs(scratch[i]);
    const double sd_m_s = KW_MAD_TO_SD * kw_median(scratch, fast, scratch);
    gearing->tolerance_m_s = fmax(AGREE_SD * sd_m_s, least_m_s);
    for (size_t i = 0; i < fast; i++)
        agree += scratch[i] < gearing->tolerance_m_s ? 1 : 0;
    return fast > 0 && sd_m_s < MOST_SPREAD * top_m_s &&
           (double)agree > LEAST_LOCKED * (double)fast;
}

/* Takes engine turns but within AROUND_S of a disagreement. */
static void choose(const struct kw_session *session,
                   const struct gearing *gearing,
                   double *out)
{
    const double *time_s = session->time_s;
    const size_t n = session->n_samples;
    double last_s = -INFINITY;
    size_t next = 0;
    for (size_t i = 0; i < n; i++) {
        const double off_m_s =
            difference_m_s(session, i, gearing->m_s_each_rpm);
        if (fabs(off_m_s) > gearing->tolerance_m_s)
            last_s = time_s[i];
        next = next > i ? next : i;
        while (next < n && time_s[next] < time_s[i] + AROUND_S &&
               !(fabs(difference_m_s(session, next, gearing->m_s_each_rpm)) >
                 gearing->tolerance_m_s))
            next++;
        const bool soon = next < n && time_s[next] < time_s[i] + AROUND_S;
        const double turns_m_s = gearing->m_s_each_rpm * session->rpm[i];
        const double other_m_s = session->speed_m_s[i];
        const bool slips = soon || time_s[i] - last_s < AROUND_S ||
                           other_m_s < gearing->locked_m_s;
        if (isnan(turns_m_s) || (slips && !isnan(other_m_s)))
            out[i] = other_m_s;
        else
            out[i] = turns_m_s;
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
    struct gearing gearing;
    for (size_t i = 0; i < n; i++)
        out[i] = session->speed_m_s[i];
    if (session->rpm != NULL && learn_gearing(session, scratch, &gearing))
        choose(session, &gearing, out);
    free(scratch);
    return KW_OK;
}
