/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison as JSON, as the contract has it. Beside the promised fields: the
 * laps left out with their reason, unit, counts and smallest change of each
 * measure, the share of the air, what is not alike, and the suggestion. */
#include "kartwright/report.h"

#include "core/json.h"
#include "report/compare_words.h"
#include "report/log_notices.h"

#include <math.h>

/* Decimals of probabilities and of percents; more of the values than people
 * are shown, so that a reader's own sums hold. */
enum { OF_P = 6, OF_PERCENT = 2, OF_DENSITY = 4, MORE = 1 };

/* The last of those digits. */
static const double LEAST_P = 1e-6;

/* Differences are taken of what is printed, so that a reader's own subtraction
 * gives the same number. */
static double rounded(double value, int decimals)
{
    const double scale = pow(10.0, decimals);
    return round(value * scale) / scale;
}

/* Every lap that does not count, with its reason: a verdict that hides what it
 * left out cannot be trusted. */
static void put_left_out(struct kw_json *json,
                         const struct kw_compare_side *side)
{
    kw_json_open(json, "left_out", KW_JSON_LIST);
    for (size_t i = 0; i < side->n_laps; i++) {
        const struct kw_compared_lap *lap = &side->laps[i];
        if (lap->use == KW_LAP_USED)
            continue;
        kw_json_open(json, NULL, KW_JSON_ROW);
        kw_json_count(json, "log", lap->log + 1);
        kw_json_count(json, "lap", lap->number);
        kw_json_string(json, "why", kw_lap_use_words(lap->use));
        kw_json_close(json);
    }
    kw_json_close(json);
}

/* The fields of the contract first, ours behind them. */
static void put_side(struct kw_json *json,
                     const struct kw_comparison_source *source,
                     int which)
{
    const struct kw_compare_side *side = &source->comparison->sides[which];
    const struct kw_compare_sessions *sessions = source->sessions[which];
    kw_json_open(json, which == KW_BEFORE ? "before" : "after", KW_JSON_OBJECT);
    kw_json_open(json, "logs", KW_JSON_LIST);
    for (size_t log = 0; log < sessions->n; log++)
        kw_json_string(json, NULL, sessions->reviews[log].log.path);
    kw_json_close(json);
    kw_json_count(json, "laps_used", side->n_used);
    kw_json_count(json, "laps_left_out", side->n_left_out);
    put_left_out(json, side);
    kw_json_number(json, "air_density_kg_m3", side->air_density_kg_m3,
                   OF_DENSITY);
    kw_json_close(json);
}

/* No p is 0: one that the digits cannot show is told as the least of them. NAN
 * stays NAN. */
static void put_p(struct kw_json *json, const char *key, double p)
{
    kw_json_number(json, key, p < LEAST_P ? LEAST_P : p, OF_P);
}

/* In the measure's own digits and some more, which is what laps can tell. */
static void put_measure(struct kw_json *json, const struct kw_measure *measure)
{
    const int decimals = kw_measure_decimals(measure) + MORE;
    const double before = rounded(measure->mean[KW_BEFORE], decimals);
    const double after = rounded(measure->mean[KW_AFTER], decimals);
    kw_json_open(json, NULL, KW_JSON_ROW);
    kw_json_string(json, "name", measure->name);
    kw_json_string(json, "unit", measure->unit);
    kw_json_number(json, "rpm_from", measure->rpm_from, 0);
    kw_json_number(json, "rpm_to", measure->rpm_to, 0);
    kw_json_number(json, "before", before, decimals);
    kw_json_number(json, "after", after, decimals);
    /* That of the printed means, so that a reader's sum gives the same. */
    kw_json_number(json, "difference", after - before, decimals);
    kw_json_number(json, "ci95_low", measure->low, decimals);
    kw_json_number(json, "ci95_high", measure->high, decimals);
    put_p(json, "p", measure->p);
    put_p(json, "p_adjusted", measure->p_adjusted);
    kw_json_string(json, "verdict", kw_change_name(measure->verdict));
    kw_json_number(json, "smallest_change", measure->smallest, decimals);
    kw_json_count(json, "n_before", measure->n[KW_BEFORE]);
    kw_json_count(json, "n_after", measure->n[KW_AFTER]);
    kw_json_close(json);
}

/* What the day alone did to the mixture, so that it is not put down to the
 * jet. */
static void put_air(struct kw_json *json, const struct kw_air_share *air)
{
    kw_json_open(json, "mixture", KW_JSON_ROW);
    kw_json_number(json, "air_percent", air->air_percent, OF_PERCENT);
    kw_json_number(json, "seen_percent", air->seen_percent, OF_PERCENT);
    kw_json_number(json, "left_percent", air->left_percent, OF_PERCENT);
    kw_json_close(json);
}

static void put_notices(struct kw_json *json, const struct kw_notices *notices)
{
    for (size_t i = 0; i < notices->n; i++)
        kw_json_string(json, NULL, notices->items[i].text);
}

/* One check at the end: want of memory shows in the text. */
enum kw_status kw_comparison_to_json(const struct kw_comparison_source *source,
                                     char **out,
                                     struct kw_error *error)
{
    const struct kw_comparison *comparison = source->comparison;
    struct kw_notices notices = {0};
    struct kw_text text = {0};
    struct kw_json json = {.out = &text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_string(&json, "format", "kartwright-compare");
    kw_json_count(&json, "version", 1);
    for (int side = 0; side < KW_N_SIDES; side++)
        put_side(&json, source, side);
    kw_json_open(&json, "measures", KW_JSON_LIST);
    for (size_t i = 0; i < comparison->measures.n; i++)
        put_measure(&json, &comparison->measures.items[i]);
    kw_json_close(&json);
    put_air(&json, &comparison->air);
    kw_json_open(&json, "not_alike", KW_JSON_LIST);
    put_notices(&json, &comparison->not_alike);
    kw_json_close(&json);
    kw_json_open(&json, "notices", KW_JSON_LIST);
    const enum kw_status status =
        kw_gather_compared_notices(source, &notices, error);
    put_notices(&json, &notices);
    kw_notices_free(&notices);
    kw_json_close(&json);
    kw_json_string(&json, "summary", comparison->summary);
    kw_json_string(&json, "suggestion", comparison->suggestion);
    kw_json_close(&json);
    *out = status == KW_OK ? kw_text_take(&text, error) : NULL;
    kw_text_free(&text);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
