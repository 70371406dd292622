/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook add: reviews a log and files all of it as one entry. */
#include "cli/book_words.h"
#include "cli/cmd_logbook.h"
#include "cli/from_book.h"
#include "cli/report_copies.h"
#include "cli/reviewing.h"
#include "cli/setup_words.h"

#include "core/array.h"
#include "core/file.h"
#include "core/local_time.h"
#include "core/sha256.h"
#include "report/log_notices.h"
#include "report/screen.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Ten minutes at 20 Hz take about 1 MB; a log far beyond a day's is not kept.
 */
enum { MOST_LOG_BYTES = 64 * 1024 * 1024 };

/* As they were given. What is read from them lives in struct addition. */
struct add_words {
    struct book_words book;
    struct input_words input;
    const char *air;
    const char *setup;
    const char *note;
    const char *reference;
    bool no_report;
    struct words logs;
};

/* What is gathered before the book is written to.
 *
 * session  points into the rest.
 * kept     bytes of kept_files[n_kept]: the profile, and the log of a good day.
 * files    of --attach, of the report and kept; not owned. */
struct addition {
    struct input input;
    struct kw_review review;
    struct kw_air air;
    struct kw_new_session session;
    struct report_copies report;
    struct kw_notices notices;
    struct kw_text kept[2];
    struct kw_file_copy kept_files[2];
    size_t n_kept;
    bool log_is_kept;
    struct kw_file_copy *files;
};

/* ---- gathering ----------------------------------------------------------- */

/* The log's own clock, else when its file was last written, else now. The date
 * decides which parts get these hours. A logger's clock mostly shows the time
 * on the wall and no zone; then this machine's zone is taken: the one in which
 * the person raced, as a rule. A clock with a zone ("...Z") is that very
 * moment. */
static void settle_date(struct book_job *job,
                        const struct kw_log *log,
                        const char *path)
{
    struct stat about;
    /* The person's word is never overruled by a clock that may not have been
     * set. */
    if (job->entry.source == KW_DATE_GIVEN)
        return;
    if (isfinite(log->start_unix_s)) {
        job->entry.at_s = log->start_has_zone
                              ? log->start_unix_s
                              : kw_local_time_of_wall(log->start_unix_s);
        job->entry.source = KW_DATE_LOG;
    } else if (stat(path, &about) == 0) {
        /* The time a file was last written is that of its copying, as a rule:
         * right to the day, seldom to the hour. */
        job->entry.at_s = (double)about.st_mtime;
        job->entry.source = KW_DATE_FILE;
    }
}

/* Without the folder: the book may be read on another machine. */
static const char *name_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* What later sessions are read with and held against (see from_book.h): the
 * kart's profile, and the log of a day on which nothing was found. Not every
 * log: a season of them would make the book too big for a stick. */
static enum kw_status read_kept(struct addition *addition,
                                const struct add_words *words,
                                struct kw_error *error)
{
    const char *log = words->logs.items[0];
    struct kw_text *const kept = addition->kept;
    enum kw_status status = KW_OK;
    if (words->input.kart != NULL) {
        status =
            kw_file_read(words->input.kart, MOST_LOG_BYTES, &kept[0], error);
        addition->kept_files[addition->n_kept++].name = KART_PROFILE_NAME;
    }
    if (status == KW_OK && addition->review.verdict == KW_NOTHING_STANDS_OUT &&
        addition->session.log_bytes <= MOST_LOG_BYTES) {
        status =
            kw_file_read(log, MOST_LOG_BYTES, &kept[addition->n_kept], error);
        addition->kept_files[addition->n_kept++].name = name_of(log);
        addition->log_is_kept = true;
    }
    for (size_t i = 0; i < addition->n_kept; i++) {
        addition->kept_files[i].bytes = kept[i].bytes;
        addition->kept_files[i].n_bytes = kept[i].length;
    }
    return status;
}

/* The report's files first, then what is kept beside, then the person's, in one
 * list of borrowed pointers. */
static enum kw_status gather_files(struct addition *addition,
                                   struct book_job *job,
                                   const struct add_words *words,
                                   struct kw_error *error)
{
    enum kw_status status = read_kept(addition, words, error);
    if (status == KW_OK && !words->no_report)
        status =
            report_copies_make(&addition->review, addition->input.profile.name,
                               &addition->notices, &addition->report, error);
    if (status != KW_OK)
        return status;
    const struct {
        const struct kw_file_copy *items;
        size_t n;
    } lists[] = {{addition->report.items, addition->report.n},
                 {addition->kept_files, addition->n_kept},
                 {job->files, job->n_files}};
    /* One entry, one list: 'show --out' writes them all back. */
    const size_t n = lists[0].n + lists[1].n + lists[2].n;
    addition->files = kw_array_new(n, sizeof *addition->files, error);
    if (addition->files == NULL)
        return KW_NO_MEMORY;
    job->entry.files = addition->files;
    job->entry.n_files = 0;
    for (size_t list = 0; list < 3; list++) {
        for (size_t i = 0; i < lists[list].n; i++)
            addition->files[job->entry.n_files++] = lists[list].items[i];
    }
    return KW_OK;
}

/* Before the log is reviewed: a slip in the words costs no work. */
static enum kw_status read_air(struct addition *addition,
                               const struct add_words *words,
                               struct kw_error *error)
{
    if (words->air == NULL)
        return KW_OK;
    /* NULL says that the air is not known, which no number could. */
    addition->session.air = &addition->air;
    return kw_air_parse(words->air, &addition->air, error);
}

/* The review is made before the book is written to: no transaction is held
 * open for the seconds that it takes. */
static enum kw_status gather(struct addition *addition,
                             struct book_job *job,
                             const struct add_words *words,
                             struct kw_error *error)
{
    const char *path = words->logs.items[0];
    struct kw_session reference = {0};
    enum kw_status status = KW_OK;
    if (words->reference != NULL)
        status = read_reference(&addition->input, words->reference, &reference,
                                error);
    const struct kw_review_options against = {
        .reference = words->reference != NULL ? &reference : NULL};
    if (status == KW_OK)
        status = review_named_log(&addition->input, path, &against,
                                  &addition->review, error);
    kw_session_free(&reference);
    if (status != KW_OK)
        return status;
    settle_date(job, &addition->review.log, path);
    addition->session.review = &addition->review;
    addition->session.log_name = name_of(path);
    addition->session.setup = words->setup;
    job->entry.kart = addition->input.profile.name;
    job->entry.text = words->note;
    return gather_files(addition, job, words, error);
}

/* Safe on what was zeroed: it is called whichever step failed. */
static void addition_free(struct addition *addition)
{
    free(addition->files);
    for (size_t i = 0; i < 2; i++)
        kw_text_free(&addition->kept[i]);
    report_copies_free(&addition->report);
    kw_notices_free(&addition->notices);
    kw_review_free(&addition->review);
    input_close(&addition->input);
}

/* ---- saying what was filed ----------------------------------------------- */

/* Said with its source, since a wrong date gives the hours to the wrong parts
 * and nothing else would show it. */
static void say_date(struct kw_text *said, const struct book_job *job)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_addf(said, "Date: %s, %s.\n",
                 kw_local_time_show(date, job->entry.at_s),
                 date_source_words(job->entry.source));
    say_future(said, job);
}

/* From when it was fitted, up to but not at the moment it came off: a part and
 * its successor never both count. */
static bool ran_then(const struct kw_part *part, double at_s)
{
    return part->from_s <= at_s && (isnan(part->to_s) || at_s < part->to_s);
}

/* "  clutch lining (front): 7.6 of 8.0 h" */
static void say_part(struct kw_text *said, const struct kw_part *part)
{
    kw_text_add(said, "  ");
    add_short(said, part->part, 40);
    if (part->name != NULL) {
        kw_text_add(said, " (");
        add_short(said, part->name, 16);
        kw_text_add(said, ")");
    }
    kw_text_add(said, ": ");
    kw_text_add_number(said, kw_part_hours(part), 2);
    if (isfinite(part->life_h)) {
        kw_text_add(said, " of ");
        kw_text_add_number(said, part->life_h, part->life_h < 1.0 ? 2 : 1);
    }
    kw_text_add(said, " h\n");
}

/* A part that was fitted after the session got nothing: the one case in which a
 * date is likely to be wrong. */
static enum kw_status say_parts(struct kw_text *said,
                                struct book_job *job,
                                const char *kart,
                                struct kw_error *error)
{
    struct kw_parts parts;
    size_t n_ran = 0;
    size_t n_later = 0;
    /* Asked after the entry is in, so that the hours printed are those that
     * count from now on. */
    enum kw_status status = kw_logbook_parts(job->book, &parts, error);
    for (size_t i = 0; status == KW_OK && i < parts.n; i++) {
        const struct kw_part *part = &parts.items[i];
        if (!kw_same_kart(part->kart, kart))
            continue;
        n_later += part->from_s > job->entry.at_s;
        if (!ran_then(part, job->entry.at_s))
            continue;
        kw_text_add(said,
                    n_ran++ == 0 ? "Counted for the engine, and for:\n" : "");
        say_part(said, part);
    }
    if (n_ran == 0)
        kw_text_add(said, "Counted for the engine; no part was fitted on that "
                          "date.\n");
    if (n_later > 0)
        kw_text_addf(said,
                     "Not counted for %zu fitted later; if that is wrong:\n"
                     "  kartwright logbook correct ID --date DATE\n",
                     n_later);
    kw_parts_free(&parts);
    return status;
}

/* With their numbers, which 'close' takes. */
static enum kw_status say_findings(struct kw_text *said,
                                   struct kw_logbook *book,
                                   int64_t session_id,
                                   struct kw_error *error)
{
    struct kw_entries findings;
    const enum kw_status status =
        kw_logbook_findings(book, session_id, &findings, error);
    if (status != KW_OK)
        return status;
    for (size_t i = 0; i < findings.n; i++) {
        kw_text_addf(said, i == 0 ? "Findings:\n%4lld  " : "%4lld  ",
                     (long long)findings.items[i].id);
        add_wrapped(said, findings.items[i].title, 6);
        kw_text_add(said, "\n      ");
        add_wrapped(said, findings.items[i].text, 6);
        kw_text_add(said, "\n");
    }
    kw_entries_free(&findings);
    return KW_OK;
}

/* Whether the evening's work was the cure is what the person wants to know. */
static enum kw_status say_follow_up(struct kw_text *said,
                                    struct kw_logbook *book,
                                    int64_t session_id,
                                    struct kw_error *error)
{
    struct kw_notices lines = {0};
    const enum kw_status status =
        kw_logbook_follow_up(book, session_id, &lines, error);
    for (size_t i = 0; status == KW_OK && i < lines.n; i++) {
        kw_text_add(said, i == 0 ? "Since last time:\n      " : "      ");
        add_wrapped(said, lines.items[i].text, 6);
        kw_text_add(said, "\n");
    }
    kw_notices_free(&lines);
    return status;
}

/* Those of the report first: plots that are missing. */
static enum kw_status say_notices(struct kw_text *said,
                                  const struct addition *addition,
                                  struct kw_error *error)
{
    const struct kw_review *review = &addition->review;
    const struct kw_screen screen = kw_screen_on(said, NULL);
    struct kw_notices notices = {0};
    const enum kw_status status =
        kw_gather_notices(&review, 1, &addition->notices, &notices, error);
    if (notices.n > 0)
        kw_text_add(said, "The log:\n");
    kw_screen_notices(&screen, &notices, "see 'kartwright review'");
    kw_notices_free(&notices);
    return status;
}

/* The kart as the book has it: named now, or the one that was named last. */
static enum kw_status say_filed(struct kw_text *said,
                                struct book_job *job,
                                const struct addition *addition,
                                int64_t id,
                                struct kw_error *error)
{
    struct kw_entries entry;
    enum kw_status status = kw_logbook_entry(job->book, id, &entry, error);
    if (status != KW_OK)
        return status;
    kw_text_addf(said, "Entry %lld: ", (long long)id);
    add_short(said, addition->session.log_name, 60);
    kw_text_add(said, "\n");
    say_date(said, job);
    if (entry.items[0].kart != NULL) {
        kw_text_add(said, "Kart: ");
        add_short(said, entry.items[0].kart, 60);
        kw_text_add(said, "\n");
    }
    kw_text_add(said, "Running time: ");
    /* Minutes, as people speak of a session; the book keeps seconds. */
    kw_text_add_number(said, addition->review.running.seconds / 60.0, 1);
    kw_text_add(said, " min\n");
    status = say_parts(said, job, entry.items[0].kart, error);
    kw_text_add(said, "\n");
    add_wrapped(said, addition->review.verdict_text, 0);
    kw_text_add(said, "\n");
    if (status == KW_OK)
        status = say_findings(said, job->book, id, error);
    if (addition->log_is_kept)
        kw_text_add(said, "Nothing was found: its log is kept in the book, as "
                          "one to hold later sessions\nagainst ('kartwright "
                          "review --book'). That does not prove its mixture "
                          "right.\n");
    if (status == KW_OK)
        status = say_follow_up(said, job->book, id, error);
    if (status == KW_OK)
        status = say_notices(said, addition, error);
    kw_entries_free(&entry);
    return status;
}

/* Filing a folder of logs again after each race day must be harmless. */
static void say_already(struct kw_text *said, int64_t id)
{
    kw_text_addf(said,
                 "This log is already in the logbook, as entry %lld: nothing "
                 "was added,\nand its running time counts once.\n",
                 (long long)id);
}

/* ---- the work ------------------------------------------------------------ */

static enum kw_status add_it(struct book_job *job,
                             struct addition *addition,
                             const struct add_words *words,
                             struct kw_text *said,
                             struct kw_error *error)
{
    /* First the cheap question whether the book has this log, then the review,
     * which takes seconds. */
    struct kw_added added = {0};
    enum kw_status status =
        /* By content and not by name: loggers name every session alike, and a
         * copied log has another name. */
        kw_sha256_file(words->logs.items[0], addition->session.log_sha256,
                       &addition->session.log_bytes, error);
    if (status == KW_OK)
        status = kw_logbook_find_log(job->book, addition->session.log_sha256,
                                     &added.id, error);
    if (status != KW_OK)
        return status;
    if (added.id != 0) {
        say_already(said, added.id);
        return KW_OK;
    }
    status = gather(addition, job, words, error);
    if (status == KW_OK)
        status = kw_logbook_add_session(job->book, &job->entry,
                                        &addition->session, &added, error);
    if (status != KW_OK)
        return status;
    /* Another program may have filed it between the question and the
     * transaction. */
    if (added.already)
        say_already(said, added.id);
    else
        status = say_filed(said, job, addition, added.id, error);
    return status;
}

/* A pipe gives its bytes once, and add reads twice: the log to know it again
 * and to review it, the profile to use it and to keep it. What is not there is
 * refused where it is read. */
static bool is_pipe(const char *path)
{
    struct stat about;
    return strcmp(path, "-") == 0 ||
           (stat(path, &about) == 0 && S_ISFIFO(about.st_mode));
}

static enum kw_status check_files(const struct add_words *words,
                                  struct kw_error *error)
{
    const char *kart = words->input.kart;
    const char *what = NULL;
    if (words->logs.n != 1)
        what = words->logs.n == 0 ? "no log was named"
                                  : "add takes one log at a time";
    else if (is_pipe(words->logs.items[0]))
        what = "add needs a file, no pipe and no standard input";
    else if (kart != NULL && is_pipe(kart))
        what = "--kart needs a file, no pipe, for it is kept in the logbook";
    return what == NULL ? KW_OK
                        : kw_fail(error, KW_BAD_USAGE, NULL, 0, what,
                                  "see 'kartwright logbook add --help'");
}

/* The book is opened after all words were read, so that a wrong one makes no
 * empty book. */
static enum kw_status run(const struct add_words *words, struct kw_error *error)
{
    struct addition addition = {0};
    struct book_job job = {0};
    struct kw_text said = {0};
    enum kw_status status = check_files(words, error);
    if (status == KW_OK)
        status = check_setup(words->setup, error);
    if (status == KW_OK)
        status = input_open(&addition.input, &words->input, error);
    if (status == KW_OK)
        status = read_air(&addition, words, error);
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_WRITE, error);
    if (status == KW_OK)
        status = add_it(&job, &addition, words, &said, error);
    if (status == KW_OK)
        status = print_text_once(&said, error);
    kw_text_free(&said);
    book_end(&job);
    addition_free(&addition);
    return status;
}

int logbook_add(int argc, char **argv)
{
    struct add_words words = {0};
    struct kw_error error = {0};
    const struct option options[] = {
        {"--kart", OPTION_TEXT, &words.input.kart, "PROFILE", false,
         "the kart's profile, an INI file"},
        {"--date", OPTION_TEXT, &words.book.date, "DATE", false,
         "when it was driven; default: as the log says"},
        {"--air", OPTION_TEXT, &words.air, "AIR", false,
         "the air of that day: \"T=24 P=1008 RH=55\""},
        {"--setup", OPTION_TEXT, &words.setup, "SETUP", false,
         "what was fitted: \"main_jet=142 gearing=11/78\""},
        {"--note", OPTION_TEXT, &words.note, "TEXT", false, "what you noticed"},
        {"--attach", OPTION_LIST, &words.book.files, "FILE", false,
         "a file to keep with it; may be given again"},
        {"--reference", OPTION_TEXT, &words.reference, "LOG.csv", false,
         "a good session of the same kart to compare with"},
        {"--column", OPTION_LIST, &words.input.columns, "ROLE=HEADING", false,
         "which column holds what; may be given again"},
        {"--rate", OPTION_ABOVE_0, &words.input.rate_hz, "HZ", false,
         "samples each second, for a log without time"},
        {"--no-report", OPTION_FLAG, &words.no_report, NULL, false,
         "keep no page and no plots"},
        {"--book", OPTION_TEXT, &words.book.book, "FILE", false,
         "the logbook's file"}};
    const struct command_words command = {
        "logbook add LOG.csv [OPTIONS]",
        "Reviews a log and files its summary, findings and plots as one "
        "entry. Its\nrunning time counts for the engine and for every part "
        "that was fitted on that\ndate. The same log is never counted twice.",
        options, sizeof options / sizeof options[0],
        "  kartwright logbook add sunday.csv --kart number7.ini\n"
        "  kartwright logbook add sunday.csv --air \"T=24 P=1008 RH=55\" \\\n"
        "      --setup \"main_jet=142\" --note \"flat at the top\"\n"};
    enum kw_status status = KW_OK;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.logs);
    if (parsed == PARSED)
        status = run(&words, &error);
    words_free(&words.book.files);
    words_free(&words.input.columns);
    words_free(&words.logs);
    return exit_status(parsed, status, &error);
}
