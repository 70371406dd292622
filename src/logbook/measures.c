/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of one session, robust against a spin or a spike: medians, not means.
 * Cost: O(n) over the samples. */
#include "logbook/measures.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

static const double S_PER_H = 3600.0;
static const double S_PER_MIN = 60.0;

/* Fewer laps have no spread worth a number. */
enum { FEWEST_LAPS = 4 };

/* Below this an hourly rate is a lottery: one event in a minute of running
 * would count as sixty an hour. */
static const double SHORTEST_RUN_S = 180.0;

static const struct kw_measure_row rows[KW_N_MEASURES] = {
    [KW_MEASURE_CLUTCH_S] = {"clutch_engagement_s", "clutch engagement time, s",
                             2},
    [KW_MEASURE_EGT_TOP_C] = {"egt_top_c", "top-end EGT of a lap, C", 0},
    [KW_MEASURE_DROPOUTS_PER_H] = {"dropouts_per_h",
                                   "drop-outs per running hour", 1},
    [KW_MEASURE_LAP_SPREAD] = {"lap_spread_percent", "spread of lap times, %",
                               2},
    [KW_MEASURE_LEAN_S_PER_H] = {"lean_s_per_h",
                                 "seconds lean per running hour", 0},
    [KW_MEASURE_RPM_TOP] = {"rpm_top", "top RPM of a lap", 0},
    [KW_MEASURE_EGT_AIR_C] = {"egt_top_air_c", "top-end EGT in standard air, C",
                              0},
};

/* The name under which a measure is stored must never change: old books have
 * it. */
const struct kw_measure_row *kw_measure_row(enum kw_measure measure)
{
    return &rows[measure];
}

/* RPM times time over the runs; where RPM is missing the run's other samples
 * speak for it. */
static double revolutions(const struct kw_review *review)
{
    const struct kw_session *session = &review->session;
    double turns = 0.0;
    double known_s = 0.0;
    for (size_t i = 0; i < review->running.spans.n; i++) {
        const struct kw_span *span = &review->running.spans.items[i];
        for (size_t j = span->from; j + 1 < span->to; j++) {
            const double step_s = session->time_s[j + 1] - session->time_s[j];
            if (!isfinite(session->rpm[j]))
                continue;
            turns += session->rpm[j] / S_PER_MIN * step_s;
            known_s += step_s;
        }
    }
    return known_s > 0.0 ? turns / known_s * review->running.seconds : NAN;
}

/* The same laps that a person would compare by hand. */
static bool is_comparable(const struct kw_lap *lap)
{
    return lap->kind == KW_LAP_FLYING && !lap->spoilt;
}

/* One function for each figure, so that one loop collects them all. */
static double lap_time_s(const struct kw_lap *lap)
{
    return lap->end_s - lap->start_s;
}

static double lap_egt_c(const struct kw_lap *lap)
{
    return lap->egt_max_c;
}

static double lap_rpm(const struct kw_lap *lap)
{
    return lap->rpm_max;
}

/* The comparable laps' values in values[laps->n].
 *
 * returns  how many. */
static size_t collect(const struct kw_laps *laps,
                      double (*value)(const struct kw_lap *),
                      double *values)
{
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++) {
        if (is_comparable(&laps->items[i]))
            values[n++] = value(&laps->items[i]);
    }
    return n;
}

/* The spread by median and MAD: of eight laps one behind a slower kart would
 * double a standard deviation. */
static void measure_laps(const struct kw_laps *laps,
                         double *scratch,
                         struct kw_session_numbers *out)
{
    size_t n = collect(laps, lap_time_s, scratch);
    for (size_t i = 0; i < n; i++)
        out->best_lap_s = fmin(out->best_lap_s, scratch[i]);
    if (n >= FEWEST_LAPS) {
        const double middle_s = kw_median(scratch, n, scratch);
        out->values[KW_MEASURE_LAP_SPREAD] =
            100.0 * kw_mad_sd(scratch, n, 0.0, scratch) / middle_s;
    }
    n = collect(laps, lap_egt_c, scratch);
    out->values[KW_MEASURE_EGT_TOP_C] = kw_median(scratch, n, scratch);
    n = collect(laps, lap_rpm, scratch);
    out->values[KW_MEASURE_RPM_TOP] = kw_median(scratch, n, scratch);
}

/* Clutch times by the middle one: one bad start, with a cold lining or a wheel
 * on the grass, is no wear. */
static void measure_events(const struct kw_review *review,
                           double *scratch,
                           struct kw_session_numbers *out)
{
    size_t n_starts = 0;
    double lean_s = 0.0;
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        const double long_s = event->end_s - event->start_s;
        if (event->kind == KW_CLUTCH_ENGAGEMENT)
            scratch[n_starts++] = long_s;
        if (event->kind == KW_LEAN)
            lean_s += long_s;
    }
    out->values[KW_MEASURE_CLUTCH_S] = kw_median(scratch, n_starts, scratch);
    /* An hour on the stand without a drop-out is no good hour. */
    if (review->running.seconds < SHORTEST_RUN_S ||
        review->verdict == KW_VERDICT_NOT_KNOWN)
        return;
    const double hours = review->running.seconds / S_PER_H;
    out->values[KW_MEASURE_DROPOUTS_PER_H] =
        (double)kw_events_count(&review->events, KW_DROPOUT) / hours;
    if (review->session.egt_c != NULL)
        out->values[KW_MEASURE_LEAN_S_PER_H] = lean_s / hours;
}

/* Of the cleaned readings: a spike of the probe is no top temperature. */
static double highest(const double *values, size_t n)
{
    double most = NAN;
    for (size_t i = 0; values != NULL && i < n; i++)
        most = fmax(most, values[i]);
    return most;
}

/* What cannot be told stays NAN and gets no row: 0 drop-outs is a good session,
 * not an unknown one. */
enum kw_status kw_measure_session(const struct kw_review *review,
                                  struct kw_session_numbers *out,
                                  struct kw_error *error)
{
    const size_t n =
        review->laps.n > review->events.n ? review->laps.n : review->events.n;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    *out = (struct kw_session_numbers){.best_lap_s = NAN};
    for (size_t i = 0; i < KW_N_MEASURES; i++)
        out->values[i] = NAN;
    measure_laps(&review->laps, scratch, out);
    measure_events(review, scratch, out);
    out->revolutions = revolutions(review);
    out->rpm_max = highest(review->session.rpm, review->session.n_samples);
    out->egt_max_c = highest(review->session.egt_c, review->session.n_samples);
    free(scratch);
    return KW_OK;
}
