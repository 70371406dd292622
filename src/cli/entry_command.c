/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one way through all commands that write an entry. */
#include "cli/entry_command.h"

#include "core/local_time.h"

#include <stdlib.h>

/* Words are checked before the book is opened, and the answer is printed after
 * the entry is safely in it: what was said to be filed is filed. */
static enum kw_status run_entry(const struct entry_command *command,
                                const struct entry_words *words,
                                struct kw_error *error)
{
    struct book_job job = {0};
    struct kw_text said = {0};
    bool no_memory = false;
    /* The text of an entry may be written without quotes. */
    char *line = join_words(&words->rest, &no_memory);
    enum kw_status status = KW_OK;
    if (no_memory)
        status = kw_fail_memory(error);
    else if (line == NULL)
        status = refuse_words(&command->words, command->needs, error);
    if (status == KW_OK)
        status = book_begin(&job, &words->book, command->use, error);
    if (status == KW_OK)
        status = command->work(&job, words, line, &said, error);
    if (status == KW_OK)
        say_future(&said, &job);
    if (status == KW_OK)
        status = print_text_once(&said, error);
    kw_text_free(&said);
    book_end(&job);
    free(line);
    return status;
}

/* The one way through all of these commands. */
int run_entry_command(const struct entry_command *command,
                      struct entry_words *words,
                      int argc,
                      char **argv)
{
    struct kw_error error = {0};
    enum kw_status status = KW_OK;
    const enum parsed parsed =
        parse_words(&command->words, argc, argv, &words->rest);
    if (parsed == PARSED)
        status = run_entry(command, words, &error);
    words_free(&words->book.files);
    words_free(&words->rest);
    return exit_status(parsed, status, &error);
}

/* "Entry 12, 2026-06-14: " The number is what close, correct and withdraw ask
 * for later. */
void say_entry(struct kw_text *said, const struct book_job *job, int64_t id)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_text_addf(said, "Entry %lld, %s: ", (long long)id,
                 job->has_time
                     ? kw_local_time_show(date, job->entry.at_s)
                     : kw_local_time_print(date, job->entry.at_s, false));
}

/* Said, for a photo that was not kept is missed only when it is too late. */
void say_files(struct kw_text *said, const struct book_job *job)
{
    if (job->n_files > 0)
        kw_text_addf(said,
                     job->n_files == 1 ? "%zu file kept with it.\n"
                                       : "%zu files kept with it.\n",
                     job->n_files);
}

void to_end_of_day(struct book_job *job)
{
    if (!job->has_time)
        job->entry.at_s = kw_local_day_end(job->entry.at_s) - 1.0;
}
