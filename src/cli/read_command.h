/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Commands of the logbook that only read it: read the words, open the book,
 * look up, print.
 *
 *     static enum kw_status list_entries(struct book_job *job, ...) { ... }
 *
 *     int logbook_list(int argc, char **argv)
 *     {
 *         struct read_words words = {0};
 *         const struct option options[] = {option_book(&words.book)};
 *         const struct read_command command = {
 *             {"logbook list", "All entries by date.", options, 1, ""},
 *             NULL, list_entries};
 *         return run_read_command(&command, &words, argc, argv);
 *     }
 */
#ifndef KARTWRIGHT_CLI_READ_COMMAND_H
#define KARTWRIGHT_CLI_READ_COMMAND_H

#include "cli/book_words.h"

/* The words of any of these commands; each takes some of them.
 *
 * json  where JSON goes: a file, "-" or NULL for none.
 * out   a file or folder to write, or NULL. */
struct read_words {
    struct book_words book;
    const char *json;
    const char *out;
    bool to_buy;
    bool lives;
    struct words rest;
};

/* Refuses words that the command cannot mean, before the book is opened. */
typedef enum kw_status read_check(const struct read_words *words,
                                  struct kw_error *error);

/* What a command does once the book is open. A book that is not there reads as
 * an empty one. */
typedef enum kw_status read_work(struct book_job *job,
                                 const struct read_words *words,
                                 struct kw_error *error);

/* How a command is run.
 *
 * check  NULL for a command that takes options alone. */
struct read_command {
    struct command_words words;
    read_check *check;
    read_work *work;
};

/* returns  the exit status. */
int run_read_command(const struct read_command *command,
                     struct read_words *words,
                     int argc,
                     char **argv);

#endif
