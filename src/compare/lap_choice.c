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
 * learner is worse (common practice, no source). */
static const double SLOW_SHARE = 0.04;
static const double SLOW_SPREADS = 5.0;

/* A first lap is cold when its heat under load stands below the later laps by
 * more than this, and by more than they differ. 4 C is 0.4 % of mixture. */
static const double COLD_C = 4.0;
static const double COLD_SPREADS = 3.0;
enum { MOST_COLD_LAPS = 2, FEWEST_WARM_LAPS = 3 };

/* Heat climbs out of a stop again: the lap after a stop or a spin is cold too.
 */

/* ---- one lap ----------------------------------------------------------------
 */

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

/* ---- beside the others ------------------------------------------------------
 */

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

/* Is the used lap in this row colder than those after it in its log? */
static bool is_cold(const struct kw_lap_table *table, size_t at, double *values)
{
    const size_t n =
        collect(table, table->rows[at].lap.log, at + 1, false, values);
    if (n < FEWEST_WARM_LAPS)
        return false;
    double *scratch = values + n;
    const double middle_c = kw_median(values, n, scratch);
    const double spread_c = kw_mad_sd(values, n, 0.0, scratch);
    return table->rows[at].loaded_c <
           middle_c - fmax(COLD_C, COLD_SPREADS * spread_c);
}

static void drop_cold(struct kw_lap_table *table, double *values)
{
    size_t log = SIZE_MAX;
    size_t n_cold = 0;
    bool warm = false;
    for (size_t i = 0; i < table->n; i++) {
        struct kw_lap_figures *row = &table->rows[i];
        if (row->lap.log != log) {
            log = row->lap.log;
            n_cold = 0;
            warm = false;
        }
        if (row->lap.use != KW_LAP_USED || warm)
            continue;
        warm = n_cold == MOST_COLD_LAPS || !is_cold(table, i, values);
        if (!warm) {
            row->lap.use = KW_LAP_IS_COLD;
            n_cold++;
        }
    }
}

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

/* ---- words ------------------------------------------------------------------
 */

const char *kw_lap_use_words(enum kw_lap_use use)
{
    static const char *const words[KW_N_LAP_USES] = {
        "used",     "out lap",
        "in lap",   "spoilt by a spin, a stop or a gap",
        "drop-out", "EGT missing",
        "slow",     "still warming up"};
    return (size_t)use < KW_N_LAP_USES ? words[use] : "";
}
