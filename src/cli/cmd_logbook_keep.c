/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook save and check. */
#include "cli/book_words.h"
#include "cli/cmd_logbook.h"

struct keep_words {
    struct book_words book;
    struct words rest;
};

/* Both run alike. */
typedef enum kw_status keep_work(struct book_job *job,
                                 const struct keep_words *words,
                                 struct kw_error *error);

static int run_keep(const char *usage,
                    const char *summary,
                    keep_work *work,
                    int argc,
                    char **argv)
{
    struct keep_words words = {0};
    struct book_job job = {0};
    struct kw_error error = {0};
    const struct option options[] = {option_book(&words.book)};
    const struct command_words command = {
        usage, summary, options, sizeof options / sizeof options[0],
        "  kartwright logbook save /media/stick/logbook-june.db\n"
        "  kartwright logbook check\n"};
    int result = EXIT_USAGE;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.rest);
    if (parsed == PARSED_HELP) {
        result = EXIT_DONE;
    } else if (parsed == PARSED) {
        enum kw_status status =
            book_begin(&job, &words.book, KW_LOGBOOK_READ, &error);
        if (status == KW_OK)
            status = work(&job, &words, &error);
        result = status == KW_OK ? EXIT_DONE : print_error(&error);
        book_end(&job);
    }
    words_free(&words.rest);
    return result;
}

static enum kw_status save(struct book_job *job,
                           const struct keep_words *words,
                           struct kw_error *error)
{
    struct kw_text said = {0};
    if (words->rest.n != 1)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "save takes the name of one copy",
                       "see 'kartwright logbook save --help'");
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
                            const struct keep_words *words,
                            struct kw_error *error)
{
    struct kw_notices problems = {0};
    struct kw_text said = {0};
    if (words->rest.n != 0)
        return kw_fail(error, KW_BAD_USAGE, NULL, 0, "check takes no words",
                       "see 'kartwright logbook check --help'");
    if (!kw_logbook_exists(job->book))
        return kw_fail(error, KW_BAD_INPUT, NULL, 0, "there is no logbook yet",
                       "name one with --book");
    enum kw_status status = kw_logbook_check(job->book, &problems, error);
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
    return run_keep("logbook save COPY.db [OPTIONS]",
                    "A safe copy of the logbook, also while it is in use. An "
                    "older copy of that\nname is replaced, nothing else is.",
                    save, argc, argv);
}

int logbook_check(int argc, char **argv)
{
    return run_keep("logbook check [OPTIONS]",
                    "Looks at every page, every link between entries and "
                    "every attachment.",
                    check, argc, argv);
}
