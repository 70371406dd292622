/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logbook of a season as a whole: as tables for a spreadsheet, and what
 * creeps from session to session. On paper it is in report.h.
 *
 *     struct kw_trends trends;
 *     if (kw_logbook_trends(book, NULL, &trends, &error) == KW_OK)
 *         ... trends.items[0 .. trends.n - 1], by kart and measure ...
 *     kw_trends_free(&trends);
 *
 * Each function reads and changes nothing; what it returns besides what it says
 * is what kw_logbook_entries() gives.
 */
#ifndef KARTWRIGHT_SEASON_H
#define KARTWRIGHT_SEASON_H

#include "kartwright/logbook.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* ---- tables -------------------------------------------------------------- */

/* Room for the name of one of its files, with the closing zero. */
enum { KW_EXPORT_NAME_SIZE = 32 };

/* One file of an export.
 *
 * name    "entries.csv"; our own word.
 * n_rows  of the table, without its headings; 0 for the JSON. */
struct kw_export_file {
    char name[KW_EXPORT_NAME_SIZE];
    char *bytes;
    size_t n_bytes;
    size_t n_rows;
};

struct kw_export {
    struct kw_export_file *items;
    size_t n;
    size_t capacity;
};

/* Everything that the book holds, but for the content of attached files: a CSV
 * file for each table (RFC 4180, UTF-8, ISO 8601; what a spreadsheet might run
 * as a formula has an apostrophe in front), and last "logbook.json", format
 * "kartwright-logbook-export", version 1, with the same tables.
 *
 * out      the caller frees it with kw_export_free(). Empty on error. */
enum kw_status kw_logbook_export(struct kw_logbook *book,
                                 struct kw_export *out,
                                 struct kw_error *error);

/* Takes a zeroed export, and may be called twice. */
void kw_export_free(struct kw_export *exported);

/* ---- trends -------------------------------------------------------------- */

enum kw_trend_verdict {
    KW_TREND_TOO_FEW, /* fewer than 6 sessions tell this measure */
    KW_TREND_NONE,    /* no more than chance would give */
    KW_TREND_RISING,
    KW_TREND_FALLING
};
const char *kw_trend_verdict_name(enum kw_trend_verdict verdict);

/* One session on the way.
 *
 * id     of its entry; at_s its date.
 * hours  that the engine had run at its end, counted from the logs.
 * air_density_kg_m3  of the day's air, NAN where it was not written down. */
struct kw_trend_point {
    int64_t id;
    double at_s;
    double hours;
    double value;
    double air_density_kg_m3;
};

/* One measure of one kart over its running hours.
 *
 * measure, what  its name, and for a person with the unit; constant.
 * points         points[n] by date.
 * slope_per_h    change in a running hour, by least squares; slope_error its
 *                standard error; NAN where not known.
 * p              how often chance alone would give a slope as steep, two-sided
 *                (t distribution with n - 2 degrees of freedom).
 * since          index of the session since which the measure has plainly been
 *                beyond its first level, by Page's cumulative sum; mostly right
 *                to within two sessions. 0 where that cannot be told. */
struct kw_trend {
    const char *measure;
    const char *what;
    int decimals;
    char *kart;
    struct kw_trend_point *points;
    size_t n;
    size_t capacity;
    double slope_per_h;
    double slope_error;
    double p;
    enum kw_trend_verdict verdict;
    size_t since;
};

struct kw_trends {
    struct kw_trend *items;
    size_t n;
    size_t capacity;
};

/* Every measure that a session has told, by kart and measure. "egt_top_air_c"
 * is "egt_top_c" of the sessions whose air is known, in standard air: 10 C for
 * each percent of mixture that the air alone makes (common practice, no source;
 * see kw_mixture_change_percent()).
 *
 * measure  only this one, or NULL for all.
 * out      the caller frees it with kw_trends_free(). Empty on error.
 * returns  KW_OK; KW_BAD_USAGE (no such measure); as reading does. */
enum kw_status kw_logbook_trends(struct kw_logbook *book,
                                 const char *measure,
                                 struct kw_trends *out,
                                 struct kw_error *error);
void kw_trends_free(struct kw_trends *trends);

/* Fits the line, judges it and tells since when; points by date. For tests and
 * for others that bring points of their own. */
void kw_trend_judge(struct kw_trend *trend);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
