/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook life: how long parts last, by the starter list and by the
 * owner's own figures. */
#include "cli/cmd_logbook.h"
#include "cli/entry_command.h"
#include "cli/life_out.h"

#include "core/json.h"
#include "kartwright/upkeep.h"

#include <math.h>
#include <stdlib.h>

struct life_words {
    struct book_words book;
    double life_h;
    double life_days;
    const char *text;
    const char *json;
    struct words rest;
};

/* ---- showing ------------------------------------------------------------- */

/* The starter list's figures stand beside the owner's, so that another program
 * can show both. */
static void add_life_json(struct kw_json *json, const struct kw_life *life)
{
    kw_json_open(json, NULL, KW_JSON_ROW);
    kw_json_string(json, "part", life->part);
    kw_json_number(json, "life_hours", life->life_h, 2);
    kw_json_number(json, "life_days", life->life_days, 1);
    kw_json_string(json, "life_from",
                   life->id != 0 ? "yours" : "common_practice");
    kw_json_number(json, "usual_hours", life->usual_h, 2);
    kw_json_number(json, "usual_days", life->usual_days, 1);
    if (life->id != 0)
        kw_json_count(json, "id", (size_t)life->id);
    else
        kw_json_null(json, "id");
    kw_json_close(json);
}

/* All of them, or the one that was asked for.
 *
 * part  NULL for all. */
static void add_lives_json(struct kw_text *text,
                           const struct kw_lives *lives,
                           const char *part)
{
    const struct kw_life *one =
        part == NULL ? NULL : kw_lives_find(lives, part);
    struct kw_json json = {.out = text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_open(&json, "lives", KW_JSON_LIST);
    for (size_t i = 0; i < lives->n; i++) {
        if (part == NULL || &lives->items[i] == one)
            add_life_json(&json, &lives->items[i]);
    }
    kw_json_close(&json);
    kw_json_close(&json);
}

/* part  NULL for all. */
static enum kw_status print_lives(const struct kw_lives *lives,
                                  const struct life_words *words,
                                  const char *part,
                                  struct kw_error *error)
{
    struct kw_text text = {0};
    if (words->json != NULL) {
        add_lives_json(&text, lives, part);
        return deliver_json(&text, words->json, error);
    }
    if (part == NULL)
        add_lives(&text, lives);
    else
        add_one_life(&text, part, kw_lives_find(lives, part));
    return print_text_once(&text, error);
}

static enum kw_status show_lives(const struct life_words *words,
                                 struct kw_error *error)
{
    struct book_job job = {0};
    struct kw_lives lives = {0};
    bool no_memory = false;
    char *part = join_words(&words->rest, &no_memory);
    enum kw_status status = no_memory ? kw_fail_memory(error) : KW_OK;
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_READ, error);
    if (status == KW_OK)
        status = kw_logbook_lives(job.book, &lives, error);
    if (status == KW_OK)
        status = print_lives(&lives, words, part, error);
    kw_lives_free(&lives);
    book_end(&job);
    free(part);
    return status;
}

/* ---- setting ------------------------------------------------------------- */

/* Which parts follow is said: a figure that changes what is due must not do so
 * behind the person's back. */
static enum kw_status say_set(struct kw_text *said,
                              struct book_job *job,
                              int64_t id,
                              struct kw_error *error)
{
    struct kw_entries entry;
    enum kw_status status = kw_logbook_entry(job->book, id, &entry, error);
    if (status != KW_OK)
        return status;
    say_entry(said, job, id);
    add_short(said, entry.items[0].title, 54);
    kw_text_addf(said,
                 ".\nIt counts for all parts of that kind but those that were "
                 "fitted with a life\nof their own. 'kartwright logbook "
                 "withdraw %lld' takes it back.\n",
                 (long long)id);
    kw_entries_free(&entry);
    return KW_OK;
}

/* A figure of the owner's is an entry of the book, with a date and a number: it
 * can be withdrawn. */
static enum kw_status set_life(const struct life_words *words,
                               struct kw_error *error)
{
    struct book_job job = {0};
    struct kw_text said = {0};
    bool no_memory = false;
    int64_t id = 0;
    char *part = join_words(&words->rest, &no_memory);
    enum kw_status status = KW_OK;
    if (no_memory)
        status = kw_fail_memory(error);
    else if (part == NULL)
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0, "no part was named",
                         "write 'kartwright logbook life chain --hours 8'");
    /* Before the book is made: a slip in the words leaves no empty file. */
    else if (isnan(words->life_h) && isnan(words->life_days))
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0, "no life was given",
                         "add --hours 8 or --days 365");
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_WRITE, error);
    if (status == KW_OK) {
        const struct kw_new_life life = {part, words->life_h, words->life_days};
        job.entry.text = words->text;
        status = kw_logbook_set_life(job.book, &job.entry, &life, &id, error);
    }
    if (status == KW_OK)
        status = say_set(&said, &job, id, error);
    if (status == KW_OK)
        status = print_text_once(&said, error);
    kw_text_free(&said);
    book_end(&job);
    free(part);
    return status;
}

/* No life said, and nothing that would belong to one: the list is what is
 * wanted, or the part's row of it. */
static bool is_question(const struct life_words *words)
{
    return isnan(words->life_h) && isnan(words->life_days) &&
           words->text == NULL && words->book.date == NULL;
}

int logbook_life(int argc, char **argv)
{
    struct life_words words = {.life_h = NAN, .life_days = NAN};
    struct kw_error error = {0};
    const struct option options[] = {
        {"--hours", OPTION_NUMBER, &words.life_h, "H", false,
         "running hours after which it is to be replaced"},
        {"--days", OPTION_NUMBER, &words.life_days, "D", false,
         "days after which it is to be replaced"},
        {"--note", OPTION_TEXT, &words.text, "TEXT", false,
         "where the figure is from"},
        option_date(&words.book, "when; default now"),
        option_json(&words.json),
        option_book(&words.book)};
    const struct command_words command = {
        "logbook life [PART] [OPTIONS]",
        "How long parts last. Without words: the list. With a part: what "
        "counts for it.\nWith a part and a life: your figure, from the "
        "maker's sheet or experience, in\nplace of common practice.",
        options, sizeof options / sizeof options[0],
        "  kartwright logbook life\n"
        "  kartwright logbook life chain\n"
        "  kartwright logbook life \"clutch lining\" --hours 8 "
        "--note \"maker's sheet\"\n"};
    enum kw_status status = KW_OK;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.rest);
    if (parsed == PARSED)
        status = is_question(&words) ? show_lives(&words, &error)
                                     : set_life(&words, &error);
    words_free(&words.rest);
    return exit_status(parsed, status, &error);
}
