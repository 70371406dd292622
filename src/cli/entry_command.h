/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Commands of the logbook that write one entry: read the words, open the book,
 * write, say what was written.
 *
 *     static enum kw_status write_note(struct book_job *job, ...) { ... }
 *
 *     int logbook_note(int argc, char **argv)
 *     {
 *         struct entry_words words = {0};
 *         const struct option options[] = {option_book(&words.book)};
 *         const struct entry_command command = {
 *             {"logbook note TEXT", "Writes something down.", options, 1, ""},
 *             KW_LOGBOOK_WRITE, write_note, "the note is empty"};
 *         return run_entry_command(&command, &words, argc, argv);
 *     }
 */
#ifndef KARTWRIGHT_CLI_ENTRY_COMMAND_H
#define KARTWRIGHT_CLI_ENTRY_COMMAND_H

#include "cli/book_words.h"

/* The words of any of these commands; each takes some of them.
 *
 * name   of a part, or the number of one.
 * text   a note or a reason. */
struct entry_words {
    struct book_words book;
    const char *name;
    const char *text;
    double life_h;
    double life_days;
    double hours_so_far;
    bool make_do;
    bool always;
    struct words rest;
};

/* What a command does once the book is open.
 *
 * line  what its `rest` says, one line, or NULL.
 * said  grows into what is printed. */
typedef enum kw_status entry_work(struct book_job *job,
                                  const struct entry_words *words,
                                  const char *line,
                                  struct kw_text *said,
                                  struct kw_error *error);

/* How a command is run.
 *
 * needs  what is missing when it is given no words: "the note is empty". */
struct entry_command {
    struct command_words words;
    enum kw_logbook_use use;
    entry_work *work;
    const char *needs;
};

/* returns  the exit status. */
int run_entry_command(const struct entry_command *command,
                      struct entry_words *words,
                      int argc,
                      char **argv);

/* Adds "Entry 12, 2026-06-14: ". */
void say_entry(struct kw_text *said, const struct book_job *job, int64_t id);

/* Adds how many files were kept, if any. */
void say_files(struct kw_text *said, const struct book_job *job);

/* A date without a time of day stands for its end: what is done after that
 * day's running. The last second, so that the next day's sessions are later. */
void to_end_of_day(struct book_job *job);

#endif
