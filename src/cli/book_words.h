/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the logbook's commands have in common: which book, which date, which
 * kart, which files; and printing.
 *
 *     struct book_job job = {0};
 *     status = book_begin(&job, &words, KW_LOGBOOK_WRITE, &error);
 *     if (status == KW_OK)
 *         status = kw_logbook_note(job.book, &job.entry, &id, &error);
 *     book_end(&job);                             also after an error
 */
#ifndef KARTWRIGHT_CLI_BOOK_WORDS_H
#define KARTWRIGHT_CLI_BOOK_WORDS_H

#include "cli/command.h"

#include "core/text.h"
#include "kartwright/logbook.h"

/* Words that more than one command takes.
 *
 * book   path of the book, or NULL for the usual place.
 * kart   a profile's path or a kart's name, or NULL.
 * date   ISO 8601, or NULL.
 * files  of --attach. */
struct book_words {
    const char *book;
    const char *kart;
    const char *date;
    struct words files;
};

/* Rows of a command's table of options, for these words.
 *
 * help  what the date means to the command. */
struct option option_book(struct book_words *words);
struct option option_kart(struct book_words *words);
struct option option_attach(struct book_words *words);
struct option option_date(struct book_words *words, const char *help);

/* The place that JSON goes to, for commands that print. */
struct option option_json(const char **place);

/* has_time  the date came with a time of day.
 * entry     ready to be given a text and written.
 * kart      name of the kart; owned. */
struct book_job {
    struct kw_logbook *book;
    struct kw_new_entry entry;
    bool has_time;
    double now_s;
    char *kart;
    struct kw_file_copy *files;
    size_t n_files;
};

/* Opens the book and reads date, kart and files.
 *
 * returns  what kw_logbook_open() gives; KW_BAD_USAGE for a wrong date;
 *          KW_IO_FAILED for a file that cannot be read. */
enum kw_status book_begin(struct book_job *job,
                          const struct book_words *words,
                          enum kw_logbook_use use,
                          struct kw_error *error);
void book_end(struct book_job *job);

/* Adds that the entry's date is in the future, where it is: a year that was
 * mistyped takes the part that is on the kart off it, and is the last race day
 * for years. */
void say_future(struct kw_text *said, const struct book_job *job);

/* returns  KW_OK; KW_BAD_INPUT where no book is there, with the name that it
 * was given: for commands to which an empty answer would be a wrong one. */
enum kw_status book_must_exist(const struct book_job *job,
                               const struct book_words *words,
                               struct kw_error *error);

/* Path of the book: as stated, else $KARTWRIGHT_BOOK, else the usual place,
 * whose folders are made when `make` is true.
 *
 * returns  NULL on error; the caller frees it with free(). */
char *book_path(const char *stated, bool make, struct kw_error *error);

/* Reads "12", the number of an entry. */
enum kw_status read_id(const char *word, int64_t *id, struct kw_error *error);

/* For a person: "as given", "from the log itself". */
const char *date_source_words(enum kw_date_source source);

/* The words in one line with a space between them, or NULL when there are none;
 * *failed tells want of memory. The caller frees it. */
char *join_words(const struct words *words, bool *failed);

/* Prints a growing text to standard output and frees it. */
enum kw_status print_text_once(struct kw_text *text, struct kw_error *error);

/* Writes a finished JSON text to standard output ("-") or to a file, and frees
 * it. */
enum kw_status deliver_json(struct kw_text *json,
                            const char *path,
                            struct kw_error *error);

/* Adds a paragraph that is broken before column 80, every line but the first
 * indented; the text is untrusted. */
void add_wrapped(struct kw_text *text, const char *words, size_t indent);

/* Adds untrusted text on one line of at most `most` characters, with "..."
 * where it was cut. */
void add_short(struct kw_text *text, const char *words, size_t most);

#endif
