/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logbook's trends as JSON: every point, so that another program can draw
 * or test them anew. */
#include "kartwright/report.h"

#include "core/json.h"
#include "core/local_time.h"

/* A millionth of an hour is 4 ms; measures have at most 3 digits behind the
 * point that mean something. */
enum { DECIMALS = 6 };

/* Each with the session it came from, so that a reader can look it up. */
static void put_points(struct kw_json *json, const struct kw_trend *trend)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(json, "points", KW_JSON_LIST);
    for (size_t i = 0; i < trend->n; i++) {
        const struct kw_trend_point *point = &trend->points[i];
        kw_json_open(json, NULL, KW_JSON_ROW);
        kw_json_count(json, "id", (size_t)point->id);
        kw_json_string(json, "date",
                       kw_local_time_print(date, point->at_s, true));
        kw_json_number(json, "hours", point->hours, DECIMALS);
        kw_json_number(json, "value", point->value, DECIMALS);
        kw_json_number(json, "air_density_kg_m3", point->air_density_kg_m3, 4);
        kw_json_close(json);
    }
    kw_json_close(json);
}

/* The session since which it is plain; null where that cannot be told. */
static void put_since(struct kw_json *json, const struct kw_trend *trend)
{
    char date[KW_LOCAL_TIME_SIZE];
    if (trend->since == 0) {
        kw_json_null(json, "since_id");
        kw_json_null(json, "since_date");
        return;
    }
    const struct kw_trend_point *point = &trend->points[trend->since];
    kw_json_count(json, "since_id", (size_t)point->id);
    kw_json_string(json, "since_date",
                   kw_local_time_print(date, point->at_s, true));
}

/* The test's own figures beside the verdict: another limit than ours may be
 * wanted. */
static void put_trend(struct kw_json *json, const struct kw_trend *trend)
{
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_string(json, "measure", trend->measure);
    kw_json_string(json, "what", trend->what);
    kw_json_string(json, "kart", trend->kart);
    kw_json_string(json, "verdict", kw_trend_verdict_name(trend->verdict));
    kw_json_number(json, "slope_per_h", trend->slope_per_h, DECIMALS);
    kw_json_number(json, "slope_error", trend->slope_error, DECIMALS);
    kw_json_number(json, "p", trend->p, DECIMALS);
    put_since(json, trend);
    put_points(json, trend);
    kw_json_close(json);
}

/* At the engine's hours, so that it can be drawn on the axis of the points. */
static void put_fitting(struct kw_json *json, const struct kw_part *part)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(json, NULL, KW_JSON_ROW);
    kw_json_count(json, "id", (size_t)part->id);
    kw_json_string(json, "part", part->part);
    kw_json_string(json, "name", part->name);
    kw_json_string(json, "kart", part->kart);
    kw_json_string(json, "date", kw_local_time_print(date, part->from_s, true));
    kw_json_number(json, "engine_hours", part->engine_hours, DECIMALS);
    kw_json_close(json);
}

/* One object; without sessions its lists are empty, and not missing. */
enum kw_status kw_trends_to_json(const struct kw_trends_source *source,
                                 char **out,
                                 struct kw_error *error)
{
    struct kw_text text = {0};
    struct kw_json json = {.out = &text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_open(&json, "trends", KW_JSON_LIST);
    for (size_t i = 0; i < source->trends->n; i++)
        put_trend(&json, &source->trends->items[i]);
    kw_json_close(&json);
    kw_json_open(&json, "fittings", KW_JSON_LIST);
    for (size_t i = 0; i < source->parts->n; i++)
        put_fitting(&json, &source->parts->items[i]);
    kw_json_close(&json);
    kw_json_open(&json, "notices", KW_JSON_LIST);
    for (size_t i = 0; source->more != NULL && i < source->more->n; i++)
        kw_json_string(&json, NULL, source->more->items[i].text);
    kw_json_close(&json);
    kw_json_close(&json);
    *out = kw_text_take(&text, error);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
