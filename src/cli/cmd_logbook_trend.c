/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook trend: what creeps from session to session. */
#include "cli/cmd_logbook.h"
#include "cli/delivery.h"
#include "cli/read_command.h"

#include "kartwright/report.h"
#include "report/trends_words.h"
#include "report/words.h"

#include <stdlib.h>

/* What can creep has to be read beside what was fitted meanwhile.
 *
 * notices  plots that are missing.
 * folder   where the report lies, or NULL. */
struct trend_answer {
    struct kw_trends trends;
    struct kw_parts parts;
    struct kw_notices notices;
    const char *folder;
};

/* ---- for a person -------------------------------------------------------- */

/* What, how it goes, and from where to where. */
static void write_trend(struct kw_text *text, const struct kw_trend *trend)
{
    const struct kw_trend_point *first = &trend->points[0];
    const struct kw_trend_point *last = &trend->points[trend->n - 1];
    struct kw_text verdict = {0};
    add_short(text, trend->what, 40);
    if (trend->kart != NULL) {
        kw_text_add(text, " [");
        add_short(text, trend->kart, 24);
        kw_text_add(text, "]");
    }
    kw_text_add(text, "\n  ");
    kw_add_trend_verdict(&verdict, trend);
    if (kw_text_failed(&verdict))
        text->failed = true;
    else
        add_wrapped(text, verdict.bytes, 2);
    kw_text_free(&verdict);
    kw_text_addf(text, "\n  %zu %s: first ", trend->n,
                 trend->n == 1 ? "session" : "sessions");
    kw_add_trend_value(text, trend, first->value);
    kw_text_add(text, ", last ");
    kw_add_trend_value(text, trend, last->value);
    kw_text_add(text, ", at ");
    kw_text_add_number(text, last->hours, 1);
    kw_text_add(text, " h\n");
}

/* Once for all: it is the same for each. */
static void write_since_remark(struct kw_text *text,
                               const struct kw_trends *trends)
{
    struct kw_text remark = {0};
    kw_add_since_remark(&remark, trends);
    if (kw_text_failed(&remark))
        text->failed = true;
    if (remark.length > 0) {
        kw_text_add(text, "\n");
        add_wrapped(text, remark.bytes, 0);
        kw_text_add(text, "\n");
    }
    kw_text_free(&remark);
}

/* Behind all trends: they are the same from session to session and need not be
 * read again. */
static void write_remarks(struct kw_text *text, const struct kw_trends *trends)
{
    for (size_t i = 0; i < trends->n; i++) {
        struct kw_text remark = {0};
        kw_add_trend_remark(&remark, &trends->items[i], trends);
        if (remark.length > 0) {
            kw_text_add(text, "\n");
            kw_add_capital(text, trends->items[i].what);
            kw_text_add(text, ". ");
            add_wrapped(text, remark.bytes, 0);
            kw_text_add(text, "\n");
        }
        kw_text_free(&remark);
    }
}

/* All measures, then what is to be known of them, then what is missing from the
 * plots. */
static enum kw_status print_answer(const struct trend_answer *answer,
                                   struct kw_error *error)
{
    struct kw_text text = {0};
    for (size_t i = 0; i < answer->trends.n; i++)
        write_trend(&text, &answer->trends.items[i]);
    if (answer->trends.n == 0)
        kw_text_add(&text, "No session tells anything to compare yet.\n");
    write_since_remark(&text, &answer->trends);
    write_remarks(&text, &answer->trends);
    if (answer->folder == NULL && answer->trends.n > 0)
        kw_text_add(&text, "\n--out FOLDER draws them against engine hours, "
                           "with what was fitted meanwhile.\n");
    for (size_t i = 0; i < answer->notices.n; i++) {
        kw_text_add(&text, "Note: ");
        add_wrapped(&text, answer->notices.items[i].text, 6);
        kw_text_add(&text, "\n");
    }
    const enum kw_status status = print_text_once(&text, error);
    return status == KW_OK ? print_where(answer->folder, error) : status;
}

/* JSON to a file leaves the screen to the text. */
static enum kw_status deliver(const struct trend_answer *answer,
                              const struct read_words *words,
                              struct kw_error *error)
{
    const struct kw_trends_source source = {&answer->trends, &answer->parts,
                                            &answer->notices};
    char *json = NULL;
    enum kw_status status = KW_OK;
    if (words->json != NULL)
        status = kw_trends_to_json(&source, &json, error);
    if (status == KW_OK)
        status = write_json(json, words->json, error);
    free(json);
    if (status == KW_OK && !is_standard_output(words->json))
        status = print_answer(answer, error);
    return status;
}

/* Parts that are off stand behind those that are on: by date they read as what
 * happened. */
static int by_date(const void *a, const void *b)
{
    const struct kw_part *x = a;
    const struct kw_part *y = b;
    if (x->from_s < y->from_s || x->from_s > y->from_s)
        return x->from_s < y->from_s ? -1 : 1;
    return (x->id > y->id) - (x->id < y->id);
}

static enum kw_status write_report(struct trend_answer *answer,
                                   const struct read_words *words,
                                   struct kw_error *error)
{
    const struct kw_trends_source source = {&answer->trends, &answer->parts,
                                            NULL};
    answer->folder = words->out;
    return kw_trends_write_folder(&source, words->out, NULL, &answer->notices,
                                  error);
}

/* Places are asked about before the sums, which take longest. */
static enum kw_status one_measure(const struct read_words *words,
                                  struct kw_error *error)
{
    if (words->rest.n > 1)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "trend takes one measure, or none for all",
                       "see 'kartwright logbook trend --help'");
    const struct places places = {.json = words->json,
                                  .out = words->out,
                                  .no_report = words->out == NULL};
    return check_places(&places, error);
}

/* What was fitted belongs to it: without that a step looks like a trend. */
static enum kw_status show_trends(struct book_job *job,
                                  const struct read_words *words,
                                  struct kw_error *error)
{
    struct trend_answer answer = {0};
    const char *measure = words->rest.n == 1 ? words->rest.items[0] : NULL;
    enum kw_status status =
        kw_logbook_trends(job->book, measure, &answer.trends, error);
    if (status == KW_OK)
        status = kw_logbook_parts(job->book, &answer.parts, error);
    if (status == KW_OK && answer.parts.n > 1)
        qsort(answer.parts.items, answer.parts.n, sizeof *answer.parts.items,
              by_date);
    if (status == KW_OK && words->out != NULL)
        status = write_report(&answer, words, error);
    if (status == KW_OK)
        status = deliver(&answer, words, error);
    kw_notices_free(&answer.notices);
    kw_trends_free(&answer.trends);
    kw_parts_free(&answer.parts);
    return status;
}

int logbook_trend(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {
        option_json(&words.json),
        {"--out", OPTION_TEXT, &words.out, "FOLDER", false,
         "report goes there: new, empty or an earlier report"},
        option_book(&words.book)};
    const struct read_command command = {
        {"logbook trend [MEASURE] [OPTIONS]",
         "What creeps from session to session, against running hours; told "
         "only where\nchance does not explain it. Measures: "
         "clutch_engagement_s, egt_top_c,\negt_top_air_c (in standard air), "
         "dropouts_per_h, lap_spread_percent,\nlean_s_per_h, rpm_top.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook trend --out trends\n"
         "  kartwright logbook trend clutch_engagement_s --json -\n"},
        one_measure,
        show_trends};
    return run_read_command(&command, &words, argc, argv);
}
