/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which laps may be held against each other: those that were driven alike, on a
 * warm engine, and were logged whole. What is left out is named, never dropped
 * in silence. */
#include "compare/lap_choice.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Share of a lap that may be without EGT. */
static const double MOST_MISSING_EGT = 0.1;

/* A lap is slow when it is so much longer than the middle one, and further from
 * it than laps are from each other here. 0.3 to 1 % apart is a good driver, a
 * learner is worse (common practice, no source). One lap of traffic that is
 * kept moves the mean of ten by more than a jet does. */
static const double SLOW_SHARE = 0.02;
static const double SLOW_SPREADS = 5.0;

/* A lap is cold when its heat under load stands below the later laps by more
 * than this, and by more than one lap differs from the next. 4 C is 0.4 % of
 * mixture. Only laps in the first minutes after the start, or after a lap with
 * a stop, can be cold: pipe and boss warm up in a minute or two (common
 * practice, no source), and what cools later on may be the change itself. */
static const double COLD_C = 4.0;
static const double COLD_SPREADS = 3.0;
static const double WARM_UP_S = 120.0;
enum { MOST_COLD_LAPS = 2, FEWEST_WARM_LAPS = 3 };

/* ---- one lap ------------------------------------------------------------- */

/* Any touch spoils the lap: half a drop-out costs as much time as a whole
 * one. */
static bool has_event(const struct kw_review *review,
                      const struct kw_lap *lap,
                      enum kw_event_kind kind)
{
    for (size_t i = 0; i < review->events.n; i++) {
        const struct kw_event *event = &review->events.items[i];
        if (event->kind == kind && event->start_s < lap->end_s &&
            event->end_s > lap->start_s)
            return true;
    }
    return false;
}

/* The probe was open, stuck or set aside for a good part of the lap. */
static bool lacks_egt(const struct kw_session *session,
                      const struct kw_lap *lap)
{
    size_t known = 0;
    size_t n = 0;
    if (session->egt_c == NULL)
        return true;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (session->time_s[i] < lap->start_s)
            continue;
        if (session->time_s[i] >= lap->end_s)
            break;
        known += isnan(session->egt_c[i]) ? 0U : 1U;
        n++;
    }
    return (double)known < (1.0 - MOST_MISSING_EGT) * (double)n;
}

/* The first reason that holds is told; more would help nobody. */
enum kw_lap_use kw_judge_lap(const struct kw_review *review,
                             const struct kw_lap *lap,
                             bool wants_egt)
{
    if (lap->kind == KW_LAP_OUT)
        return KW_LAP_IS_OUT;
    if (lap->kind == KW_LAP_IN)
        return KW_LAP_IS_IN;
    if (lap->spoilt)
        return KW_LAP_IS_SPOILT;
    if (has_event(review, lap, KW_DROPOUT))
        return KW_LAP_HAS_DROPOUT;
    if (wants_egt && lacks_egt(&review->session, lap))
        return KW_LAP_HAS_NO_EGT;
    return KW_LAP_USED;
}

/* ---- beside the others --------------------------------------------------- */

size_t kw_count_used(const struct kw_lap_table *table)
{
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++)
        n += table->rows[i].lap.use == KW_LAP_USED ? 1U : 0U;
    return n;
}

/* Values of the used laps from row `from` on that belong to a log (SIZE_MAX for
 * all); returns how many. */
static size_t collect(const struct kw_lap_table *table,
                      size_t log,
                      size_t from,
                      bool of_time,
                      double *values)
{
    size_t n = 0;
    for (size_t i = from; i < table->n; i++) {
        const struct kw_lap_figures *row = &table->rows[i];
        if (row->lap.use != KW_LAP_USED)
            continue;
        if (log != SIZE_MAX && row->lap.log != log)
            continue;
        const double value = of_time ? row->time_s : row->loaded_c;
        if (!isnan(value))
            values[n++] = value;
    }
    return n;
}

/* Behind another kart or under a yellow flag a lap says nothing of the jet.
 * Slower only: a quick lap was driven. */
static void drop_slow(struct kw_lap_table *table, double *values)
{
    const size_t n = collect(table, SIZE_MAX, 0, true, values);
    if (n < FEWEST_WARM_LAPS)
        return;
    double *scratch = values + n;
    const double middle_s = kw_median(values, n, scratch);
    const double spread_s = kw_mad_sd(values, n, 0.0, scratch);
    const double most_s =
        middle_s + fmax(SLOW_SHARE * middle_s, SLOW_SPREADS * spread_s);
    for (size_t i = 0; i < table->n; i++) {
        if (table->rows[i].lap.use == KW_LAP_USED &&
            table->rows[i].time_s > most_s)
            table->rows[i].lap.use = KW_LAP_IS_SLOW;
    }
}

/* How much one value differs from the next, as a standard deviation: a trend
 * does not count, as it does in the spread about the middle. */
static double neighbour_spread(const double *values, size_t n, double *scratch)
{
    for (size_t i = 1; i < n; i++)
        scratch[i - 1] = fabs(values[i] - values[i - 1]);
    return KW_MAD_TO_SD * kw_median(scratch, n - 1, scratch) / sqrt(2.0);
}

/* Is the used lap in this row colder than those after it in its log? */
static bool is_cold(const struct kw_lap_table *table, size_t at, double *values)
{
    const size_t n =
        collect(table, table->rows[at].lap.log, at + 1, false, values);
    if (n < FEWEST_WARM_LAPS)
        return false;
    double *scratch = values + n;
    const double spread_c = neighbour_spread(values, n, scratch);
    const double middle_c = kw_median(values, n, scratch);
    return table->rows[at].loaded_c <
           middle_c - fmax(COLD_C, COLD_SPREADS * spread_c);
}

/* Where a warm-up stands: a new one begins with each log and with each stop.
 *
 * driven_s  since then; n_cold  laps that were left out for it. */
struct warm_up {
    size_t log;
    double driven_s;
    size_t n_cold;
    bool done;
};

/* Lap after lap from the start of each log, and again after a stop: once a lap
 * is warm, those behind it are. */
static void drop_cold(struct kw_lap_table *table, double *values)
{
    struct warm_up warm_up = {.log = SIZE_MAX};
    for (size_t i = 0; i < table->n; i++) {
        struct kw_lap_figures *row = &table->rows[i];
        if (row->lap.log != warm_up.log || row->lap.use == KW_LAP_IS_SPOILT)
            warm_up = (struct warm_up){.log = row->lap.log};
        const bool early =
            warm_up.driven_s < WARM_UP_S || warm_up.n_cold < MOST_COLD_LAPS;
        if (row->lap.use != KW_LAP_IS_SPOILT)
            warm_up.driven_s += row->time_s;
        if (row->lap.use != KW_LAP_USED || warm_up.done)
            continue;
        warm_up.done = !early || !is_cold(table, i, values);
        if (!warm_up.done) {
            row->lap.use = KW_LAP_IS_COLD;
            warm_up.n_cold++;
        }
    }
}

/* Slow ones first: they would count as warm, being driven long after the
 * start. */
enum kw_status kw_choose_laps(struct kw_lap_table *table,
                              struct kw_error *error)
{
    double *values = kw_array_new(table->n, 2 * sizeof *values, error);
    if (values == NULL)
        return KW_NO_MEMORY;
    drop_slow(table, values);
    drop_cold(table, values);
    free(values);
    return KW_OK;
}

/* ---- words --------------------------------------------------------------- */

const char *kw_lap_use_words(enum kw_lap_use use)
{
    static const char *const words[KW_N_LAP_USES] = {
        "used",
        "out lap",
        "in lap",
        "spoilt by a spin, a stop or a gap",
        "drop-out",
        "EGT missing",
        "slow",
        "still warming up",
        "the engine only idled"};
    return (size_t)use < KW_N_LAP_USES ? words[use] : "";
}
