/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review as JSON, as docs and the contract have it. Beside the promised
 * fields: "verdict", "verdict_text", "findings" (kinds that have no list of
 * their own), "not_judged", "spoilt" on laps, confidence and evidence on all
 * events, and how far the EGT probe lags.
 *
 * Each event stands on a line of its own, so that two reviews can be compared
 * line by line. Times have three decimals, temperatures one, RPM none: what is
 * beyond is noise, and the same log gives the same bytes on every machine. */
#include "kartwright/report.h"

#include "core/json.h"
#include "report/words.h"

#include <math.h>

/* Decimals: what a log of 1 kHz and a probe of 0.1 C can carry. */
enum { OF_TIME = 3, OF_TEMPERATURE = 1, OF_RPM = 0, OF_SHARE = 2 };

/* "line" is null for a notice that concerns the whole file. */
static void put_notices(struct kw_json *json, const struct kw_notices *notices)
{
    for (size_t i = 0; notices != NULL && i < notices->n; i++) {
        kw_json_open(json, NULL, KW_JSON_ROW);
        if (notices->items[i].line > 0)
            kw_json_count(json, "line", notices->items[i].line);
        else
            kw_json_null(json, "line");
        kw_json_string(json, "text", notices->items[i].text);
        kw_json_close(json);
    }
}

/* What was read, and how far it can be trusted. */
static void put_source(struct kw_json *json,
                       const struct kw_review *review,
                       const struct kw_notices *more)
{
    const struct kw_log *log = &review->log;
    kw_json_open(json, "source", KW_JSON_OBJECT);
    kw_json_string(json, "path", log->path);
    kw_json_count(json, "data_rows", log->data_rows);
    kw_json_count(json, "rows_used", log->rows_used);
    kw_json_count(json, "rows_rejected", log->rows_rejected);
    kw_json_number(json, "sample_rate_hz", log->sample_rate_hz, OF_TIME);
    kw_json_number(json, "duration_s", log->duration_s, OF_TIME);
    kw_json_number(json, "probe_lag_s", review->session.probe_lag_s, OF_TIME);
    kw_json_open(json, "channels", KW_JSON_LIST);
    for (size_t i = 0; i < log->n_channels; i++) {
        const struct kw_channel *channel = &log->channels[i];
        kw_json_open(json, NULL, KW_JSON_ROW);
        kw_json_string(json, "role", kw_role_name(channel->role));
        kw_json_string(json, "column", channel->column);
        kw_json_string(json, "unit", channel->unit);
        kw_json_count(json, "missing", channel->missing);
        kw_json_close(json);
    }
    kw_json_close(json);
    kw_json_open(json, "notices", KW_JSON_LIST);
    put_notices(json, &log->notices);
    put_notices(json, &review->session.notices);
    put_notices(json, more);
    kw_json_close(json);
    kw_json_close(json);
}

/* A length from start and end as they are printed, so that a reader's own
 * subtraction gives the same number. */
static double printed_length_s(double start_s, double end_s)
{
    return round(end_s * 1000.0) / 1000.0 - round(start_s * 1000.0) / 1000.0;
}

/* One lap; a spoilt one is listed and marked. */
static void put_lap(struct kw_json *json, const struct kw_lap *lap)
{
    kw_json_open(json, NULL, KW_JSON_ROW);
    kw_json_count(json, "number", lap->number);
    kw_json_string(json, "kind", kw_name_lap_kind(lap->kind));
    kw_json_bool(json, "spoilt", lap->spoilt);
    kw_json_number(json, "start_s", lap->start_s, OF_TIME);
    kw_json_number(json, "end_s", lap->end_s, OF_TIME);
    kw_json_number(json, "time_s", printed_length_s(lap->start_s, lap->end_s),
                   OF_TIME);
    kw_json_number(json, "rpm_max", lap->rpm_max, OF_RPM);
    kw_json_number(json, "rpm_min", lap->rpm_min, OF_RPM);
    kw_json_number(json, "egt_max_c", lap->egt_max_c, OF_TEMPERATURE);
    kw_json_number(json, "egt_mean_c", lap->egt_mean_c, OF_TEMPERATURE);
    kw_json_close(json);
}

/* The method tells a reader how exact the boundaries can be. */
static void put_laps(struct kw_json *json, const struct kw_review *review)
{
    const struct kw_laps *laps = &review->laps;
    const double rpm_per_kmh = review->locked_rpm_per_m_s > 0.0
                                   ? review->locked_rpm_per_m_s / 3.6
                                   : NAN;
    kw_json_open(json, "laps", KW_JSON_OBJECT);
    kw_json_string(json, "method", kw_name_lap_method(laps->method));
    kw_json_open(json, "items", KW_JSON_LIST);
    for (size_t i = 0; i < laps->n; i++)
        put_lap(json, &laps->items[i]);
    kw_json_close(json);
    kw_json_number(json, "locked_rpm_per_kmh", rpm_per_kmh, OF_TEMPERATURE);
    kw_json_close(json);
}

/* What stands at the start of each lean episode, drop-out and finding. */
static void put_when(struct kw_json *json, const struct kw_event *event)
{
    kw_json_number(json, "start_s", event->start_s, OF_TIME);
    kw_json_number(json, "end_s", event->end_s, OF_TIME);
    if (event->lap > 0)
        kw_json_count(json, "lap", event->lap);
    else
        kw_json_null(json, "lap");
}

/* What stands at the end of every event. */
static void put_proof(struct kw_json *json, const struct kw_event *event)
{
    kw_json_number(json, "confidence", event->confidence, OF_SHARE);
    kw_json_string(json, "evidence", event->evidence);
}

/* Fields in the order of the contract, ours behind them. */
static void put_lean(struct kw_json *json, const struct kw_event *event)
{
    const struct kw_lean *lean = &event->detail.lean;
    put_when(json, event);
    kw_json_number(json, "peak_egt_c", lean->peak_egt_c, OF_TEMPERATURE);
    kw_json_number(json, "excess_c", lean->excess_c, OF_TEMPERATURE);
    kw_json_string(json, "rpm_region", kw_name_region(lean->region));
    kw_json_string(json, "basis", kw_name_basis(lean->basis));
    kw_json_string(json, "severity", kw_name_urgency(event->severity));
    put_proof(json, event);
}

/* An engagement ends when it locks: end_s is its locked_s. */
static void put_engagement(struct kw_json *json, const struct kw_event *event)
{
    const struct kw_engagement *start = &event->detail.engagement;
    kw_json_number(json, "start_s", event->start_s, OF_TIME);
    kw_json_number(json, "locked_s", event->end_s, OF_TIME);
    kw_json_number(json, "duration_s",
                   printed_length_s(event->start_s, event->end_s), OF_TIME);
    kw_json_number(json, "start_rpm", start->start_rpm, OF_RPM);
    kw_json_number(json, "hold_rpm", start->hold_rpm, OF_RPM);
    kw_json_number(json, "slip_energy_kj", start->slip_energy_kj, OF_SHARE);
    kw_json_string(json, "method", kw_name_clutch_method(start->method));
    put_proof(json, event);
}

/* Fields in the order of the contract, ours behind them. */
static void put_dropout(struct kw_json *json, const struct kw_event *event)
{
    const struct kw_dropout *dropout = &event->detail.dropout;
    put_when(json, event);
    kw_json_number(json, "depth_rpm", dropout->depth_rpm, OF_RPM);
    kw_json_string(json, "cause", kw_name_cause(dropout->cause));
    kw_json_string(json, "severity", kw_name_urgency(event->severity));
    put_proof(json, event);
}

/* Kinds that the contract has no list for: one list for all, so that a new
 * detector needs no new key and breaks no reader. */
static void put_finding(struct kw_json *json, const struct kw_event *event)
{
    kw_json_string(json, "kind", kw_name_event_kind(event->kind));
    put_when(json, event);
    kw_json_string(json, "severity", kw_name_urgency(event->severity));
    put_proof(json, event);
}

typedef void put_event(struct kw_json *json, const struct kw_event *event);

/* One list of events: those of `kind`, or for KW_N_EVENT_KINDS all that have no
 * list of their own. */
static void put_events(struct kw_json *json,
                       const struct kw_events *events,
                       const char *key,
                       enum kw_event_kind kind,
                       put_event *put)
{
    kw_json_open(json, key, KW_JSON_LIST);
    for (size_t i = 0; i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        const bool own_list = event->kind == KW_LEAN ||
                              event->kind == KW_CLUTCH_ENGAGEMENT ||
                              event->kind == KW_DROPOUT;
        if (kind == KW_N_EVENT_KINDS ? own_list : event->kind != kind)
            continue;
        kw_json_open(json, NULL, KW_JSON_ROW);
        put(json, event);
        kw_json_close(json);
    }
    kw_json_close(json);
}

/* Over several lines each: these are read by people too. */
static void put_suggestions(struct kw_json *json,
                            const struct kw_suggestions *suggestions)
{
    kw_json_open(json, "suggestions", KW_JSON_LIST);
    for (size_t i = 0; i < suggestions->n; i++) {
        const struct kw_suggestion *one = &suggestions->items[i];
        kw_json_open(json, NULL, KW_JSON_OBJECT);
        kw_json_count(json, "rank", one->rank);
        kw_json_string(json, "urgency", kw_name_urgency(one->urgency));
        kw_json_string(json, "part", one->part);
        kw_json_string(json, "why", one->why);
        kw_json_string(json, "check", one->check);
        kw_json_string(json, "caution", one->caution);
        kw_json_close(json);
    }
    kw_json_close(json);
}

/* The order is that of the contract; new fields stand beside their like. */
static void put_review(struct kw_json *json,
                       const struct kw_review *review,
                       const struct kw_notices *more)
{
    const struct kw_events *events = &review->events;
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_string(json, "format", "kartwright-review");
    kw_json_count(json, "version", 1);
    kw_json_string(json, "verdict", kw_name_verdict(review->verdict));
    kw_json_string(json, "verdict_text", review->verdict_text);
    put_source(json, review, more);
    kw_json_open(json, "running", KW_JSON_OBJECT);
    kw_json_number(json, "seconds", review->running.seconds, OF_TIME);
    kw_json_count(json, "starts", review->running.starts);
    kw_json_close(json);
    put_laps(json, review);
    put_events(json, events, "lean_episodes", KW_LEAN, put_lean);
    put_events(json, events, "clutch_engagements", KW_CLUTCH_ENGAGEMENT,
               put_engagement);
    put_events(json, events, "dropouts", KW_DROPOUT, put_dropout);
    put_events(json, events, "findings", KW_N_EVENT_KINDS, put_finding);
    put_suggestions(json, &review->suggestions);
    kw_json_open(json, "not_judged", KW_JSON_LIST);
    for (size_t i = 0; i < review->not_judged.n; i++)
        kw_json_string(json, NULL, review->not_judged.items[i].text);
    kw_json_close(json);
    kw_json_close(json);
}

/* One check at the end: want of memory shows in the text. */
enum kw_status kw_review_to_json(const struct kw_review *review,
                                 const struct kw_notices *more,
                                 char **out,
                                 struct kw_error *error)
{
    struct kw_text text = {0};
    struct kw_json json = {.out = &text};
    put_review(&json, review, more);
    *out = kw_text_take(&text, error);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
