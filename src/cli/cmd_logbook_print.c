/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook print: one page for a helper, a buyer, or the wall. */
#include "cli/book_words.h"
#include "cli/cmd_logbook.h"

#include "core/file.h"
#include "kartwright/report.h"

#include <stdlib.h>
#include <string.h>

struct print_words {
    struct book_words book;
    const char *out;
    struct words rest;
};

static enum kw_status run(const struct print_words *words,
                          struct kw_error *error)
{
    struct book_job job = {0};
    struct kw_text said = {0};
    char *html = NULL;
    int64_t id = 0;
    enum kw_status status = KW_OK;
    if (words->rest.n > 1 || words->out == NULL)
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0,
                         words->out == NULL ? "no file was named"
                                            : "print takes one number, or none",
                         "add --out FILE.html");
    if (status == KW_OK && words->rest.n == 1)
        status = read_id(words->rest.items[0], &id, error);
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_READ, error);
    if (status == KW_OK)
        status = kw_logbook_print(job.book, id, job.entry.at_s, &html, error);
    if (status == KW_OK)
        status = kw_file_write(words->out, html, strlen(html), error);
    if (status == KW_OK) {
        kw_text_add(&said, "Wrote ");
        kw_text_add_visible(&said, words->out);
        kw_text_add(&said, "\n");
        status = print_text_once(&said, error);
    }
    free(html);
    book_end(&job);
    return status;
}

int logbook_print(int argc, char **argv)
{
    struct print_words words = {0};
    struct kw_error error = {0};
    const struct option options[] = {
        {"--out", OPTION_TEXT, &words.out, "FILE.html", false,
         "the page; a page that is there is replaced"},
        option_date(&words.book, "as on that day; default now"),
        option_book(&words.book)};
    const struct command_words command = {
        "logbook print [ID] --out FILE.html [OPTIONS]",
        "One page that needs no other file, fit for paper: what is due, parts "
        "and hours,\nall entries with one plot of each session. With a number: "
        "that entry alone, with\nall its plots.",
        options, sizeof options / sizeof options[0],
        "  kartwright logbook print --out season.html\n"
        "  kartwright logbook print 12 --out sunday.html\n"};
    int result = EXIT_USAGE;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.rest);
    if (parsed == PARSED_HELP)
        result = EXIT_DONE;
    else if (parsed == PARSED)
        result = run(&words, &error) == KW_OK ? EXIT_DONE : print_error(&error);
    words_free(&words.rest);
    return result;
}
