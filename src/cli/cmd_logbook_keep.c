/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook save and check. */
#include "cli/cmd_logbook.h"
#include "cli/read_command.h"

/* A stick has many files: the copy goes where it was said, and over nothing but
 * an older copy. */
static enum kw_status one_copy(const struct read_words *words,
                               struct kw_error *error)
{
    if (words->rest.n == 1)
        return KW_OK;
    return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                   "save takes the name of one copy",
                   "see 'kartwright logbook save --help'");
}

/* By way of SQLite, page by page: a copy of the bare file while somebody writes
 * would be torn. */
static enum kw_status save(struct book_job *job,
                           const struct read_words *words,
                           struct kw_error *error)
{
    struct kw_text said = {0};
    const enum kw_status status =
        kw_logbook_save(job->book, words->rest.items[0], error);
    if (status != KW_OK)
        return status;
    kw_text_add(&said, "Copied to ");
    kw_text_add_visible(&said, words->rest.items[0]);
    kw_text_add(&said, "\n");
    return print_text_once(&said, error);
}

/* Problems are an answer, and a refusal too: exit 1, so that a script sees it.
 */
static enum kw_status check(struct book_job *job,
                            const struct read_words *words,
                            struct kw_error *error)
{
    struct kw_notices problems = {0};
    struct kw_text said = {0};
    enum kw_status status = book_must_exist(job, &words->book, error);
    if (status == KW_OK)
        status = kw_logbook_check(job->book, &problems, error);
    if (status == KW_OK && problems.n == 0) {
        kw_text_add(&said, "The logbook is sound.\n");
        status = print_text_once(&said, error);
    } else if (status == KW_OK) {
        kw_text_addf(&said, "%zu wrong in the logbook, first: %s", problems.n,
                     problems.items[0].text);
        status = kw_fail(error, KW_BAD_INPUT, NULL, 0,
                         kw_text_failed(&said) ? "the logbook is damaged"
                                               : said.bytes,
                         "go back to your last copy made with 'kartwright "
                         "logbook save'");
        kw_text_free(&said);
    }
    kw_notices_free(&problems);
    return status;
}

int logbook_save(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {option_book(&words.book)};
    const struct read_command command = {
        {"logbook save COPY.db [OPTIONS]",
         "A safe copy of the logbook, also while it is in use. An older copy "
         "of that\nname is replaced, nothing else is.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook save /media/stick/logbook-june.db\n"},
        one_copy,
        save};
    return run_read_command(&command, &words, argc, argv);
}

int logbook_check(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {option_book(&words.book)};
    const struct read_command command = {
        {"logbook check [OPTIONS]",
         "Looks at every page, every link between entries and every "
         "attachment.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook check\n"},
        NULL,
        check};
    return run_read_command(&command, &words, argc, argv);
}
