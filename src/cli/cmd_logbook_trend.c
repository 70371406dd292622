/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook trend: what creeps from session to session. */
#include "cli/book_words.h"
#include "cli/cmd_logbook.h"

#include "core/json.h"
#include "core/local_time.h"

#include <math.h>
#include <stdlib.h>

struct trend_words {
    struct book_words book;
    const char *json;
    struct words rest;
};

/* What can creep has to be read beside what was fitted meanwhile. */
struct trend_answer {
    struct kw_trends trends;
    struct kw_parts parts;
};

static void write_trend_json(struct kw_json *json, const struct kw_trend *trend)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_string(json, "measure", trend->measure);
    kw_json_string(json, "what", trend->what);
    kw_json_string(json, "kart", trend->kart);
    kw_json_string(json, "verdict", kw_trend_verdict_name(trend->verdict));
    kw_json_number(json, "slope_per_h", trend->slope_per_h, 6);
    kw_json_number(json, "slope_error", trend->slope_error, 6);
    kw_json_number(json, "p", trend->p, 6);
    kw_json_open(json, "points", KW_JSON_LIST);
    for (size_t i = 0; i < trend->n; i++) {
        const struct kw_trend_point *point = &trend->points[i];
        kw_json_open(json, NULL, KW_JSON_ROW);
        kw_json_count(json, "id", (size_t)point->id);
        kw_json_string(json, "date",
                       kw_local_time_print(date, point->at_s, true));
        kw_json_number(json, "hours", point->hours, 6);
        kw_json_number(json, "value", point->value, 6);
        kw_json_close(json);
    }
    kw_json_close(json);
    kw_json_close(json);
}

static void write_json(struct kw_text *text, const struct trend_answer *answer)
{
    struct kw_json json = {.out = text};
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_open(&json, "trends", KW_JSON_LIST);
    for (size_t i = 0; i < answer->trends.n; i++)
        write_trend_json(&json, &answer->trends.items[i]);
    kw_json_close(&json);
    kw_json_open(&json, "fittings", KW_JSON_LIST);
    for (size_t i = 0; i < answer->parts.n; i++) {
        const struct kw_part *part = &answer->parts.items[i];
        kw_json_open(&json, NULL, KW_JSON_ROW);
        kw_json_count(&json, "id", (size_t)part->id);
        kw_json_string(&json, "part", part->part);
        kw_json_string(&json, "kart", part->kart);
        kw_json_string(&json, "date",
                       kw_local_time_print(date, part->from_s, true));
        kw_json_close(&json);
    }
    kw_json_close(&json);
    kw_json_close(&json);
}

/* ---- for a person ----------------------------------------------------------
 */

static void say_verdict(struct kw_text *text, const struct kw_trend *trend)
{
    if (trend->verdict == KW_TREND_TOO_FEW) {
        kw_text_add(text, "too few sessions to tell");
        return;
    }
    if (trend->verdict == KW_TREND_NONE) {
        kw_text_add(text, "no clear trend");
    } else {
        kw_text_add(text, trend->verdict == KW_TREND_RISING ? "rising by "
                                                            : "falling by ");
        kw_text_add_number(text, fabs(trend->slope_per_h), trend->decimals + 1);
        kw_text_add(text, " in a running hour");
    }
    kw_text_add(text, " (p ");
    kw_text_add_number(text, trend->p, 3);
    kw_text_add(text, ")");
}

static void write_trend(struct kw_text *text, const struct kw_trend *trend)
{
    const struct kw_trend_point *first = &trend->points[0];
    const struct kw_trend_point *last = &trend->points[trend->n - 1];
    add_short(text, trend->what, 40);
    if (trend->kart != NULL) {
        kw_text_add(text, " [");
        add_short(text, trend->kart, 24);
        kw_text_add(text, "]");
    }
    kw_text_add(text, "\n  ");
    say_verdict(text, trend);
    kw_text_addf(text, "\n  %zu %s: first ", trend->n,
                 trend->n == 1 ? "session" : "sessions");
    kw_text_add_number(text, first->value, trend->decimals);
    kw_text_add(text, ", last ");
    kw_text_add_number(text, last->value, trend->decimals);
    kw_text_add(text, ", at ");
    kw_text_add_number(text, last->hours, 1);
    kw_text_add(text, " h\n");
}

static void write_text(struct kw_text *text, const struct trend_answer *answer)
{
    for (size_t i = 0; i < answer->trends.n; i++)
        write_trend(text, &answer->trends.items[i]);
    if (answer->trends.n == 0)
        kw_text_add(text, "No session tells anything to compare yet.\n");
    else
        kw_text_add(text, "\nEGT is as read, not corrected for the day's air. "
                          "What was fitted meanwhile is\nshown by 'kartwright "
                          "logbook parts'.\n");
}

static enum kw_status run(const struct trend_words *words,
                          struct kw_error *error)
{
    struct book_job job = {0};
    struct trend_answer answer = {0};
    struct kw_text text = {0};
    const char *measure = words->rest.n == 1 ? words->rest.items[0] : NULL;
    enum kw_status status = KW_OK;
    if (words->rest.n > 1)
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0,
                         "trend takes one measure, or none for all",
                         "see 'kartwright logbook trend --help'");
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_READ, error);
    if (status == KW_OK)
        status = kw_logbook_trends(job.book, measure, &answer.trends, error);
    if (status == KW_OK)
        status = kw_logbook_parts(job.book, &answer.parts, error);
    if (status == KW_OK && words->json != NULL) {
        write_json(&text, &answer);
        status = deliver_json(&text, words->json, error);
    } else if (status == KW_OK) {
        write_text(&text, &answer);
        status = print_text_once(&text, error);
    }
    kw_text_free(&text);
    kw_trends_free(&answer.trends);
    kw_parts_free(&answer.parts);
    book_end(&job);
    return status;
}

int logbook_trend(int argc, char **argv)
{
    struct trend_words words = {0};
    struct kw_error error = {0};
    const struct option options[] = {
        {"--json", OPTION_TEXT, &words.json, "FILE", false,
         "write JSON there; - prints it, and nothing else"},
        {"--book", OPTION_TEXT, &words.book.book, "FILE", false,
         "the logbook's file"}};
    const struct command_words command = {
        "logbook trend [MEASURE] [OPTIONS]",
        "What creeps from session to session, against running hours, tested "
        "and not\neyeballed. Measures: clutch_engagement_s, egt_top_c, "
        "dropouts_per_h,\nlap_spread_percent, lean_s_per_h, rpm_top.",
        options, sizeof options / sizeof options[0],
        "  kartwright logbook trend\n"
        "  kartwright logbook trend clutch_engagement_s --json -\n"};
    int result = EXIT_USAGE;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.rest);
    if (parsed == PARSED_HELP)
        result = EXIT_DONE;
    else if (parsed == PARSED)
        result = run(&words, &error) == KW_OK ? EXIT_DONE : print_error(&error);
    words_free(&words.rest);
    return result;
}
