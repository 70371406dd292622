/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends over running hours: a line by least squares, and a test of its slope.
 *
 * Sessions are the unit of evidence: one point each. Days differ (air, track,
 * tyres), and that scatter is what the slope is held against. */
#include "logbook/measures.h"
#include "logbook/query.h"
#include "logbook/trend_since.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/student.h"
#include "core/text.h"
#include "kartwright/season.h"

#include <gsl/gsl_fit.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Fewer sessions than this show anything (common practice, no source). */
enum { FEWEST_SESSIONS = 6 };

/* One in a hundred: six measures are looked at after every session, and one in
 * twenty would cry wolf each month. */
static const double CHANCE_LIMIT = 0.01;

const char *kw_trend_verdict_name(enum kw_trend_verdict verdict)
{
    static const char *const names[] = {[KW_TREND_TOO_FEW] = "too_few_sessions",
                                        [KW_TREND_NONE] = "no_clear_trend",
                                        [KW_TREND_RISING] = "rising",
                                        [KW_TREND_FALLING] = "falling"};
    return (size_t)verdict < sizeof names / sizeof names[0] ? names[verdict]
                                                            : "";
}

/* Too few sessions are told apart from no trend: the one may change next
 * week. */
static enum kw_trend_verdict verdict_of(const struct kw_trend *trend)
{
    if (trend->n < FEWEST_SESSIONS || isnan(trend->p))
        return KW_TREND_TOO_FEW;
    if (trend->p >= CHANCE_LIMIT)
        return KW_TREND_NONE;
    return trend->slope_per_h > 0.0 ? KW_TREND_RISING : KW_TREND_FALLING;
}

/* y = c0 + c1 x; GSL takes the two coordinates as strided arrays, so the points
 * need not be copied. */
void kw_trend_judge(struct kw_trend *trend)
{
    const size_t stride = sizeof trend->points[0] / sizeof(double);
    double c0 = 0.0;
    double c1 = 0.0;
    double cov00 = 0.0;
    double cov01 = 0.0;
    double cov11 = 0.0;
    double sum_of_squares = 0.0;
    trend->slope_per_h = NAN;
    trend->slope_error = NAN;
    trend->p = NAN;
    /* With 2 points every line fits: there is no error to judge it by. */
    if (trend->n > 2 &&
        gsl_fit_linear(&trend->points[0].hours, stride, &trend->points[0].value,
                       stride, trend->n, &c0, &c1, &cov00, &cov01, &cov11,
                       &sum_of_squares) == 0 &&
        isfinite(c1)) {
        trend->slope_per_h = c1;
        trend->slope_error = sqrt(cov11);
        /* A measure that never moves has no error and no trend. */
        if (trend->slope_error > 0.0)
            trend->p =
                kw_student_p(c1 / trend->slope_error, (double)(trend->n - 2));
        else
            trend->p = 1.0;
    }
    trend->verdict = verdict_of(trend);
    trend->since = kw_trend_find_since(trend);
}

/* ---- reading ------------------------------------------------------------- */

/* By the name that is stored. */
static const struct kw_measure_row *row_of(const char *name)
{
    for (size_t i = 0; i < KW_N_MEASURES; i++) {
        const struct kw_measure_row *row = kw_measure_row((enum kw_measure)i);
        if (strcmp(row->name, name) == 0)
            return row;
    }
    return NULL;
}

/* The trend that the row belongs to: rows come kart by kart, measure by
 * measure. Takes kart over. */
static struct kw_trend *trend_for(struct kw_trends *trends,
                                  const struct kw_measure_row *row,
                                  char *kart,
                                  struct kw_error *error)
{
    struct kw_trend *last =
        trends->n > 0 ? &trends->items[trends->n - 1] : NULL;
    if (last != NULL && last->measure == row->name &&
        kw_same_kart(last->kart, kart)) {
        free(kart);
        return last;
    }
    if (kw_array_reserve(&trends->items, &trends->capacity, trends->n + 1,
                         sizeof *trends->items, error) != KW_OK) {
        free(kart);
        return NULL;
    }
    trends->items[trends->n] = (struct kw_trend){.measure = row->name,
                                                 .what = row->what,
                                                 .decimals = row->decimals,
                                                 .kart = kart};
    return &trends->items[trends->n++];
}

/* Air is written down whole or not at all. */
static double density_at(const struct kw_query *query, int column)
{
    const struct kw_air air = {kw_query_real_at(query, column),
                               kw_query_real_at(query, column + 1),
                               kw_query_real_at(query, column + 2)};
    return isnan(air.temp_c) ? NAN : kw_air_density_kg_m3(&air);
}

/* Points come sorted by kart and measure, so that each belongs to the last
 * trend or begins the next. */
static void take_point(struct kw_query *query, struct kw_trends *trends)
{
    char *name = kw_query_string_at(query, 1);
    const struct kw_measure_row *row = name == NULL ? NULL : row_of(name);
    free(name);
    /* A measure of a later program of the same version: not ours to judge. */
    if (row == NULL)
        return;
    struct kw_trend *trend =
        trend_for(trends, row, kw_query_text_at(query, 0), query->error);
    if (trend == NULL ||
        kw_array_reserve(&trend->points, &trend->capacity, trend->n + 1,
                         sizeof *trend->points, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    trend->points[trend->n++] =
        (struct kw_trend_point){.id = kw_query_int_at(query, 2),
                                .at_s = kw_query_real_at(query, 3),
                                .hours = kw_query_real_at(query, 4),
                                .value = kw_query_real_at(query, 5),
                                .air_density_kg_m3 = density_at(query, 6)};
}

/* Hours at the end of each session are summed here, like those of parts. The
 * cross join makes SQLite sum once, and look each measure up by its key. */
static const char points_sql[] =
    "WITH way AS (SELECT o.id AS id, o.kart AS kart, o.at_s AS at_s,"
    " sum(o.running_s) OVER (PARTITION BY o.kart ORDER BY o.at_s, o.id)"
    " / 3600.0 AS hours FROM outing o)"
    " SELECT w.kart, m.name, w.id, w.at_s, w.hours, m.value,"
    " s.air_temp_c, s.air_pressure_pa, s.air_humidity"
    " FROM way w CROSS JOIN measure m ON m.session_id = w.id"
    " CROSS JOIN session s ON s.entry_id = w.id"
    " WHERE ?1 IS NULL OR m.name = ?1"
    " ORDER BY w.kart, m.name, w.at_s, w.id";

/* ---- the air taken out --------------------------------------------------- */

/* What this EGT would have been in standard air: in thin air the same jet runs
 * rich and cool, and that is added back. */
static double in_standard_air(const struct kw_trend_point *point)
{
    return point->value + KW_EGT_C_PER_PERCENT * kw_mixture_change_percent(
                                                     KW_STANDARD_DENSITY_KG_M3,
                                                     point->air_density_kg_m3);
}

/* A trend of its own, so that the one as read keeps every session. */
static enum kw_status add_in_standard_air(struct kw_trends *trends,
                                          size_t as_read,
                                          struct kw_error *error)
{
    const struct kw_measure_row *row = kw_measure_row(KW_MEASURE_EGT_AIR_C);
    const char *kart = trends->items[as_read].kart;
    char *copy = kart == NULL ? NULL : kw_text_duplicate(kart, error);
    if (kart != NULL && copy == NULL)
        return KW_NO_MEMORY;
    struct kw_trend *made = trend_for(trends, row, copy, error);
    if (made == NULL)
        return KW_NO_MEMORY;
    /* Only now: the list may have moved. */
    const struct kw_trend *from = &trends->items[as_read];
    for (size_t i = 0; i < from->n; i++) {
        if (isnan(from->points[i].air_density_kg_m3))
            continue;
        if (kw_array_reserve(&made->points, &made->capacity, made->n + 1,
                             sizeof *made->points, error) != KW_OK)
            return KW_NO_MEMORY;
        made->points[made->n] = from->points[i];
        made->points[made->n++].value = in_standard_air(&from->points[i]);
    }
    return KW_OK;
}

static void trend_free(struct kw_trend *trend)
{
    free(trend->kart);
    free(trend->points);
}

/* Kart by kart, each in the order of the measures' names. */
static int by_kart(const void *a, const void *b)
{
    const struct kw_trend *x = a;
    const struct kw_trend *y = b;
    if (!kw_same_kart(x->kart, y->kart))
        return x->kart == NULL ||
                       (y->kart != NULL && strcmp(x->kart, y->kart) < 0)
                   ? -1
                   : 1;
    return strcmp(x->measure, y->measure);
}

/* Adds the corrected trends, and takes out what was not asked for or has no
 * point.
 *
 * only  the one measure to keep, or NULL. */
static enum kw_status correct_for_air(struct kw_trends *trends,
                                      const struct kw_measure_row *only,
                                      struct kw_error *error)
{
    const struct kw_measure_row *egt = kw_measure_row(KW_MEASURE_EGT_TOP_C);
    const size_t n_read = trends->n;
    enum kw_status status = KW_OK;
    size_t kept = 0;
    for (size_t i = 0; i < n_read && status == KW_OK && only != egt; i++) {
        if (trends->items[i].measure == egt->name)
            status = add_in_standard_air(trends, i, error);
    }
    for (size_t i = 0; i < trends->n; i++) {
        struct kw_trend *trend = &trends->items[i];
        if (trend->n > 0 && (only == NULL || trend->measure == only->name))
            trends->items[kept++] = *trend;
        else
            trend_free(trend);
    }
    trends->n = kept;
    if (kept > 1)
        qsort(trends->items, kept, sizeof *trends->items, by_kart);
    return status;
}

/* All names in the line: nobody knows them by heart. */
static enum kw_status refuse_measure(const char *measure,
                                     struct kw_error *error)
{
    struct kw_text what = {0};
    struct kw_text todo = {0};
    kw_text_addf(&what, "no such measure '%s'", measure);
    for (size_t i = 0; i < KW_N_MEASURES; i++)
        kw_text_addf(&todo, "%s%s", i == 0 ? "write one of " : ", ",
                     kw_measure_row((enum kw_measure)i)->name);
    what.failed = what.failed || kw_text_failed(&todo);
    const struct kw_refusal refusal = {KW_BAD_USAGE, NULL, 0, todo.bytes};
    const enum kw_status status = kw_fail_text(error, &refusal, &what);
    kw_text_free(&todo);
    return status;
}

/* EGT in standard air is worked out of EGT as read, so that one asks for the
 * other. */
enum kw_status kw_logbook_trends(struct kw_logbook *book,
                                 const char *measure,
                                 struct kw_trends *out,
                                 struct kw_error *error)
{
    const struct kw_measure_row *only =
        measure == NULL ? NULL : row_of(measure);
    const bool in_air = only == kw_measure_row(KW_MEASURE_EGT_AIR_C);
    *out = (struct kw_trends){0};
    if (measure != NULL && only == NULL)
        return refuse_measure(measure, error);
    struct kw_query query = kw_query_begin(book, points_sql, error);
    kw_query_text(&query, in_air ? kw_measure_row(KW_MEASURE_EGT_TOP_C)->name
                                 : measure);
    while (kw_query_row(&query))
        take_point(&query, out);
    enum kw_status status = kw_query_end(&query);
    if (status == KW_OK)
        status = correct_for_air(out, only, error);
    for (size_t i = 0; i < out->n; i++)
        kw_trend_judge(&out->items[i]);
    if (status != KW_OK)
        kw_trends_free(out);
    return status;
}

void kw_trends_free(struct kw_trends *trends)
{
    for (size_t i = 0; i < trends->n; i++)
        trend_free(&trends->items[i]);
    free(trends->items);
    *trends = (struct kw_trends){0};
}
