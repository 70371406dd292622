/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Highest, lowest and mean of each lap, and which laps to leave out.
 *
 * Spoilt is what a driver would not count either: a spin, a stop, traffic
 * through the pits. Told by time and by way against the other laps, never
 * against a figure of ours: tracks and karts differ by more than laps do. */
#include "analysis/lap_statistics.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Lap times scatter by 0.3 to 1 %, a learner's by 4 (common practice, no
 * source). A lap this share off the usual time had something in it; where laps
 * scatter more, so many standard deviations. */
static const double TIME_SHARE = 0.10;
static const double TIME_SD = 5.0;
/* Way of one lap over the usual: a spin, a short cut, the pit lane. */
static const double WAY_SHARE = 0.04;
/* Standing this long on a flying lap is a stop. */
static const double STOP_S = 2.0;
/* Of fewer laps each may have had one. */
enum { FEWEST_TO_TELL = 4 };
/* A gap in the log of this length may hide anything. */
static const double GAP_S = 1.0;

/* First sample at or after a time. */
static size_t sample_from(const struct kw_session *session, double at_s)
{
    const size_t i = kw_sample_at(session->time_s, session->n_samples, at_s);
    return i < session->n_samples && session->time_s[i] < at_s ? i + 1 : i;
}

/* Of the readings that were logged, not of the gas: this is what the driver
 * knows from the dash. fmax() and fmin() pass over NAN. */
static void measure(const struct kw_session *session, struct kw_lap *lap)
{
    const size_t to = sample_from(session, lap->end_s);
    double egt_sum_c = 0.0;
    size_t egt_n = 0;
    lap->rpm_max = lap->rpm_min = NAN;
    lap->egt_max_c = lap->egt_mean_c = NAN;
    for (size_t i = sample_from(session, lap->start_s); i < to; i++) {
        lap->rpm_max = fmax(lap->rpm_max, session->rpm[i]);
        lap->rpm_min = fmin(lap->rpm_min, session->rpm[i]);
        if (session->egt_c == NULL || isnan(session->egt_c[i]))
            continue;
        lap->egt_max_c = fmax(lap->egt_max_c, session->egt_c[i]);
        egt_sum_c += session->egt_c[i];
        egt_n++;
    }
    if (egt_n > 0)
        lap->egt_mean_c = egt_sum_c / (double)egt_n;
}

void kw_measure_laps(const struct kw_session *session, struct kw_laps *laps)
{
    for (size_t i = 0; i < laps->n; i++)
        measure(session, &laps->items[i]);
}

/* Gaps in the log, not missing readings of one channel: a lap may have been
 * longer or shorter than it seems. */
static bool has_gap(const struct kw_session *session, const struct kw_lap *lap)
{
    for (size_t i = 0; i < session->gaps.n; i++) {
        const double from_s = session->time_s[session->gaps.items[i].from];
        const double to_s = session->time_s[session->gaps.items[i].to];
        if (to_s - from_s > GAP_S && to_s > lap->start_s && from_s < lap->end_s)
            return true;
    }
    return false;
}

/* By pace and not by RPM: an engine may idle through a stop. */
static bool has_stop(const struct kw_lap_axis *axis, const struct kw_lap *lap)
{
    double stands_since_s = NAN;
    for (size_t i = kw_sample_at(axis->time_s, axis->n, lap->start_s) + 1;
         i < axis->n && axis->time_s[i] < lap->end_s; i++) {
        if (axis->pace[i] >= axis->drives)
            stands_since_s = NAN;
        else if (isnan(stands_since_s))
            stands_since_s = axis->time_s[i];
        if (axis->time_s[i] - stands_since_s > STOP_S)
            return true;
    }
    return false;
}

/* Nobody stops on every lap: what most laps show is the slowest corner of a
 * track, in a log that never shows the engine at idle.
 *
 * stops  stops[n]; all false then. */
static void find_stops(const struct kw_lap_axis *axis,
                       const struct kw_laps *laps,
                       bool *stops)
{
    size_t flying = 0;
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        const bool is_flying = lap->kind == KW_LAP_FLYING;
        stops[i] = is_flying && axis != NULL && has_stop(axis, lap);
        flying += is_flying;
        n += stops[i];
    }
    for (size_t i = 0;
         flying >= FEWEST_TO_TELL && 2 * n > flying && i < laps->n; i++)
        stops[i] = false;
}

/* Where nobody measured metres, the engine's turns stand for them. */
static double lap_way(const struct kw_lap_axis *axis, const struct kw_lap *lap)
{
    return kw_lap_axis_way_at(axis, lap->end_s) -
           kw_lap_axis_way_at(axis, lap->start_s);
}

/* Marks the laps whose value is further from the middle one than `share` of it
 * and than TIME_SD standard deviations. */
static void mark_far_off(struct kw_laps *laps,
                         const double *values,
                         double share,
                         double *scratch)
{
    const double usual = kw_median(values, laps->n, scratch);
    const double sd = kw_mad_sd(values, laps->n, 0.0, scratch);
    const double most = fmax(share * usual, TIME_SD * sd);
    for (size_t i = 0; i < laps->n; i++) {
        if (fabs(values[i] - usual) > most)
            laps->items[i].spoilt = true;
    }
}

/* Time and way are asked apart: a spin costs time, a short cut way, the pit
 * lane both. The spread of all laps is robust (median and MAD), so that the
 * laps that are looked for do not hide themselves. */
enum kw_status kw_mark_spoilt_laps(const struct kw_session *session,
                                   const struct kw_lap_axis *axis,
                                   struct kw_laps *laps,
                                   struct kw_error *error)
{
    double *values = kw_array_new_nan(laps->n, error);
    double *scratch = kw_array_new(laps->n, sizeof *scratch, error);
    bool *stops = kw_array_new(laps->n, sizeof *stops, error);
    const bool ok = values != NULL && scratch != NULL && stops != NULL;
    if (ok)
        find_stops(axis, laps, stops);
    for (size_t i = 0; ok && i < laps->n; i++) {
        struct kw_lap *lap = &laps->items[i];
        if (lap->kind != KW_LAP_FLYING)
            continue;
        lap->spoilt = has_gap(session, lap) || stops[i];
        values[i] = lap->end_s - lap->start_s;
    }
    if (ok)
        mark_far_off(laps, values, TIME_SHARE, scratch);
    for (size_t i = 0; ok && axis != NULL && i < laps->n; i++)
        values[i] = isnan(values[i]) ? NAN : lap_way(axis, &laps->items[i]);
    if (ok && axis != NULL)
        mark_far_off(laps, values, WAY_SHARE, scratch);
    free(values);
    free(scratch);
    free(stops);
    return ok ? KW_OK : KW_NO_MEMORY;
}
