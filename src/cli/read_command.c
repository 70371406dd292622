/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one way through all commands that only read the logbook. */
#include "cli/read_command.h"

#include <stdio.h>

/* Wrong words are the person's to mend, whether or not there is a book. */
static enum kw_status check_words(const struct read_command *command,
                                  const struct read_words *words,
                                  struct kw_error *error)
{
    if (command->check != NULL)
        return command->check(words, error);
    return words->rest.n == 0
               ? KW_OK
               : refuse_words(&command->words, "takes no words", error);
}

/* "Nothing is due" of a book that is not there may be a slip in its name: said
 * beside the answer, which is right for a new book. */
static void say_no_book(const char *book)
{
    struct kw_text name = {0};
    if (book != NULL && book[0] != '\0') {
        kw_text_add(&name, " '");
        kw_text_add_visible(&name, book);
        kw_text_add(&name, "'");
    }
    fprintf(stderr,
            "kartwright: there is no logbook%s yet: the first entry "
            "makes it\n",
            kw_text_failed(&name) || name.length == 0 ? "" : name.bytes);
    kw_text_free(&name);
}

/* Reading makes no book: a slip in --book must not leave an empty file
 * behind. */
static enum kw_status run_read(const struct read_command *command,
                               const struct read_words *words,
                               struct kw_error *error)
{
    struct book_job job = {0};
    enum kw_status status = check_words(command, words, error);
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_READ, error);
    if (status == KW_OK)
        status = command->work(&job, words, error);
    if (status == KW_OK && !kw_logbook_exists(job.book))
        say_no_book(words->book.book);
    book_end(&job);
    return status;
}

/* The one way through: help, words, book, work, and one line for what went
 * wrong. */
int run_read_command(const struct read_command *command,
                     struct read_words *words,
                     int argc,
                     char **argv)
{
    struct kw_error error = {0};
    enum kw_status status = KW_OK;
    const enum parsed parsed =
        parse_words(&command->words, argc, argv, &words->rest);
    if (parsed == PARSED)
        status = run_read(command, words, &error);
    words_free(&words->rest);
    return exit_status(parsed, status, &error);
}
