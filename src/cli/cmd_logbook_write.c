/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logbook's short entries: note, fit, remove, watch, close, correct,
 * withdraw. Each reads its words, writes one entry and says what it wrote. */
#include "cli/cmd_logbook.h"
#include "cli/entry_command.h"
#include "cli/life_out.h"

#include "core/local_time.h"

#include <math.h>

/* ---- note ---------------------------------------------------------------- */

static enum kw_status write_note(struct book_job *job,
                                 const struct entry_words *words,
                                 const char *line,
                                 struct kw_text *said,
                                 struct kw_error *error)
{
    int64_t id = 0;
    /* All that a note needs is in `line` and the job. */
    (void)words;
    /* The text belongs to the caller until the entry is written. */
    job->entry.text = line;
    const enum kw_status status =
        kw_logbook_note(job->book, &job->entry, &id, error);
    say_entry(said, job, id);
    kw_text_add(said, "noted.\n");
    say_files(said, job);
    return status;
}

int logbook_note(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        option_date(&words.book,
                    "when, 2026-06-14 or 2026-06-14T11:20; default now"),
        option_attach(&words.book), option_kart(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook note TEXT [OPTIONS]", "Writes something down.", options,
         sizeof options / sizeof options[0],
         "  kartwright logbook note \"chain adjusted\"\n"
         "  kartwright logbook note \"bearing bought\" --attach "
         "receipt.pdf\n"},
        KW_LOGBOOK_WRITE,
        write_note,
        "the note is empty"};
    return run_entry_command(&command, &words, argc, argv);
}

/* ---- fit ----------------------------------------------------------------- */

/* Where the life came from is said each time: a starter value must not pass for
 * the maker's. */
static void say_life(struct kw_text *said, const struct kw_fitted *fitted)
{
    if (fitted->life_from == KW_LIFE_NONE) {
        kw_text_add(said, "It has no life, so its hours are counted but it is "
                          "never due. Give it one\nwith 'kartwright logbook "
                          "life'.\n");
        return;
    }
    kw_text_add(said, "Life: ");
    add_life(said, fitted->life_h, fitted->life_days);
    kw_text_addf(said, ", %s.\n", life_source_words(fitted->life_from));
    if (fitted->life_from == KW_LIFE_LIST)
        kw_text_add(said, "The maker's sheet comes first: set its figure with "
                          "'kartwright logbook life'.\n");
}

static enum kw_status write_fit(struct book_job *job,
                                const struct entry_words *words,
                                const char *line,
                                struct kw_text *said,
                                struct kw_error *error)
{
    /* A part that is not new has a past that no log in this book holds. "0 h so
     * far" is such a statement too, and not the same as none. */
    const bool registered = isfinite(words->hours_so_far);
    struct kw_new_part part = {.part = line,
                               .name = words->name,
                               .life_h = words->life_h,
                               .life_days = words->life_days,
                               .hours_so_far =
                                   registered ? words->hours_so_far : 0.0,
                               .registered = registered};
    struct kw_fitted fitted;
    /* "Today" is when the person writes it down; the part may have run this
     * morning. lead_s reaches back to this morning, so that today's sessions
     * count for the part. */
    if (job->entry.source == KW_DATE_NOW)
        part.lead_s = job->entry.at_s - kw_local_day_start(job->entry.at_s);
    const enum kw_status status =
        kw_logbook_fit(job->book, &job->entry, &part, &fitted, error);
    if (status != KW_OK)
        return status;
    say_entry(said, job, fitted.id);
    kw_text_add_visible(said, line);
    kw_text_add(said, " fitted.\n");
    /* Said, because it may surprise: two tyres need names to be told apart. */
    if (fitted.replaced_id != 0)
        kw_text_addf(said, "It replaces part %lld, which has come off.\n",
                     (long long)fitted.replaced_id);
    if (fitted.successor_id != 0) {
        char date[KW_LOCAL_TIME_SIZE];
        kw_text_addf(said, "It came off when part %lld was fitted, %s.\n",
                     (long long)fitted.successor_id,
                     kw_local_time_show(date, fitted.off_s));
    }
    say_life(said, &fitted);
    say_files(said, job);
    return KW_OK;
}

int logbook_fit(int argc, char **argv)
{
    struct entry_words words = {
        .life_h = NAN, .life_days = NAN, .hours_so_far = NAN};
    const struct option options[] = {
        {"--as", OPTION_TEXT, &words.name, "NAME", false,
         "to tell two of a kind apart: \"front left\""},
        {"--life-hours", OPTION_NUMBER, &words.life_h, "H", false,
         "running hours after which it is to be replaced"},
        {"--life-days", OPTION_NUMBER, &words.life_days, "D", false,
         "days after which it is to be replaced"},
        {"--hours-so-far", OPTION_NUMBER, &words.hours_so_far, "H", false,
         "what it had run before, for a part that is not new"},
        option_date(&words.book, "when; default today, from the morning on"),
        option_kart(&words.book),
        option_attach(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook fit PART [OPTIONS]",
         "A part went on the kart: from now on the logs' running time counts "
         "for it.\nA part of the same kind and name that was on comes off. "
         "Without a life of its\nown it gets that of its kind, see 'kartwright "
         "logbook life'.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook fit \"clutch lining\" --life-hours 8\n"
         "  kartwright logbook fit chain --date 2026-06-13\n"
         "  kartwright logbook fit tyres --as \"front left\" --hours-so-far "
         "1.5\n"},
        KW_LOGBOOK_WRITE,
        write_fit,
        "no part was named"};
    return run_entry_command(&command, &words, argc, argv);
}

/* ---- remove -------------------------------------------------------------- */

/* By its title, which the entry has from what it is about: a slip in the number
 * is seen at once. */
static enum kw_status say_about(struct kw_text *said,
                                struct book_job *job,
                                int64_t id,
                                const char *outcome,
                                struct kw_error *error)
{
    struct kw_entries entry;
    const enum kw_status status =
        kw_logbook_entry(job->book, id, &entry, error);
    if (status != KW_OK)
        return status;
    say_entry(said, job, id);
    add_short(said, entry.items[0].title, 40);
    kw_text_add(said, outcome);
    kw_entries_free(&entry);
    return KW_OK;
}

/* By number, not by name: of two tyres the right one must come off. */
static enum kw_status write_remove(struct book_job *job,
                                   const struct entry_words *words,
                                   const char *line,
                                   struct kw_text *said,
                                   struct kw_error *error)
{
    int64_t part_id = 0;
    int64_t id = 0;
    enum kw_status status = read_id(line, &part_id, error);
    if (status != KW_OK)
        return status;
    job->entry.text = words->text;
    to_end_of_day(job);
    status = kw_logbook_remove(job->book, &job->entry, part_id, &id, error);
    return status == KW_OK ? say_about(said, job, id, " is off.\n", error)
                           : status;
}

int logbook_remove(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--reason", OPTION_TEXT, &words.text, "TEXT", false,
         "why it came off"},
        option_date(&words.book,
                    "when; a date alone means after that day's running"),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook remove PART-ID [OPTIONS]",
         "A part came off the kart: it runs no more hours. Its number is in "
         "'kartwright\nlogbook parts'.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook remove 7 --reason \"lining glazed\"\n"},
        KW_LOGBOOK_CHANGE,
        write_remove,
        "no part's number was given"};
    return run_entry_command(&command, &words, argc, argv);
}

/* ---- watch and close ----------------------------------------------------- */

/* --part names the part that it is about, by number. */
static enum kw_status file_watch(struct book_job *job,
                                 const struct entry_words *words,
                                 struct kw_new_watch watch,
                                 int64_t *id,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    if (words->name != NULL)
        status = read_id(words->name, &watch.part_id, error);
    return status == KW_OK
               ? kw_logbook_watch(job->book, &job->entry, &watch, id, error)
               : status;
}

/* A make-do repair goes on the list as pressing at once: it is meant not to
 * stay. */
static enum kw_status write_watch(struct book_job *job,
                                  const struct entry_words *words,
                                  const char *line,
                                  struct kw_text *said,
                                  struct kw_error *error)
{
    int64_t id = 0;
    job->entry.text = line;
    const enum kw_status status =
        file_watch(job, words, (struct kw_new_watch){.make_do = words->make_do},
                   &id, error);
    say_entry(said, job, id);
    kw_text_addf(said,
                 "on the list of what is due%s.\nWhen it is dealt with: "
                 "'kartwright logbook close %lld'.\n",
                 words->make_do ? ",\npressing until the proper part is in"
                                : "",
                 (long long)id);
    return status;
}

/* Not shown before the next session: nothing has settled yet. */
static enum kw_status write_put_back(struct book_job *job,
                                     const struct entry_words *words,
                                     const char *line,
                                     struct kw_text *said,
                                     struct kw_error *error)
{
    int64_t id = 0;
    job->entry.text = line;
    const enum kw_status status = file_watch(
        job, words, (struct kw_new_watch){.after_run = true}, &id, error);
    say_entry(said, job, id);
    kw_text_add(said,
                "put back.\nAfter the next session it is due for a second "
                "look: fixings, springs, chain\ntension, leaks.\n");
    return status;
}

int logbook_put_back(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--part", OPTION_TEXT, &words.name, "PART-ID", false,
         "the part that it is about"},
        option_date(&words.book, "when; default now"),
        option_kart(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook put-back TEXT [OPTIONS]",
         "Something was taken apart and put back together: it is due for a "
         "second look\nafter its next session. A part that is fitted gets one "
         "by itself.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook put-back clutch\n"
         "  kartwright logbook put-back \"carburettor, new diaphragm\"\n"},
        KW_LOGBOOK_WRITE,
        write_put_back,
        "say what was put back"};
    return run_entry_command(&command, &words, argc, argv);
}

int logbook_watch(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--part", OPTION_TEXT, &words.name, "PART-ID", false,
         "the part that it is about"},
        {"--make-do", OPTION_FLAG, &words.make_do, NULL, false,
         "a repair that must not stay: pressing until closed"},
        option_date(&words.book, "when; default now"),
        option_kart(&words.book),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook watch TEXT [OPTIONS]",
         "Something to keep an eye on: it stays on the list of what is due "
         "until it is\nclosed.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook watch \"hairline at the seat stay\"\n"
         "  kartwright logbook watch \"cable tie on the fuel line\" "
         "--make-do\n"},
        KW_LOGBOOK_WRITE,
        write_watch,
        "nothing to watch was named"};
    return run_entry_command(&command, &words, argc, argv);
}

/* Closed is not gone: the entry stays, and a finding that comes back is told as
 * one that was dealt with before. */
static enum kw_status write_close(struct book_job *job,
                                  const struct entry_words *words,
                                  const char *line,
                                  struct kw_text *said,
                                  struct kw_error *error)
{
    int64_t target = 0;
    int64_t id = 0;
    enum kw_status status = read_id(line, &target, error);
    if (status != KW_OK)
        return status;
    job->entry.text = words->text;
    status = kw_logbook_close_item(job->book, &job->entry, target, &id, error);
    return status == KW_OK ? say_about(said, job, id, " is closed.\n", error)
                           : status;
}

int logbook_close(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        {"--note", OPTION_TEXT, &words.text, "TEXT", false, "what was done"},
        option_date(&words.book, "when; default now"),
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook close ID [OPTIONS]",
         "A watch item, a finding or a second look has been dealt with. A "
         "finding that\ncomes back in a later session is told as back.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook close 12 --note \"fuel filter replaced\"\n"},
        KW_LOGBOOK_CHANGE,
        write_close,
        "no number was given"};
    return run_entry_command(&command, &words, argc, argv);
}

/* ---- correct and withdraw ------------------------------------------------ */

/* Said, for it is another entry than the one that was named. */
static void say_replaced(struct kw_text *said,
                         int64_t part_id,
                         const char *what_it_does)
{
    if (part_id != 0)
        kw_text_addf(said, "So %s the removal of part %lld that it brought.\n",
                     what_it_does, (long long)part_id);
}

/* Hours are never stored but summed from the sessions by date, so a correction
 * needs nothing else. */
static enum kw_status write_correct(struct book_job *job,
                                    const struct entry_words *words,
                                    const char *line,
                                    struct kw_text *said,
                                    struct kw_error *error)
{
    int64_t target = 0;
    int64_t replaced = 0;
    enum kw_status status = read_id(line, &target, error);
    /* Without a date there is nothing to correct, and "now" would be a
     * guess. */
    if (status == KW_OK && words->book.date == NULL)
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0, "no date was given",
                         "add --date 2026-06-14T11:20");
    if (status != KW_OK)
        return status;
    job->entry.text = words->text;
    status = kw_logbook_part_replaced(job->book, target, &replaced, error);
    if (status == KW_OK)
        status = kw_logbook_correct(job->book, &job->entry, target, error);
    say_entry(said, job, target);
    kw_text_add(said, "it counts from this date now.\n");
    say_replaced(said, replaced, "does");
    return status;
}

int logbook_correct(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {
        option_date(&words.book,
                    "the right date, 2026-06-14 or 2026-06-14T11:20"),
        {"--reason", OPTION_TEXT, &words.text, "TEXT", false,
         "why it was wrong"},
        option_book(&words.book)};
    const struct entry_command command = {
        {"logbook correct ID --date DATE [OPTIONS]",
         "Gives an entry another date. Hours of parts follow at once.", options,
         sizeof options / sizeof options[0],
         "  kartwright logbook correct 7 --date 2026-06-13\n"},
        KW_LOGBOOK_CHANGE,
        write_correct,
        "no number was given"};
    return run_entry_command(&command, &words, argc, argv);
}

/* Taken out of every count but kept in the file, with its reason: a logbook
 * that forgets is not believed. */
static enum kw_status write_withdraw(struct book_job *job,
                                     const struct entry_words *words,
                                     const char *line,
                                     struct kw_text *said,
                                     struct kw_error *error)
{
    int64_t target = 0;
    int64_t replaced = 0;
    enum kw_status status = read_id(line, &target, error);
    if (status != KW_OK)
        return status;
    job->entry.text = words->text;
    status = kw_logbook_part_replaced(job->book, target, &replaced, error);
    if (status == KW_OK)
        status = kw_logbook_withdraw(job->book, &job->entry, target, error);
    kw_text_addf(said, "Entry %lld is withdrawn and counts no more.\n",
                 (long long)target);
    say_replaced(said, replaced, "is");
    return status;
}

int logbook_withdraw(int argc, char **argv)
{
    struct entry_words words = {0};
    const struct option options[] = {{"--reason", OPTION_TEXT, &words.text,
                                      "TEXT", false, "why it was wrong"},
                                     option_book(&words.book)};
    const struct entry_command command = {
        {"logbook withdraw ID [OPTIONS]",
         "Takes a wrong entry out of every count and list. It stays in the "
         "file, with\nthe reason.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook withdraw 9 --reason \"wrong kart\"\n"},
        KW_LOGBOOK_CHANGE,
        write_withdraw,
        "no number was given"};
    return run_entry_command(&command, &words, argc, argv);
}
