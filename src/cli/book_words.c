/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finding the book, reading what an entry needs, printing within 80 columns. */
#include "cli/book_words.h"
#include "cli/delivery.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/fail.h"
#include "core/file.h"
#include "core/local_time.h"
#include "core/number.h"
#include "kartwright/profile.h"
#include "report/wrap.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

/* Photos and receipts stay far below this; SQLite's own limit is 1 GB. */
enum { MOST_ATTACHED_BYTES = 256 * 1024 * 1024 };

/* Doubles hold every whole number up to here. */
static const double HIGHEST_ID = 9007199254740992.0;

/* What is dated later than this is a slip: today's end, and a logger in the
 * zone of another continent, are not. */
static const double LONGEST_AHEAD_S = KW_SECONDS_A_DAY;

/* A logbook says who races and when: its folder is the owner's alone. 80
 * columns are what a terminal opens with. */
enum { SCREEN_COLUMNS = 80, OWN_FOLDER_MODE = 0700 };

/* ---- options ------------------------------------------------------------- */

/* One row for all commands that take the word: help says the same
 * everywhere. */
struct option option_book(struct book_words *words)
{
    return (struct option){"--book", OPTION_TEXT, &words->book,
                           "FILE",   false,       "the logbook's file"};
}

struct option option_kart(struct book_words *words)
{
    return (struct option){
        "--kart", OPTION_TEXT, &words->kart,
        "KART",   false,       "profile or name, where the book has several"};
}

struct option option_attach(struct book_words *words)
{
    return (struct option){
        "--attach",    OPTION_LIST,
        &words->files, "FILE",
        false,         "a photo or receipt to keep; may be given again"};
}

struct option option_date(struct book_words *words, const char *help)
{
    return (struct option){"--date", OPTION_TEXT, &words->date,
                           "DATE",   false,       help};
}

struct option option_json(const char **place)
{
    return (struct option){
        "--json", OPTION_TEXT,
        place,    "FILE",
        false,    "write JSON there; - prints it, and nothing else"};
}

/* ---- the book's place ---------------------------------------------------- */

/* Makes a folder and those above it; what is there already is fine. */
static enum kw_status make_folders(const char *path, struct kw_error *error)
{
    struct kw_text part = {0};
    enum kw_status status = KW_OK;
    /* From the root down. The part behind the last slash is the file and is not
     * made. */
    for (const char *slash = strchr(path + 1, '/');
         slash != NULL && status == KW_OK; slash = strchr(slash + 1, '/')) {
        kw_text_free(&part);
        kw_text_add_bytes(&part, path, (size_t)(slash - path));
        if (kw_text_failed(&part))
            status = kw_fail_memory(error);
        /* Made without asking first: between a question and the making another
         * program could come. */
        else if (mkdir(part.bytes, OWN_FOLDER_MODE) != 0 && errno != EEXIST)
            status = kw_file_failed(error, part.bytes, "cannot be made", errno);
    }
    kw_text_free(&part);
    return status;
}

/* An empty variable is what a script leaves that unsets it half-way. */
static bool is_set(const char *value)
{
    return value != NULL && value[0] != '\0';
}

/* XDG base directories: a relative value is to be ignored. */
static char *usual_path(bool make, struct kw_error *error)
{
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    struct kw_text path = {0};
    /* The book must be the same file from whatever folder the command is
     * run. */
    if (is_set(data) && data[0] == '/') {
        kw_text_add(&path, data);
    } else if (is_set(home)) {
        kw_text_add(&path, home);
        kw_text_add(&path, "/.local/share");
    } else {
        kw_fail(error, KW_BAD_USAGE, NULL, 0,
                "there is no home folder for the logbook",
                "name its file with --book");
        return NULL;
    }
    /* One file for all karts: a backup is one copy. */
    kw_text_add(&path, "/kartwright/logbook.db");
    char *whole = kw_text_take(&path, error);
    if (whole != NULL && make && make_folders(whole, error) != KW_OK) {
        free(whole);
        return NULL;
    }
    return whole;
}

/* The command's word, then the environment's, then the usual place. An empty
 * --book is the person's mistake and is passed on, to be refused with its
 * name. */
char *book_path(const char *stated, bool make, struct kw_error *error)
{
    const char *named = stated != NULL ? stated : getenv("KARTWRIGHT_BOOK");
    if (stated != NULL || is_set(named))
        return kw_text_duplicate(named, error);
    return usual_path(make, error);
}

/* ---- what an entry needs ------------------------------------------------- */

/* Where the date came from is kept in the entry: hours of parts depend on it,
 * and a guess can be corrected only if it is known as one. */
static enum kw_status read_date(struct book_job *job,
                                const char *date,
                                struct kw_error *error)
{
    job->entry.at_s = job->now_s;
    job->entry.source = KW_DATE_NOW;
    job->has_time = true;
    if (date == NULL)
        return KW_OK;
    job->entry.source = KW_DATE_GIVEN;
    /* A date alone leaves has_time false: it then stands for the start of the
     * day, or for its end where a part comes off. */
    if (kw_local_time_parse(date, &job->entry.at_s, &job->has_time))
        return KW_OK;
    return kw_failf(error, KW_BAD_USAGE, NULL,
                    "write 2026-06-14 or 2026-06-14T11:20", "'%s' is no date",
                    date);
}

/* Not refused: it is this machine's clock that may be wrong. */
void say_future(struct kw_text *said, const struct book_job *job)
{
    char date[KW_LOCAL_TIME_SIZE];
    if (!(job->entry.at_s > job->now_s + LONGEST_AHEAD_S))
        return;
    kw_text_addf(said,
                 "%s is in the future. If that is a slip, give it the right "
                 "date:\n  kartwright logbook correct ID --date DATE\n",
                 kw_local_time_print(date, job->entry.at_s, false));
}

/* A profile's path stands for the name in it, any other word for itself. */
static enum kw_status read_kart(struct book_job *job,
                                const char *kart,
                                struct kw_error *error)
{
    struct stat about;
    if (kart == NULL)
        return KW_OK;
    /* A name of a kart is seldom a file in the folder; a profile always is. */
    if (stat(kart, &about) != 0) {
        job->kart = kw_text_duplicate(kart, error);
    } else {
        struct kw_profile profile;
        const enum kw_status status = kw_profile_read(kart, &profile, error);
        if (status != KW_OK)
            return status;
        /* A profile without a name is that of the only kart. */
        if (profile.name == NULL) {
            kw_profile_free(&profile);
            return KW_OK;
        }
        job->kart = kw_text_duplicate(profile.name, error);
        kw_profile_free(&profile);
    }
    job->entry.kart = job->kart;
    return job->kart == NULL ? KW_NO_MEMORY : KW_OK;
}

/* The book keeps the name alone: a path says where the photo lay on this
 * machine, which no other can use. */
static const char *name_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* Whole files: they are kept byte for byte. */
static enum kw_status read_files(struct book_job *job,
                                 const struct words *files,
                                 struct kw_error *error)
{
    job->files = kw_array_new(files->n, sizeof *job->files, error);
    if (job->files == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < files->n; i++) {
        struct kw_text content = {0};
        enum kw_status status =
            kw_file_read(files->items[i], MOST_ATTACHED_BYTES, &content, error);
        if (status != KW_OK) {
            kw_text_free(&content);
            return status;
        }
        /* Before the text is taken, which forgets its length: a photo has zero
         * bytes in it and cannot be measured by strlen(). */
        const size_t n_bytes = content.length;
        char *bytes = kw_text_take(&content, error);
        if (bytes == NULL)
            return KW_NO_MEMORY;
        /* Counted only when it is whole, so that book_end() frees what there
         * is. */
        job->files[job->n_files++] =
            (struct kw_file_copy){name_of(files->items[i]), bytes, n_bytes};
    }
    job->entry.files = job->files;
    job->entry.n_files = job->n_files;
    return KW_OK;
}

/* Everything that can be refused is read before the book is made. */
enum kw_status book_begin(struct book_job *job,
                          const struct book_words *words,
                          enum kw_logbook_use use,
                          struct kw_error *error)
{
    *job = (struct book_job){.now_s = (double)time(NULL)};
    job->entry.written_s = job->now_s;
    enum kw_status status = read_date(job, words->date, error);
    if (status == KW_OK)
        status = read_kart(job, words->kart, error);
    if (status == KW_OK)
        status = read_files(job, &words->files, error);
    if (status != KW_OK)
        return status;
    char *path = book_path(words->book, use == KW_LOGBOOK_WRITE, error);
    /* The reason stands in error already: no home, no memory or a folder that
     * could not be made. */
    if (path == NULL)
        return error->status;
    status = kw_logbook_open(path, use, &job->book, error);
    free(path);
    return status;
}

/* Also after a book_begin() that failed half-way: what was not reached is
 * zero. */
void book_end(struct book_job *job)
{
    kw_logbook_close(job->book);
    for (size_t i = 0; i < job->n_files; i++)
        free((char *)job->files[i].bytes);
    free(job->files);
    free(job->kart);
    *job = (struct book_job){0};
}

/* Most commands answer for an empty book; for a check or an export that would
 * be wrong. */
enum kw_status book_must_exist(const struct book_job *job,
                               const struct book_words *words,
                               struct kw_error *error)
{
    if (kw_logbook_exists(job->book))
        return KW_OK;
    return kw_fail(error, KW_BAD_INPUT, words->book, 0,
                   "there is no logbook yet", "name one with --book");
}

/* ---- words --------------------------------------------------------------- */

/* Read by way of a double, for core has one parser of numbers; beyond
 * HIGHEST_ID it could not tell neighbours apart. */
enum kw_status read_id(const char *word, int64_t *id, struct kw_error *error)
{
    double value = 0.0;
    if (kw_number_parse(word, strlen(word), '.', &value) && value >= 1.0 &&
        value <= HIGHEST_ID && fabs(value - floor(value)) < 0.5e-9) {
        *id = (int64_t)value;
        return KW_OK;
    }
    return kw_failf(error, KW_BAD_USAGE, NULL,
                    "'kartwright logbook list' and 'due' show the numbers",
                    "'%s' is no entry's number", word);
}

const char *date_source_words(enum kw_date_source source)
{
    static const char *const words[] = {
        [KW_DATE_GIVEN] = "as given",
        [KW_DATE_LOG] = "from the log itself",
        [KW_DATE_FILE] = "when the log's file was last written",
        [KW_DATE_NOW] = "when it was written down"};
    return (size_t)source < sizeof words / sizeof words[0] ? words[source] : "";
}

/* Several words are one text: nobody should need to know about quotes. */
char *join_words(const struct words *words, bool *failed)
{
    struct kw_text line = {0};
    *failed = false;
    if (words->n == 0)
        return NULL;
    for (size_t i = 0; i < words->n; i++) {
        if (i > 0)
            kw_text_add(&line, " ");
        kw_text_add(&line, words->items[i]);
    }
    char *joined = kw_text_take(&line, NULL);
    *failed = joined == NULL;
    return joined;
}

/* ---- printing ------------------------------------------------------------ */

/* All at once at the end, so that a failure half-way prints nothing. Whether it
 * really left is asked once, in main(). */
enum kw_status print_text_once(struct kw_text *text, struct kw_error *error)
{
    const bool failed = kw_text_failed(text);
    if (!failed && text->length > 0)
        fputs(text->bytes, stdout);
    kw_text_free(text);
    return failed ? kw_fail_memory(error) : KW_OK;
}

/* For JSON that grew in a text. */
enum kw_status deliver_json(struct kw_text *json,
                            const char *path,
                            struct kw_error *error)
{
    const enum kw_status status = kw_text_failed(json)
                                      ? kw_fail_memory(error)
                                      : write_json(json->bytes, path, error);
    kw_text_free(json);
    return status;
}

/* Characters, not bytes: what the terminal counts. */
static size_t n_characters(const char *bytes, size_t length)
{
    size_t n = 0;
    for (size_t i = 0; i < length; i++)
        n += ((unsigned char)bytes[i] & 0xC0) != 0x80;
    return n;
}

/* Indented below the first line, so that an entry's number stands alone in its
 * column. A word longer than the line is left whole: paths and web addresses
 * are copied by hand. */
void add_wrapped(struct kw_text *text, const char *words, size_t indent)
{
    struct kw_text visible = {0};
    size_t line_start = text->length;
    kw_text_add_visible(&visible, words);
    if (kw_text_failed(&visible)) {
        kw_text_free(&visible);
        text->failed = true;
        return;
    }
    /* The width depends on what stands on this line already. */
    while (line_start > 0 && text->bytes[line_start - 1] != '\n')
        line_start--;
    size_t column = text->length == 0 ? 0
                                      : n_characters(text->bytes + line_start,
                                                     text->length - line_start);
    bool first = true;
    for (const char *at = visible.bytes; at != NULL && *at != '\0';) {
        const size_t length = kw_unparted(at, SCREEN_COLUMNS - indent);
        const size_t width = n_characters(at, length);
        if (length > 0 && !first && column + 1 + width > SCREEN_COLUMNS) {
            kw_text_addf(text, "\n%*s", (int)indent, "");
            column = indent;
            first = true;
        }
        if (length > 0 && !first) {
            kw_text_add(text, " ");
            column++;
        }
        kw_text_add_bytes(text, at, length);
        column += width;
        first = first && length == 0;
        at += length + (at[length] == ' ');
    }
    kw_text_free(&visible);
}

/* In characters as the terminal shows them, cut with three dots. */
void add_short(struct kw_text *text, const char *words, size_t most)
{
    struct kw_text visible = {0};
    kw_text_add_visible(&visible, words);
    if (kw_text_failed(&visible)) {
        kw_text_free(&visible);
        text->failed = true;
        return;
    }
    /* A text to which nothing was added has no bytes at all. */
    const char *bytes = visible.bytes == NULL ? "" : visible.bytes;
    if (n_characters(bytes, visible.length) <= most) {
        kw_text_add(text, bytes);
    } else {
        size_t length = 0;
        /* Whole characters, with room for the three dots: half of one would
         * show as a question mark. */
        for (size_t n = 0, used = 1; n + 3 < most; n++, length += used)
            kw_utf8_next(bytes + length, visible.length - length, &used);
        kw_text_add_bytes(text, bytes, length);
        kw_text_add(text, "...");
    }
    kw_text_free(&visible);
}
