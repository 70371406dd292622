/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What makes two sides hard to compare, beside the change that was meant.
 *
 * Every limit is wide: a warning that comes with each comparison is read by
 * nobody. */
#include "compare/alike.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/plane.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* All common practice, no source. One axle tooth in 78 is 1.3 % of gearing; a
 * new tyre 0.5 %. A lap is driven 1 % longer or shorter. Rain takes a fifth of
 * the pace; another layout takes more. */
static const double GEARING_SHARE = 0.01;
static const double LENGTH_SHARE = 0.05;
static const double TIME_SHARE = 0.25;
/* Teeth and tyres change the turns of a lap, and hardly its time: 6 % is three
 * seconds of fifty. The mean RPM of a lap differs by half at most between a
 * tight track and a fast one (simulated tracks); a four-stroke turns half as
 * fast as a two-stroke. */
static const double LAYOUT_TIME_SHARE = 0.06;
static const double KART_SHARE = 0.6;
/* Correlation of RPM over the lap: on one track the same bends come at the same
 * places whoever drives, on two they do not. */
static const double LEAST_FIT = 0.5;
/* Loggers of 20 and 25 Hz see nearly the same tops and lows, of 10 and 20 Hz
 * not. */
static const double RATE_FACTOR = 1.5;
/* No jet moves heat so far: 8 % of mixture. */
static const double LEVEL_C = 8.0 * KW_EGT_C_PER_PERCENT;
/* Further than any track is long, nearer than any other track. */
static const double FAR_M = 3000.0;
/* For a median that one odd lap does not move. */
enum { FEWEST_LAPS = 3 };

/* Below this the clutch may slip and a GPS is poor. */
static const double FAST_M_S = 10.0;
enum { FEWEST_FAST_SAMPLES = 30 };

/* ---- one side in a few numbers ------------------------------------------- */

/* time_s, length_m, loaded_c, turns  medians over the used laps.
 * turns_m   engine turns for each metre.
 * rate_hz   of the slowest log.
 * first_s, last_s  when its logs began; NAN where one does not say.
 * lat_deg, lon_deg of the first log with position. */
struct side_figures {
    double time_s;
    double length_m;
    double loaded_c;
    double turns;
    double turns_m;
    double rate_hz;
    double first_s;
    double last_s;
    double lat_deg;
    double lon_deg;
};

/* By the median of single readings: wheelspin, a slipping clutch and a poor fix
 * of the receiver each spoil some, and leave the middle alone. */
double kw_turns_per_m(const struct kw_review *review)
{
    const struct kw_session *session = &review->session;
    double *ratios = NULL;
    size_t n = 0;
    if (session->speed_m_s == NULL || review->load == NULL)
        return NAN;
    ratios = kw_array_new(session->n_samples, sizeof *ratios, NULL);
    if (ratios == NULL)
        return NAN;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (kw_under_load(review->load[i]) &&
            session->speed_m_s[i] > FAST_M_S && session->rpm[i] > 0.0)
            ratios[n++] = session->rpm[i] / 60.0 / session->speed_m_s[i];
    }
    const double middle =
        n >= FEWEST_FAST_SAMPLES ? kw_median(ratios, n, ratios) : NAN;
    free(ratios);
    return middle;
}

/* Metres from one passing of the line to the next. */
static double lap_length_m(const struct kw_session *session,
                           const struct kw_lap *lap)
{
    double metres = 0.0;
    if (session->speed_m_s == NULL)
        return NAN;
    for (size_t i = 0; i + 1 < session->n_samples; i++) {
        if (session->time_s[i] < lap->start_s ||
            session->time_s[i] >= lap->end_s)
            continue;
        metres += session->speed_m_s[i] *
                  (session->time_s[i + 1] - session->time_s[i]);
    }
    return metres;
}

/* The figures of a lap that have a median. */
enum figure { LAP_TIME, LOADED_HEAT, LAP_LENGTH, LAP_TURNS };

/* What one lap gives for one of the medians. */
static double lap_figure(const struct kw_compare_sessions *sessions,
                         const struct kw_lap_figures *row,
                         enum figure figure)
{
    const struct kw_review *review = &sessions->reviews[row->lap.log];
    if (figure == LAP_TIME)
        return row->time_s;
    if (figure == LOADED_HEAT)
        return row->loaded_c;
    if (figure == LAP_TURNS)
        return row->turns;
    for (size_t i = 0; i < review->laps.n; i++) {
        if (review->laps.items[i].number == row->lap.number)
            return lap_length_m(&review->session, &review->laps.items[i]);
    }
    return NAN;
}

static double median_figure(const struct kw_compare_sessions *sessions,
                            const struct kw_lap_table *table,
                            enum figure figure,
                            double *values)
{
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++) {
        if (table->rows[i].lap.use == KW_LAP_USED)
            values[n++] = lap_figure(sessions, &table->rows[i], figure);
    }
    return n >= FEWEST_LAPS ? kw_median(values, n, values) : NAN;
}

/* One log without a date leaves the order of the sides open, so NAN is passed
 * on. */
static void see_logs(const struct kw_compare_sessions *sessions,
                     struct side_figures *out)
{
    out->rate_hz = INFINITY;
    out->lat_deg = NAN;
    for (size_t log = 0; log < sessions->n; log++) {
        const struct kw_review *review = &sessions->reviews[log];
        const double begin_s = review->log.start_unix_s;
        out->rate_hz = fmin(out->rate_hz, review->session.rate_hz);
        out->first_s =
            log == 0 || isnan(begin_s) ? begin_s : fmin(out->first_s, begin_s);
        out->last_s =
            log == 0 || isnan(begin_s) ? begin_s : fmax(out->last_s, begin_s);
        if (isnan(out->lat_deg) && review->session.x_m != NULL) {
            out->lat_deg = review->session.origin_lat_deg;
            out->lon_deg = review->session.origin_lon_deg;
        }
    }
}

/* The gearing of the first log stands for the side: it is one setup. */
static enum kw_status sum_up(const struct kw_compare_sessions *sessions,
                             const struct kw_lap_table *table,
                             struct side_figures *out,
                             struct kw_error *error)
{
    double *values = kw_array_new(table->n, sizeof *values, error);
    if (values == NULL)
        return KW_NO_MEMORY;
    *out = (struct side_figures){0};
    out->time_s = median_figure(sessions, table, LAP_TIME, values);
    out->loaded_c = median_figure(sessions, table, LOADED_HEAT, values);
    out->length_m = median_figure(sessions, table, LAP_LENGTH, values);
    out->turns = median_figure(sessions, table, LAP_TURNS, values);
    out->turns_m = kw_turns_per_m(&sessions->reviews[0]);
    see_logs(sessions, out);
    free(values);
    return KW_OK;
}

/* ---- what differs -------------------------------------------------------- */

static void add_value(struct kw_text *line, double value, int decimals)
{
    if (decimals == 0)
        kw_text_add_whole(line, value);
    else
        kw_text_add_number(line, value, decimals);
}

/* "words A before, B after" */
static enum kw_status note(struct kw_notices *notices,
                           const char *words,
                           const double values[KW_N_SIDES],
                           int decimals,
                           struct kw_error *error)
{
    struct kw_text line = {0};
    kw_text_add(&line, words);
    kw_text_add(&line, " ");
    add_value(&line, values[KW_BEFORE], decimals);
    kw_text_add(&line, " before, ");
    add_value(&line, values[KW_AFTER], decimals);
    kw_text_add(&line, " after");
    return kw_notices_tell(notices, 0, &line, error);
}

/* false where one of them is not known. */
static bool differ_by(double a, double b, double share)
{
    return fabs(a - b) > share * fmin(a, b);
}

static bool far_apart(const struct side_figures *a,
                      const struct side_figures *b)
{
    return kw_plane_distance_m(a->lat_deg, a->lon_deg, b->lat_deg, b->lon_deg) >
           FAR_M;
}

/* Before the track: an engine that turns half as fast drives other laps too. */
static enum kw_status note_kart(const struct side_figures sides[KW_N_SIDES],
                                struct kw_differences *found,
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    double rpm[KW_N_SIDES];
    for (int side = 0; side < KW_N_SIDES; side++)
        rpm[side] = 60.0 * sides[side].turns / sides[side].time_s;
    found->kart = differ_by(rpm[KW_BEFORE], rpm[KW_AFTER], KART_SHARE);
    return found->kart ? note(notices,
                              "these look like two different karts or engines: "
                              "mean RPM of a lap",
                              rpm, 0, error)
                       : KW_OK;
}

/* One sentence about the track is enough: the plainest one. */
static enum kw_status note_track(const struct side_figures sides[KW_N_SIDES],
                                 double course_fit,
                                 struct kw_differences *found,
                                 struct kw_notices *notices,
                                 struct kw_error *error)
{
    const struct side_figures *a = &sides[KW_BEFORE];
    const struct side_figures *b = &sides[KW_AFTER];
    const double length_m[] = {a->length_m, b->length_m};
    const double time_s[] = {a->time_s, b->time_s};
    found->track = true;
    if (differ_by(a->length_m, b->length_m, LENGTH_SHARE))
        return note(notices,
                    "these look like two different tracks: a lap measures, in "
                    "metres,",
                    length_m, 0, error);
    if (far_apart(a, b))
        return kw_notices_add(
            notices, 0, "the two sides were driven at different places", error);
    if (differ_by(a->time_s, b->time_s, TIME_SHARE))
        return note(notices,
                    "these look like two different tracks, or one of them wet: "
                    "a lap takes, in seconds,",
                    time_s, 1, error);
    if (course_fit < LEAST_FIT)
        return kw_notices_add(notices, 0,
                              "these look like two different tracks: RPM over "
                              "the lap does not fit",
                              error);
    if (differ_by(a->time_s, b->time_s, LAYOUT_TIME_SHARE) &&
        differ_by(a->turns, b->turns, GEARING_SHARE) &&
        (a->time_s > b->time_s) == (a->turns > b->turns))
        return note(notices,
                    "these look like two different tracks or layouts, or one "
                    "of them wet: turns of the engine and time of a lap both "
                    "differ; in seconds,",
                    time_s, 1, error);
    found->track = false;
    return KW_OK;
}

/* Lag before level: a jet may move the level, but never how fast a probe
 * follows. */
static enum kw_status note_probe(const struct side_figures sides[KW_N_SIDES],
                                 const struct kw_shared_gas *gas,
                                 struct kw_differences *found,
                                 struct kw_notices *notices,
                                 struct kw_error *error)
{
    const double level_c[] = {sides[KW_BEFORE].loaded_c,
                              sides[KW_AFTER].loaded_c};
    found->probe = true;
    if (gas->apart)
        return note(notices,
                    "these look like two different EGT probes, or another "
                    "place for it: its lag, in seconds,",
                    gas->side_lag_s, 2, error);
    if (fabs(level_c[KW_BEFORE] - level_c[KW_AFTER]) > LEVEL_C)
        return note(notices,
                    "EGT under load is further apart than a jet can do: "
                    "another probe, place or pipe? In C,",
                    level_c, 0, error);
    found->probe = false;
    found->doubtful = gas->doubtful;
    if (gas->doubtful)
        return note(notices,
                    "is it the same EGT probe, in the same place and clean? "
                    "The lag that it shows, in seconds, is",
                    gas->side_lag_s, 2, error);
    return KW_OK;
}

/* Turns on a lap of one track need no speed, and no two speedometers that
 * agree; two tracks have nothing else in common. */
static enum kw_status note_gearing(const struct side_figures sides[KW_N_SIDES],
                                   struct kw_differences *found,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    const double turns[] = {sides[KW_BEFORE].turns, sides[KW_AFTER].turns};
    const double turns_m[] = {sides[KW_BEFORE].turns_m,
                              sides[KW_AFTER].turns_m};
    const bool by_lap = !found->track && !isnan(turns[0]) && !isnan(turns[1]);
    const double *ratio = by_lap ? turns : turns_m;
    found->gearing =
        differ_by(ratio[KW_BEFORE], ratio[KW_AFTER], GEARING_SHARE);
    if (!found->gearing)
        return KW_OK;
    return by_lap ? note(notices,
                         "the gearing or the tyres differ: engine turns on a "
                         "lap",
                         turns, 0, error)
                  : note(notices,
                         "the gearing differs, or a speed that is not true: "
                         "engine turns for each metre",
                         turns_m, 3, error);
}

/* Sides given the wrong way round would turn every piece of advice round. */
static enum kw_status note_rest(const struct side_figures sides[KW_N_SIDES],
                                struct kw_differences *found,
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    const struct side_figures *a = &sides[KW_BEFORE];
    const struct side_figures *b = &sides[KW_AFTER];
    const double rate_hz[] = {a->rate_hz, b->rate_hz};
    enum kw_status status = note_gearing(sides, found, notices, error);
    found->order = b->last_s < a->first_s;
    if (status == KW_OK && found->order)
        status = kw_notices_add(notices, 0,
                                "the logs given with --after were driven "
                                "before those given with --before",
                                error);
    found->logger = a->rate_hz > RATE_FACTOR * b->rate_hz ||
                    b->rate_hz > RATE_FACTOR * a->rate_hz;
    if (status == KW_OK && found->logger)
        status = note(notices,
                      "the sample rates differ: tops and lows are taken at the "
                      "lower one; each second",
                      rate_hz, 0, error);
    return status;
}

/* ---- nothing to compare -------------------------------------------------- */

/* By content: a log may have been copied. */
static bool is_same_log(const struct kw_review *one,
                        const struct kw_review *other)
{
    const struct kw_session *a = &one->session;
    const struct kw_session *b = &other->session;
    /* NAN where a log does not say when it began. */
    if (fabs(one->log.start_unix_s - other->log.start_unix_s) > 0.0)
        return false;
    if (a->n_samples != b->n_samples || a->n_samples == 0)
        return false;
    const size_t n_bytes = a->n_samples * sizeof(double);
    return memcmp(a->time_s, b->time_s, n_bytes) == 0 &&
           memcmp(a->rpm_raw, b->rpm_raw, n_bytes) == 0;
}

/* Does each log of one side stand on the other? */
static bool stands_in(const struct kw_compare_sessions *one,
                      const struct kw_compare_sessions *other)
{
    for (size_t i = 0; i < one->n; i++) {
        bool found = false;
        for (size_t k = 0; k < other->n && !found; k++)
            found = is_same_log(&one->reviews[i], &other->reviews[k]);
        if (!found)
            return false;
    }
    return true;
}

/* Highest RPM of all logs of a side. */
static double top_rpm(const struct kw_compare_sessions *sessions)
{
    double top = NAN;
    for (size_t log = 0; log < sessions->n; log++) {
        const struct kw_session *session = &sessions->reviews[log].session;
        for (size_t i = 0; i < session->n_samples; i++)
            top = fmax(top, session->rpm[i]);
    }
    return top;
}

/* An engine that only idled has laps of nothing, and a probe in gas that hardly
 * moves. */
static enum kw_status note_idle(const struct kw_alike_source *source,
                                struct kw_differences *found,
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        const double rpm = top_rpm(source->sessions[side]);
        struct kw_text line = {0};
        found->idle[side] = rpm < source->driven_rpm;
        if (!found->idle[side])
            continue;
        kw_text_addf(&line,
                     "the kart was not driven %s the change: the engine stayed "
                     "at or below ",
                     side == KW_BEFORE ? "before" : "after");
        kw_text_add_whole(&line, rpm);
        kw_text_add(&line, " RPM");
        status = kw_notices_tell(notices, 0, &line, error);
    }
    return status;
}

/* The track first: the gearing is told by turns on a lap, which only laps of
 * one track share. */
enum kw_status kw_find_differences(const struct kw_alike_source *source,
                                   struct kw_differences *found,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    struct side_figures sides[KW_N_SIDES];
    enum kw_status status = note_idle(source, found, notices, error);
    if (status != KW_OK || found->idle[KW_BEFORE] || found->idle[KW_AFTER])
        return status;
    found->same =
        stands_in(source->sessions[KW_BEFORE], source->sessions[KW_AFTER]) &&
        stands_in(source->sessions[KW_AFTER], source->sessions[KW_BEFORE]);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++)
        status = sum_up(source->sessions[side], source->tables[side],
                        &sides[side], error);
    if (status == KW_OK)
        status = note_kart(sides, found, notices, error);
    if (status != KW_OK || found->kart)
        return status;
    status = note_track(sides, source->course_fit, found, notices, error);
    if (status == KW_OK)
        status = note_probe(sides, source->gas, found, notices, error);
    if (status == KW_OK)
        status = note_rest(sides, found, notices, error);
    return status;
}
