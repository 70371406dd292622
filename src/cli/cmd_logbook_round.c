/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook round, tick, skip and new-check: the round of checks that
 * belongs after each race day. */
#include "cli/cmd_logbook.h"
#include "cli/entry_command.h"
#include "cli/read_command.h"
#include "cli/round_out.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/local_time.h"
#include "kartwright/upkeep.h"

#include <string.h>

/* Stands for all checks that are open. */
static const char ALL[] = "all";

/* ---- round --------------------------------------------------------------- */

static bool is_wanted(const struct book_job *job, const struct kw_round *round)
{
    return job->entry.kart == NULL ||
           kw_same_kart(job->entry.kart, round->kart);
}

/* By the name that the round shows or another word for it, which the library
 * knows. */
static const struct kw_check *find_check(const struct kw_round *round,
                                         const char *word)
{
    for (size_t i = 0; i < round->n; i++) {
        if (kw_check_is_named(&round->items[i], word))
            return &round->items[i];
    }
    return NULL;
}

/* A slip in one name refuses all of it: half an answer is read as the whole. */
static enum kw_status add_one(struct kw_text *text,
                              const struct kw_round *round,
                              const char *word,
                              struct kw_error *error)
{
    const struct kw_check *check = find_check(round, word);
    if (check == NULL)
        return kw_failf(error, KW_BAD_USAGE, NULL,
                        "'kartwright logbook round' shows their names",
                        "the round has no check '%s'", word);
    add_check_details(text, round, check);
    return KW_OK;
}

/* A slip in the kart's name looks like a kart that is new. */
static void say_no_round(struct kw_text *text, const char *kart)
{
    kw_text_add(text, "No session of the kart '");
    kw_text_add_visible(text, kart == NULL ? "" : kart);
    kw_text_add(text, "' is in the logbook, so it has no round yet.\n");
}

/* Kart by kart, a blank line between them; the last lines say what to type
 * next, or what to take care of. */
static enum kw_status add_rounds(struct kw_text *text,
                                 const struct book_job *job,
                                 const struct kw_rounds *rounds,
                                 const struct words *items,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < rounds->n && status == KW_OK; i++) {
        const struct kw_round *round = &rounds->items[i];
        if (!is_wanted(job, round))
            continue;
        kw_text_add(text, text->length > 0 ? "\n" : "");
        if (items->n == 0)
            add_round(text, round);
        for (size_t j = 0; j < items->n && status == KW_OK; j++) {
            kw_text_add(text, j > 0 ? "\n" : "");
            status = add_one(text, round, items->items[j], error);
        }
    }
    if (status == KW_OK && text->length == 0)
        say_no_round(text, job->entry.kart);
    else if (items->n == 0)
        kw_text_add(text, "\n'kartwright logbook round chain' tells how to "
                          "check it, 'tick chain' says that\nit is good. "
                          "Common practice: the maker's sheet and the class "
                          "rules come first.\n");
    else
        kw_text_add(text, "\nEngine off and cold. The maker's sheet and the "
                          "class rules come first.\n");
    return status;
}

/* For programs all checks with their state, for a person the list or the checks
 * that were named. */
static enum kw_status show_rounds(struct book_job *job,
                                  const struct read_words *words,
                                  struct kw_error *error)
{
    struct kw_rounds rounds;
    struct kw_text text = {0};
    enum kw_status status = kw_logbook_rounds(job->book, &rounds, error);
    if (status == KW_OK && words->json != NULL) {
        struct kw_json json = {.out = &text};
        kw_json_open(&json, NULL, KW_JSON_OBJECT);
        kw_json_open(&json, "checks", KW_JSON_LIST);
        for (size_t i = 0; i < rounds.n; i++) {
            if (is_wanted(job, &rounds.items[i]))
                add_round_json(&json, &rounds.items[i], false);
        }
        kw_json_close(&json);
        kw_json_close(&json);
        status = deliver_json(&text, words->json, error);
    } else if (status == KW_OK) {
        status = add_rounds(&text, job, &rounds, &words->rest, error);
        if (status == KW_OK)
            status = print_text_once(&text, error);
    }
    kw_text_free(&text);
    kw_rounds_free(&rounds);
    return status;
}

/* Names of checks are the book's to know. */
static enum kw_status any_names(const struct read_words *words,
                                struct kw_error *error)
{
    (void)words;
    (void)error;
    return KW_OK;
}

int logbook_round(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {option_kart(&words.book),
                                     option_json(&words.json),
                                     option_book(&words.book)};
    const struct read_command command = {
        {"logbook round [ITEM...] [OPTIONS]",
         "The round of checks that belongs after each race day, and what of it "
         "is done.\nWith the name of a check: how to do it. Every session "
         "opens the round again.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook round\n"
         "  kartwright logbook round clutch\n"},
        any_names,
        show_rounds};
    return run_read_command(&command, &words, argc, argv);
}

/* ---- tick and skip ------------------------------------------------------- */

/* The one round that "all" can mean. */
static enum kw_status choose_round(const struct book_job *job,
                                   const struct kw_rounds *rounds,
                                   const struct kw_round **chosen,
                                   struct kw_error *error)
{
    *chosen = NULL;
    for (size_t i = 0; i < rounds->n; i++) {
        if (!is_wanted(job, &rounds->items[i]))
            continue;
        if (*chosen != NULL)
            return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                           "the logbook has several karts",
                           "say which: --kart NAME");
        *chosen = &rounds->items[i];
    }
    if (*chosen == NULL || (*chosen)->n_open == 0)
        return kw_fail(error, KW_BAD_INPUT, NULL, 0,
                       "no check is open for this kart",
                       "see 'kartwright logbook round'");
    return KW_OK;
}

/* The open ones, when "all" was said. Names live in the round. */
static enum kw_status take_all(const struct kw_round *round,
                               struct words *items,
                               struct kw_error *error)
{
    items->items = kw_array_new(round->n, sizeof *items->items, error);
    if (items->items == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < round->n; i++) {
        if (round->items[i].state == KW_CHECK_OPEN)
            items->items[items->n++] = round->items[i].item;
    }
    return KW_OK;
}

/* The names are taken from the round at this moment: what is open is written
 * down by name, and a check that is added tomorrow is not ticked today. */
static enum kw_status tick_all(struct book_job *job,
                               enum kw_check_state outcome,
                               int64_t *id,
                               struct kw_error *error)
{
    struct kw_rounds rounds;
    const struct kw_round *round = NULL;
    struct words items = {0};
    enum kw_status status = kw_logbook_rounds(job->book, &rounds, error);
    if (status == KW_OK)
        status = choose_round(job, &rounds, &round, error);
    if (status == KW_OK)
        status = take_all(round, &items, error);
    if (status == KW_OK) {
        const struct kw_new_tick tick = {items.items, items.n, outcome};
        /* The round's own kart: the last that was named may be another. */
        if (job->entry.kart == NULL)
            job->entry.kart = round->kart;
        status = kw_logbook_tick(job->book, &job->entry, &tick, id, error);
        job->entry.kart = job->kart;
    }
    words_free(&items);
    kw_rounds_free(&rounds);
    return status;
}

/* A tick that was dated before the last session changes nothing, and the person
 * would not see why. */
static void say_left(struct kw_text *said,
                     const struct kw_round *round,
                     const struct kw_entry *entry)
{
    char date[KW_LOCAL_TIME_SIZE];
    if (round->n_open == 0) {
        kw_text_add(said, "The round is done.\n");
        return;
    }
    if (entry->at_s < round->last_s)
        kw_text_addf(said,
                     "That is before the kart's last session, %s, which "
                     "opened\nthe round again.\n",
                     kw_local_time_show(date, round->last_s));
    kw_text_addf(said, "Still open, %zu: ", round->n_open);
    add_open_names(said, round);
    kw_text_add(said, "\n");
}

/* "Entry 12, 2026-06-14 [Number 7], checked: chain, brake", broken where it has
 * to be. */
static void say_entry_ticked(struct kw_text *said, const struct kw_entry *entry)
{
    char date[KW_LOCAL_TIME_SIZE];
    struct kw_text line = {0};
    kw_text_addf(&line, "Entry %lld, %s", (long long)entry->id,
                 kw_local_time_print(date, entry->at_s, false));
    if (entry->kart != NULL)
        kw_text_addf(&line, " [%s]", entry->kart);
    kw_text_addf(&line, ", %s", entry->title);
    if (kw_text_failed(&line))
        said->failed = true;
    else
        add_wrapped(said, line.bytes, 0);
    kw_text_add(said, "\n");
    kw_text_free(&line);
}

/* What is left to do, for the kart that the entry went to. */
static enum kw_status say_ticked(struct kw_text *said,
                                 struct book_job *job,
                                 int64_t id,
                                 struct kw_error *error)
{
    struct kw_entries entry;
    struct kw_rounds rounds = {0};
    bool has_round = false;
    enum kw_status status = kw_logbook_entry(job->book, id, &entry, error);
    if (status == KW_OK) {
        say_entry_ticked(said, &entry.items[0]);
        status = kw_logbook_rounds(job->book, &rounds, error);
    }
    for (size_t i = 0; i < rounds.n; i++) {
        if (!kw_same_kart(rounds.items[i].kart, entry.items[0].kart))
            continue;
        say_left(said, &rounds.items[i], &entry.items[0]);
        has_round = true;
    }
    if (status == KW_OK && !has_round)
        say_no_round(said, entry.items[0].kart);
    kw_rounds_free(&rounds);
    kw_entries_free(&entry);
    return status;
}

/* Ticked and skipped alike: what became of some checks. */
static enum kw_status write_ticks(struct book_job *job,
                                  const struct entry_words *words,
                                  enum kw_check_state outcome,
                                  struct kw_text *said,
                                  struct kw_error *error)
{
    const struct kw_new_tick tick = {words->rest.items, words->rest.n, outcome};
    int64_t id = 0;
    job->entry.text = words->text;
    /* A round is walked after that day's running. */
    to_end_of_day(job);
    const bool all = tick.n_items == 1 && strcmp(tick.items[0], ALL) == 0;
    /* No kart is without all that a round looks at: this would end the round
     * for good, without a word. */
    if (all && outcome == KW_CHECK_NEVER)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "'skip all --always' would leave no check in the round",
                       "name the checks that this kart does not have");
    const enum kw_status status =
        all ? tick_all(job, outcome, &id, error)
            : kw_logbook_tick(job->book, &job->entry, &tick, &id, error);
    return status == KW_OK ? say_ticked(said, job, id, error) : status;
}

static enum kw_status write_tick(struct book_job *job,
                                 const struct entry_words *words,
                                 const char *line,
                                 struct kw_text *said,
                                 struct kw_error *error)
{
    (void)line;
    return write_ticks(job, words, KW_CHECK_DONE, said, error);
}

static enum kw_status write_skip(struct book_job *job,
                                 const struct entry_words *words,
                                 const char *line,
                                 struct kw_text *said,
                                 struct kw_error *error)
{
    (void)line;
    return write_ticks(job, words,
                       words->always ? KW_CHECK_NEVER : KW_CHECK_SKIPPED, said,
                       error);
}

int logbook_tick(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--note", OPTION_TEXT, &words.text, "TEXT", false, "what you saw"},
        option_date(&words.book, "when; a date alone means after that day's "
                                 "running"),
        option_attach(&words.book),
        option_kart(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook tick ITEM... [OPTIONS]",
         "A check of the round was done and is good. 'all' stands for all that "
         "are open.\nWhat is not good goes on the list with 'kartwright "
         "logbook watch'.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook tick chain brake\n"
         "  kartwright logbook tick all --note \"plug light brown\"\n"},
        KW_LOGBOOK_WRITE,
        write_tick,
        "no check was named"};
    return run_entry_command(&command, &words, argc, argv);
}

int logbook_skip(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--always", OPTION_FLAG, &words.always, NULL, false,
         "for good: the kart has none; a tick undoes it"},
        {"--reason", OPTION_TEXT, &words.text, "TEXT", false,
         "why it can wait"},
        option_date(&words.book, "when; a date alone means after that day's "
                                 "running"),
        option_kart(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook skip ITEM... [OPTIONS]",
         "A check of the round is left out this time; the next race day opens "
         "it again.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook skip reeds --reason \"looked at last week\"\n"
         "  kartwright logbook skip reeds --always --reason four-stroke\n"},
        KW_LOGBOOK_WRITE,
        write_skip,
        "no check was named"};
    return run_entry_command(&command, &words, argc, argv);
}

/* ---- new-check ----------------------------------------------------------- */

static enum kw_status write_new_check(struct book_job *job,
                                      const struct entry_words *words,
                                      const char *line,
                                      struct kw_text *said,
                                      struct kw_error *error)
{
    int64_t id = 0;
    (void)words;
    job->entry.text = line;
    const enum kw_status status =
        kw_logbook_new_check(job->book, &job->entry, &id, error);
    say_entry(said, job, id);
    kw_text_addf(said,
                 "in the round after each race day, as check %lld.\n"
                 "'kartwright logbook tick %lld' when it is done; 'withdraw "
                 "%lld' takes it out again.\n",
                 (long long)id, (long long)id, (long long)id);
    return status;
}

int logbook_new_check(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        option_date(&words.book, "when; default now"),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook new-check TEXT [OPTIONS]",
         "Adds a check of your own to the round after each race day. Its "
         "number is its\nname; withdrawing that entry takes it out again.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook new-check \"water pump belt: no cracks\"\n"},
        KW_LOGBOOK_WRITE,
        write_new_check,
        "no check was described"};
    return run_entry_command(&command, &words, argc, argv);
}
