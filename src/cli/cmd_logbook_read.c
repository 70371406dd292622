/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook list and parts: what the book holds, for a person or as
 * JSON. */
#include "cli/cmd_logbook.h"
#include "cli/entry_json.h"
#include "cli/life_out.h"
#include "cli/read_command.h"

#include "core/local_time.h"

#include <math.h>
#include <string.h>

/* ---- list ---------------------------------------------------------------- */

/* "  12  2026-06-14 11:20  session  sunday.csv, 15.2 min" */
static void list_entry(struct kw_text *text, const struct kw_entry *entry)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_addf(text, "%4lld  %-16s  %-7s  ", (long long)entry->id,
                 kw_local_time_show(date, entry->at_s),
                 kw_entry_kind_name(entry->kind));
    /* So that number, date, kind, title and running time fit in 80 columns. */
    add_short(text, entry->title, isnan(entry->running_s) ? 45 : 34);
    if (!isnan(entry->running_s)) {
        kw_text_add(text, ", ");
        kw_text_add_number(text, entry->running_s / 60.0, 1);
        kw_text_add(text, " min");
    }
    kw_text_add(text, "\n");
}

static enum kw_status list_entries(struct book_job *job,
                                   const struct read_words *words,
                                   struct kw_error *error)
{
    /* Filled in by the library, also with nothing; only on an error there is
     * nothing to free. */
    struct kw_entries entries;
    struct kw_text text = {0};
    enum kw_status status = kw_logbook_entries(job->book, &entries, error);
    if (status != KW_OK)
        return status;
    if (words->json != NULL) {
        struct kw_json json = {.out = &text};
        entries_json_begin(&json);
        for (size_t i = 0; i < entries.n; i++)
            entry_json(&json, &entries.items[i], NULL, NULL);
        entries_json_end(&json);
        status = deliver_json(&text, words->json, error);
    } else {
        for (size_t i = 0; i < entries.n; i++)
            list_entry(&text, &entries.items[i]);
        if (entries.n == 0)
            kw_text_add(&text, "The logbook is empty.\n");
        status = print_text_once(&text, error);
    }
    kw_entries_free(&entries);
    return status;
}

int logbook_list(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {option_json(&words.json),
                                     option_book(&words.book)};
    const struct read_command command = {
        {"logbook list [OPTIONS]", "All entries by date, in your time zone.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook list\n"},
        NULL,
        list_entries};
    return run_read_command(&command, &words, argc, argv);
}

/* ---- parts --------------------------------------------------------------- */

/* The day alone: parts are fitted on days. */
static void add_date(struct kw_text *text, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_add(text, kw_local_time_print(date, unix_s, false));
}

/* "   7  clutch lining (front)" and below it what it has run. */
static void write_part(struct kw_text *text, const struct kw_part *part)
{
    /* An engine is counted from the first session on, fitted or not, and then
     * has no entry and no number. */
    if (part->id != 0)
        kw_text_addf(text, "%4lld  ", (long long)part->id);
    else
        kw_text_add(text, "      ");
    add_short(text, part->part, 30);
    if (part->name != NULL) {
        kw_text_add(text, " (");
        add_short(text, part->name, 16);
        kw_text_add(text, ")");
    }
    if (part->kart != NULL) {
        kw_text_add(text, " [");
        add_short(text, part->kart, 16);
        kw_text_add(text, "]");
    }
    kw_text_add(text, "\n      ");
    /* Hundredths of an hour: a session is about a quarter of one. */
    kw_text_add_number(text, kw_part_hours(part), 2);
    if (isfinite(part->life_h)) {
        kw_text_add(text, " of ");
        kw_text_add_number(text, part->life_h, part->life_h < 1.0 ? 2 : 1);
    }
    kw_text_add(text, " h, ");
    kw_text_add_number(text, part->revolutions / 1000.0, 0);
    kw_text_addf(text, " thousand turns, %lld %s, from ",
                 (long long)part->n_sessions,
                 part->n_sessions == 1 ? "session" : "sessions");
    add_date(text, part->from_s);
    /* NAN while it is on the kart. */
    if (!isnan(part->to_s)) {
        kw_text_add(text, " to ");
        add_date(text, part->to_s);
    }
    kw_text_add(text, "\n");
}

/* A heading only where something stands below it. */
static void write_parts(struct kw_text *text,
                        const char *heading,
                        const struct kw_parts *parts,
                        bool off)
{
    size_t n = 0;
    for (size_t i = 0; i < parts->n; i++) {
        /* Two passes over one list: what is on and what came off. */
        if (isnan(parts->items[i].to_s) == off)
            continue;
        if (n++ == 0)
            kw_text_addf(text, "%s%s:\n", text->length > 0 ? "\n" : "",
                         heading);
        write_part(text, &parts->items[i]);
    }
}

/* What is not known is null: a part without a life has none, not 0 hours. */
static void write_part_json(struct kw_json *json, const struct kw_part *part)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(json, NULL, KW_JSON_ROW);
    if (part->id == 0)
        kw_json_null(json, "id");
    else
        kw_json_count(json, "id", (size_t)part->id);
    kw_json_string(json, "part", part->part);
    kw_json_string(json, "name", part->name);
    kw_json_string(json, "kart", part->kart);
    /* A millionth of an hour is 4 ms: sums over a season stay exact to the
     * second. */
    kw_json_number(json, "hours", kw_part_hours(part), 6);
    kw_json_number(json, "running_s", part->running_s, 3);
    kw_json_number(json, "revolutions", part->revolutions, 0);
    kw_json_count(json, "sessions", (size_t)part->n_sessions);
    kw_json_number(json, "life_hours", part->life_h, 2);
    kw_json_number(json, "life_days", part->life_days, 1);
    kw_json_string(json, "life_from", life_source_name(part->life_from));
    kw_json_string(json, "fitted",
                   kw_local_time_print(date, part->from_s, true));
    if (isnan(part->to_s))
        kw_json_null(json, "removed");
    else
        kw_json_string(json, "removed",
                       kw_local_time_print(date, part->to_s, true));
    kw_json_close(json);
}

/* Engines in a list of their own: their hours are those of the kart, and no
 * entry fitted them. */
static void write_parts_json(struct kw_text *text,
                             const struct kw_parts *parts,
                             const struct kw_parts *engines)
{
    struct kw_json json = {.out = text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_open(&json, "engines", KW_JSON_LIST);
    for (size_t i = 0; i < engines->n; i++)
        write_part_json(&json, &engines->items[i]);
    kw_json_close(&json);
    kw_json_open(&json, "parts", KW_JSON_LIST);
    for (size_t i = 0; i < parts->n; i++)
        write_part_json(&json, &parts->items[i]);
    kw_json_close(&json);
    kw_json_close(&json);
}

/* Engines run from the first session on, parts from the day on which they were
 * fitted. */
static enum kw_status show_parts(struct book_job *job,
                                 const struct read_words *words,
                                 struct kw_error *error)
{
    struct kw_parts parts = {0};
    struct kw_parts engines = {0};
    struct kw_lives lives = {0};
    struct kw_text text = {0};
    enum kw_status status = kw_logbook_parts(job->book, &parts, error);
    if (status == KW_OK)
        status = kw_logbook_lives(job->book, &lives, error);
    if (status == KW_OK)
        status = kw_logbook_engines(job->book, &engines, error);
    if (status == KW_OK && words->json != NULL) {
        write_parts_json(&text, &parts, &engines);
        status = deliver_json(&text, words->json, error);
    } else if (status == KW_OK) {
        /* Before the parts: it is asked for when the list of parts is still
         * empty. */
        if (words->lives)
            add_lives(&text, &lives);
        write_parts(&text, "Engines", &engines, false);
        write_parts(&text, "On the kart", &parts, false);
        write_parts(&text, "Taken off", &parts, true);
        if (text.length == 0)
            kw_text_add(&text, "No part was fitted yet: 'kartwright logbook "
                               "fit --help'.\n");
        status = print_text_once(&text, error);
    }
    kw_text_free(&text);
    kw_parts_free(&parts);
    kw_parts_free(&engines);
    kw_lives_free(&lives);
    return status;
}

int logbook_parts(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {{"--lives", OPTION_FLAG, &words.lives,
                                      NULL, false, "how long parts last, too"},
                                     option_json(&words.json),
                                     option_book(&words.book)};
    const struct read_command command = {
        {"logbook parts [OPTIONS]",
         "Engines and parts, with what each has run, counted from the logs.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook parts\n"},
        NULL,
        show_parts};
    return run_read_command(&command, &words, argc, argv);
}
