/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the figures of the laps to the measures that are shown: collected,
 * tested lap against lap, corrected for their number, judged.
 *
 * The lap is the unit of evidence. Samples inside a lap follow one another and
 * would make any difference look certain. */
#include "compare/measures.h"

#include "compare/lap_test.h"
#include "compare/measure_kinds.h"
#include "compare/verdict.h"
#include "core/array.h"
#include "core/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

/* A band needs so many laps on both sides that go there. Common practice, no
 * source. */
enum { LAPS_IN_BAND = 4 };

/* Of the arrangements that are drawn where there are too many to count: fixed,
 * so that the same laps give the same answer. */
static const uint64_t DEAL_SEED = 1;

/* More bands dilute the evidence of each: those with most time are shown. */
enum { MOST_HEAT_BANDS = 6, MOST_GAIN_BANDS = 3 };

/* ---- collecting ---------------------------------------------------------- */

static void measure_free(struct kw_measure *measure)
{
    for (int side = 0; side < KW_N_SIDES; side++) {
        free(measure->values[side]);
        free(measure->laps[side]);
    }
}

/* Room for n values on one side. */
static enum kw_status make_room(struct kw_measure *measure,
                                int side,
                                size_t n,
                                struct kw_error *error)
{
    measure->values[side] = kw_array_new(n, sizeof(double), error);
    measure->laps[side] = kw_array_new(n, sizeof(size_t), error);
    const bool failed =
        measure->values[side] == NULL || measure->laps[side] == NULL;
    return failed ? KW_NO_MEMORY : KW_OK;
}

/* A lap with a drop-out is left out of all measures but that which counts
 * drop-outs. */
static bool counts(const struct kw_lap_figures *row,
                   const struct kw_measure_kind *kind)
{
    return row->lap.use == KW_LAP_USED ||
           (kind->all_flying && row->lap.use == KW_LAP_HAS_DROPOUT);
}

/* One side's values, each with its lap. */
static void collect_side(const struct kw_lap_table *table,
                         const struct kw_measure_kind *kind,
                         size_t band,
                         int side,
                         struct kw_measure *measure)
{
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++) {
        const struct kw_lap_figures *row = &table->rows[i];
        const double value = kind->value(row, band);
        if (!counts(row, kind) || !isfinite(value))
            continue;
        measure->values[side][n] = value;
        measure->laps[side][n++] = i;
    }
    measure->n[side] = n;
}

/* Adds a measure with its values.
 *
 * returns  NULL when memory is short. */
static struct kw_measure *add_measure(struct kw_measures *out,
                                      const char *name,
                                      const char *unit,
                                      const size_t room[KW_N_SIDES],
                                      struct kw_error *error)
{
    struct kw_measure measure = {
        .name = name, .unit = unit, .rpm_from = NAN, .rpm_to = NAN};
    enum kw_status status = kw_array_reserve(&out->items, &out->capacity,
                                             out->n + 1, sizeof measure, error);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++)
        status = make_room(&measure, side, room[side], error);
    if (status != KW_OK) {
        measure_free(&measure);
        return NULL;
    }
    out->items[out->n] = measure;
    return &out->items[out->n++];
}

/* Takes back the measure that was added last. */
static void drop_last(struct kw_measures *out)
{
    measure_free(&out->items[--out->n]);
}

/* ---- testing ------------------------------------------------------------- */

static struct kw_sample sample_of(const struct kw_measure *measure, int side)
{
    return (struct kw_sample){measure->values[side], measure->n[side]};
}

/* What may be believed of the laps' agreement, see struct kw_measure_kind.
 *
 * session  as kw_test_laps() has it.
 * dealt    for counts: Welch is believed where chance deals the values out like
 *          that so rarely; 0 for never. */
struct doubt {
    double floor;
    double session;
    bool is_count;
    double dealt;
};

/* Half of the interval that goes with p, from the half that goes with Welch's
 * own: both are so many errors of one difference. */
static void fit_interval(struct kw_measure *measure, double p)
{
    const double half = fabs(measure->difference) *
                        kw_student_reach(measure->df) /
                        gsl_cdf_tdist_Qinv(0.5 * p, measure->df);
    measure->low = measure->difference - half;
    measure->high = measure->difference + half;
}

/* Three equal counts out of many that are 0 look like a law to Welch, and five
 * ill laps of nine against none of ten like luck, for counts have no normal
 * spread. How often chance deals laps out like that is counted instead; the
 * interval follows where it becomes the narrower for that. */
static enum kw_status deal_out(struct kw_measure *measure,
                               const struct doubt *doubt,
                               struct kw_error *error)
{
    const struct kw_sample before = sample_of(measure, KW_BEFORE);
    const struct kw_sample after = sample_of(measure, KW_AFTER);
    double p = NAN;
    const enum kw_status status =
        kw_permutation_p(&before, &after, DEAL_SEED, &p, error);
    if (status != KW_OK || p <= doubt->dealt)
        return status;
    if (p < measure->p && !(doubt->dealt > 0.0))
        fit_interval(measure, p);
    measure->p = doubt->dealt > 0.0 ? fmax(measure->p, p) : p;
    return KW_OK;
}

/* Means are told in any case; interval and p want laps enough to scatter. */
static enum kw_status test(struct kw_measure *measure,
                           const struct doubt *doubt,
                           struct kw_error *error)
{
    const struct kw_sample before = sample_of(measure, KW_BEFORE);
    const struct kw_sample after = sample_of(measure, KW_AFTER);
    const struct kw_two_sample result =
        kw_test_laps(&before, &after, doubt->floor, doubt->session);
    measure->mean[KW_BEFORE] = result.mean_a;
    measure->mean[KW_AFTER] = result.mean_b;
    measure->difference = result.difference;
    const bool few = before.n < KW_FEWEST_LAPS || after.n < KW_FEWEST_LAPS;
    measure->low = few ? NAN : result.low;
    measure->high = few ? NAN : result.high;
    measure->p = few ? NAN : result.p;
    measure->df = result.df;
    return few || !doubt->is_count ? KW_OK : deal_out(measure, doubt, error);
}

/* The level of the measure over both sides: what stands apart by a share stands
 * apart by a share of this. */
static double mean_value(const struct kw_measure *measure)
{
    double sum = 0.0;
    for (int side = 0; side < KW_N_SIDES; side++)
        for (size_t i = 0; i < measure->n[side]; i++)
            sum += measure->values[side][i];
    return sum / (double)(measure->n[KW_BEFORE] + measure->n[KW_AFTER]);
}

/* Steps of the logger's resolution add to what is believed at the least:
 * readings that were rounded alike agree better than they know. */
static struct doubt doubt_of(const struct kw_measure_source *source,
                             const struct kw_measure_kind *kind,
                             const struct kw_measure *measure)
{
    const struct kw_apart *apart =
        source->other_logger ? &kind->unlike : &kind->alike;
    return (struct doubt){
        .floor = kind->floor + kind->by_rpm_step * source->rpm_step +
                 kind->by_lap_step * source->lap_step_s +
                 kind->by_egt_step * source->egt_step_c,
        .session = apart->amount + apart->share * fabs(mean_value(measure)),
        .is_count = kind->is_count};
}

/* Adds one kind in one band, tested; nothing where it says nothing. */
static enum kw_status add_kind(const struct kw_measure_source *source,
                               const struct kw_measure_kind *kind,
                               size_t band,
                               struct kw_measures *out,
                               struct kw_error *error)
{
    const struct kw_lap_table *const *tables = source->tables;
    const size_t room[KW_N_SIDES] = {tables[KW_BEFORE]->n, tables[KW_AFTER]->n};
    struct kw_measure *measure =
        add_measure(out, kind->name, kind->unit, room, error);
    if (measure == NULL)
        return KW_NO_MEMORY;
    for (int side = 0; side < KW_N_SIDES; side++)
        collect_side(tables[side], kind, band, side, measure);
    const bool silent = !kind->even_zero && !kw_says_something(measure);
    if (measure->n[KW_BEFORE] == 0 || measure->n[KW_AFTER] == 0 || silent) {
        drop_last(out);
        return KW_OK;
    }
    const struct doubt doubt = doubt_of(source, kind, measure);
    return test(measure, &doubt, error);
}

/* ---- bands --------------------------------------------------------------- */

/* Time in a band over both sides; 0 where too few laps go there. */
static double time_in_band(const struct kw_measure_source *source,
                           size_t band,
                           bool of_gain)
{
    double seconds = 0.0;
    for (int side = 0; side < KW_N_SIDES; side++) {
        size_t visits = 0;
        size_t used = 0;
        for (size_t i = 0; i < source->tables[side]->n; i++) {
            const struct kw_lap_figures *row = &source->tables[side]->rows[i];
            const double lap_s =
                of_gain ? row->gain_s[band] : row->band_s[band];
            if (row->lap.use != KW_LAP_USED)
                continue;
            used++;
            visits += lap_s >= KW_SECONDS_IN_BAND ? 1U : 0U;
            seconds += lap_s;
        }
        if (used == 0 || visits < (used < LAPS_IN_BAND ? used : LAPS_IN_BAND))
            return 0.0;
    }
    return seconds;
}

/* The bands with most time, from low RPM to high. */
static enum kw_status add_bands(const struct kw_measure_source *source,
                                const struct kw_measure_kind *kind,
                                size_t most,
                                struct kw_measures *out,
                                struct kw_error *error)
{
    double seconds[KW_MOST_BANDS];
    enum kw_status status = KW_OK;
    for (size_t band = 0; band < KW_MOST_BANDS; band++)
        seconds[band] = time_in_band(source, band, kind == &kw_gain_kind);
    for (size_t band = 0; band < KW_MOST_BANDS && status == KW_OK; band++) {
        size_t longer = 0;
        for (size_t other = 0; other < KW_MOST_BANDS; other++)
            longer += seconds[other] > seconds[band] ? 1U : 0U;
        if (!(seconds[band] > 0.0) || longer >= most)
            continue;
        const size_t n = out->n;
        status = add_kind(source, kind, band, out, error);
        if (status == KW_OK && out->n > n) {
            out->items[n].rpm_from = (double)band * source->width_rpm;
            out->items[n].rpm_to = (double)(band + 1) * source->width_rpm;
        }
    }
    return status;
}

/* ---- starts -------------------------------------------------------------- */

/* Room enough: a start without a figure takes none. */
static size_t count_starts(const struct kw_compare_sessions *sessions)
{
    size_t n = 0;
    for (size_t i = 0; i < sessions->n; i++)
        n +=
            kw_events_count(&sessions->reviews[i].events, KW_CLUTCH_ENGAGEMENT);
    return n;
}

/* Starts belong to no lap: a launch from the pits is on the out lap. */
static void collect_starts(const struct kw_compare_sessions *sessions,
                           int side,
                           bool of_hold,
                           struct kw_measure *measure)
{
    size_t n = 0;
    for (size_t log = 0; log < sessions->n; log++) {
        const struct kw_events *events = &sessions->reviews[log].events;
        for (size_t i = 0; i < events->n; i++) {
            const struct kw_event *event = &events->items[i];
            if (event->kind != KW_CLUTCH_ENGAGEMENT)
                continue;
            const double value = of_hold ? event->detail.engagement.hold_rpm
                                         : event->end_s - event->start_s;
            if (!isfinite(value))
                continue;
            measure->values[side][n++] = value;
        }
    }
    measure->n[side] = n;
    free(measure->laps[side]);
    measure->laps[side] = NULL;
}

/* Starts are few: often this says no more than that. */
static enum kw_status add_starts(const struct kw_measure_source *source,
                                 bool of_hold,
                                 struct kw_measures *out,
                                 struct kw_error *error)
{
    /* As kw_measure_kind.floor: common practice, no source. */
    static const double floor_s = 0.05;
    static const double floor_rpm = 20.0;
    /* As kw_measure_kind.alike, as shares of the level: drivers and grip differ
     * from session to session. Common practice, no source. */
    static const double share_of_time = 0.03;
    static const double share_of_rpm = 0.003;
    /* Four starts and five can be dealt out in 126 ways: a p of 1 in 126 is all
     * that counting can give, however far apart they stand. So counting only
     * guards against two kinds of starts dealt unevenly, at the usual one in
     * twenty, and Welch says how sure it is. */
    static const double dealt = 0.05;
    const size_t room[KW_N_SIDES] = {count_starts(source->sessions[KW_BEFORE]),
                                     count_starts(source->sessions[KW_AFTER])};
    if (room[KW_BEFORE] == 0 || room[KW_AFTER] == 0)
        return KW_OK;
    struct kw_measure *measure =
        add_measure(out, of_hold ? "clutch_hold_rpm" : "clutch_engagement_s",
                    of_hold ? "rpm" : "s", room, error);
    if (measure == NULL)
        return KW_NO_MEMORY;
    for (int side = 0; side < KW_N_SIDES; side++)
        collect_starts(source->sessions[side], side, of_hold, measure);
    /* From rest and out of a slow corner the clutch works differently: starts
     * are of two kinds, like counts. */
    const double level = fabs(mean_value(measure));
    const struct doubt doubt = {
        .floor = of_hold ? floor_rpm + KW_SD_OF_ROUNDING * source->rpm_step
                         : floor_s + KW_SD_OF_TWO_ROUNDINGS * source->row_s,
        .session = (of_hold ? share_of_rpm : share_of_time) * level,
        .is_count = true,
        .dealt = dealt};
    return test(measure, &doubt, error);
}

/* ---- all of them --------------------------------------------------------- */

/* In the order in which they are shown, heat first. */
static enum kw_status add_all(const struct kw_measure_source *source,
                              struct kw_measures *out,
                              struct kw_error *error)
{
    size_t n_whole = 0;
    const struct kw_measure_kind *whole_lap = kw_whole_lap_kinds(&n_whole);
    enum kw_status status =
        add_bands(source, &kw_heat_kind, MOST_HEAT_BANDS, out, error);
    for (size_t i = 0; i < n_whole && status == KW_OK; i++)
        status = add_kind(source, &whole_lap[i], 0, out, error);
    if (status == KW_OK)
        status = add_bands(source, &kw_gain_kind, MOST_GAIN_BANDS, out, error);
    if (status == KW_OK)
        status = add_starts(source, false, out, error);
    if (status == KW_OK)
        status = add_starts(source, true, out, error);
    return status;
}

/* Judged when all are there: the correction for their number has to know it. */
enum kw_status kw_find_measures(const struct kw_measure_source *source,
                                struct kw_measures *out,
                                struct kw_error *error)
{
    *out = (struct kw_measures){0};
    enum kw_status status = add_all(source, out, error);
    if (status == KW_OK)
        status = kw_judge_measures(out, error);
    if (status != KW_OK)
        kw_measures_free(out);
    return status;
}

void kw_measures_free(struct kw_measures *measures)
{
    for (size_t i = 0; i < measures->n; i++)
        measure_free(&measures->items[i]);
    free(measures->items);
    *measures = (struct kw_measures){0};
}
