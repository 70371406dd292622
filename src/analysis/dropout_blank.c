/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM without a reading while the other sensors are read. Some loggers write 0
 * when the pickup sends nothing, others leave the cell blank. A row that is
 * missing is the logger's affair and no drop-out: there nothing is read. */
#include "analysis/dropout_signal.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* All by common practice, no source.
 *
 * A logger that reads its channels in turn leaves blanks as well: a signal is
 * lost for so long, and for so many times as long as RPM usually waits for its
 * next reading. */
static const double SHORTEST_S = 0.25;
static const double TIMES_USUAL = 2.5;
static const double USUAL_QUANTILE = 0.95;

/* Of those rows at least this share are written, are blank and do not read
 * nothing, and show another sensor that is read. */
static const double WRITTEN = 0.5;
static const double BLANK = 0.5;
static const double ALIVE = 0.5;

/* How sure, by judgement: a logger may miss one channel by itself. */
static const double SURE = 0.85;

/* The time between two readings of RPM that few others exceed. */
static double usual_wait_s(const struct kw_session *session, double *scratch)
{
    size_t n = 0;
    size_t last = session->n_samples;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (isnan(session->rpm_raw[i]))
            continue;
        if (last < i)
            scratch[n++] = session->time_s[i] - session->time_s[last];
        last = i;
    }
    return kw_quantile(scratch, n, USUAL_QUANTILE, scratch);
}

static bool is_read(const double *channel, size_t i)
{
    return channel != NULL && !isnan(channel[i]);
}

/* A pickup that has just come back may be read once as next to nothing. */
static bool is_missing(const struct kw_rpm_search *search, size_t i)
{
    const double rpm = search->session->rpm_raw[i];
    return isnan(rpm) || kw_is_nothing(search, rpm);
}

static double share_blank(const struct kw_session *session,
                          size_t from,
                          size_t to)
{
    size_t n = 0;
    for (size_t i = from; i < to; i++)
        n += isnan(session->rpm_raw[i]) ? 1 : 0;
    return (double)n / (double)(to - from);
}

/* Of the rows that have no RPM, from .. to - 1: sensors on the kart. A receiver
 * writes rows of its own, and its speed may be a line between them. */
static double share_alive(const struct kw_session *session,
                          size_t from,
                          size_t to)
{
    size_t n = 0;
    for (size_t i = from; i < to; i++)
        n += is_read(session->egt_raw_c, i) || is_read(session->throttle, i) ||
                     is_read(session->water_c, i) ||
                     is_read(session->head_c, i) ||
                     is_read(session->accel_long_m_s2, i) ||
                     is_read(session->accel_lat_m_s2, i)
                 ? 1
                 : 0;
    return (double)n / (double)(to - from);
}

/* The engine turned before and after, on one side as it does when the kart is
 * driven, and the logger went on. At idle a logger that asks the engine in turn
 * may get no answer. */
static bool is_lost(const struct kw_rpm_search *search,
                    double usual_s,
                    size_t from,
                    size_t to)
{
    const struct kw_session *session = search->session;
    const double rows = (double)(to - from);
    const double away_s = session->time_s[to] - session->time_s[from - 1];
    const double higher_rpm =
        fmax(session->rpm_raw[from - 1], session->rpm_raw[to]);
    return away_s >= fmax(SHORTEST_S, TIMES_USUAL * usual_s) &&
           rows >= WRITTEN * away_s * session->rate_hz &&
           higher_rpm > search->limits->locked_rpm &&
           kw_is_turning(search, session->rpm_raw[from - 1]) &&
           kw_is_turning(search, session->rpm_raw[to]) &&
           share_blank(session, from, to) >= BLANK &&
           share_alive(session, from, to) >= ALIVE;
}

/* All of the signal is gone: it is as deep as RPM was high. */
static enum kw_status tell(const struct kw_scene *scene,
                           size_t from,
                           size_t to,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    struct kw_text text = {0};
    kw_text_add(&text, "At ");
    kw_text_add_whole(&text, session->rpm_raw[from - 1]);
    kw_text_add(&text, " RPM the reading went missing for ");
    kw_text_add_number(&text, session->time_s[to] - session->time_s[from], 2);
    kw_text_add(&text, " s, while other sensors were read.");
    struct kw_event event = {
        .start_s = session->time_s[from],
        .end_s = session->time_s[to],
        .lap = kw_lap_at(scene->laps, session->time_s[from]),
        .confidence = SURE,
        .detail.dropout.depth_rpm = session->rpm_raw[from - 1],
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

enum kw_status kw_find_blank_signal(const struct kw_scene *scene,
                                    const struct kw_rpm_search *search,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const size_t n = session->n_samples;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double usual_s = usual_wait_s(session, scratch);
    free(scratch);
    enum kw_status status = KW_OK;
    for (size_t from = 1; from < n && status == KW_OK; from++) {
        if (!is_missing(search, from) || is_missing(search, from - 1))
            continue;
        size_t to = from;
        while (to < n && is_missing(search, to))
            to++;
        if (to < n && is_lost(search, usual_s, from, to))
            status = tell(scene, from, to, found, error);
        from = to;
    }
    return status;
}
