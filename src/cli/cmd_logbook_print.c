/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook print: one page for a friend, a buyer, or the wall. */
#include "cli/cmd_logbook.h"
#include "cli/delivery.h"
#include "cli/read_command.h"

#include "kartwright/report.h"

#include <stdlib.h>

/* No page is written where nobody asked for one: a page of a whole season under
 * a name of our choosing would be a surprise. */
static enum kw_status file_named(const struct read_words *words,
                                 struct kw_error *error)
{
    if (words->rest.n <= 1 && words->out != NULL)
        return KW_OK;
    return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                   words->out == NULL ? "no file was named"
                                      : "print takes one number, or none",
                   "add --out FILE.html");
}

/* As of a day: --date shows what will be due then. */
static enum kw_status print_book(struct book_job *job,
                                 const struct read_words *words,
                                 struct kw_error *error)
{
    struct kw_text said = {0};
    char *html = NULL;
    /* 0 is the whole book. */
    int64_t id = 0;
    enum kw_status status = KW_OK;
    if (words->rest.n == 1)
        status = read_id(words->rest.items[0], &id, error);
    if (status == KW_OK)
        status = kw_logbook_print(job->book, id, job->entry.at_s, &html, error);
    if (status == KW_OK)
        status = put_in_place(words->out, html, error);
    if (status == KW_OK) {
        kw_text_add(&said, "Wrote ");
        kw_text_add_visible(&said, words->out);
        kw_text_add(&said, "\n");
        status = print_text_once(&said, error);
    }
    free(html);
    return status;
}

int logbook_print(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {
        {"--out", OPTION_TEXT, &words.out, "FILE.html", false,
         "the page; a page that is there is replaced"},
        option_date(&words.book, "as on that day; default now"),
        option_book(&words.book)};
    const struct read_command command = {
        {"logbook print [ID] --out FILE.html [OPTIONS]",
         "One page that needs no other file, fit for paper: what is due, parts "
         "and hours,\nall entries with one plot of each session. With a "
         "number: that entry alone,\nwith all its plots.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook print --out season.html\n"
         "  kartwright logbook print 12 --out sunday.html\n"},
        file_named,
        print_book};
    return run_read_command(&command, &words, argc, argv);
}
