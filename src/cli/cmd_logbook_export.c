/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook export: the whole book as tables for a spreadsheet. */
#include "cli/book_words.h"
#include "cli/cmd_logbook.h"

#include "core/folder.h"
#include "kartwright/season.h"

#include <string.h>

struct export_words {
    struct book_words book;
    const char *out;
    struct words rest;
};

static const struct kw_folder_kind export_kind = {
    .noun = "export",
    .marker = "kartwright-export.txt",
    .about =
        "This folder is an export of a kartwright logbook.\n"
        "\n"
        "Each .csv file is one table (RFC 4180, UTF-8); logbook.json has them\n"
        "all. A text that a spreadsheet might run as a formula has an "
        "apostrophe\n"
        "in front, and so has one that begins with an apostrophe.\n"
        "\n"
        "A later export with the same name replaces this folder as a whole, "
        "but\n"
        "only while it holds nothing but the files named here:\n"};

static enum kw_status fill(struct kw_folder *folder,
                           const void *from,
                           struct kw_error *error)
{
    const struct kw_export *exported = from;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < exported->n && status == KW_OK; i++)
        status = kw_folder_add(folder, exported->items[i].name,
                               exported->items[i].bytes,
                               exported->items[i].n_bytes, error);
    return status;
}

/* The counts let a person see that all came through. */
static enum kw_status say(const struct kw_export *exported,
                          const char *folder,
                          struct kw_error *error)
{
    struct kw_text said = {0};
    kw_text_add(&said, "Wrote to ");
    kw_text_add_visible(&said, folder);
    kw_text_add(&said, ":\n");
    for (size_t i = 0; i < exported->n; i++) {
        const struct kw_export_file *file = &exported->items[i];
        if (strcmp(file->name, "logbook.json") == 0)
            kw_text_addf(&said, "  %-18s all of them\n", file->name);
        else
            kw_text_addf(&said, "  %-18s %zu %s\n", file->name, file->n_rows,
                         file->n_rows == 1 ? "row" : "rows");
    }
    return print_text_once(&said, error);
}

static enum kw_status run(const struct export_words *words,
                          struct kw_error *error)
{
    struct book_job job = {0};
    struct kw_export exported = {0};
    enum kw_status status = KW_OK;
    if (words->rest.n > 0 || words->out == NULL)
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0,
                         words->out == NULL ? "no folder was named"
                                            : "export takes no words",
                         "write 'kartwright logbook export --out FOLDER'");
    if (status == KW_OK)
        status = kw_folder_check(words->out, &export_kind, error);
    if (status == KW_OK)
        status = book_begin(&job, &words->book, KW_LOGBOOK_READ, error);
    if (status == KW_OK && !kw_logbook_exists(job.book))
        status = kw_fail(error, KW_BAD_INPUT, NULL, 0,
                         "there is no logbook yet", "name one with --book");
    if (status == KW_OK)
        status = kw_logbook_export(job.book, &exported, error);
    if (status == KW_OK)
        status =
            kw_folder_write(words->out, &export_kind, fill, &exported, error);
    if (status == KW_OK)
        status = say(&exported, words->out, error);
    kw_export_free(&exported);
    book_end(&job);
    return status;
}

int logbook_export(int argc, char **argv)
{
    struct export_words words = {0};
    struct kw_error error = {0};
    const struct option options[] = {
        {"--out", OPTION_TEXT, &words.out, "FOLDER", false,
         "new, empty or an earlier export, replaced whole"},
        {"--book", OPTION_TEXT, &words.book.book, "FILE", false,
         "the logbook's file"}};
    const struct command_words command = {
        "logbook export --out FOLDER [OPTIONS]",
        "Everything as tables: a CSV file for each, for a spreadsheet, and "
        "one JSON for\nprograms. Files are listed with their SHA-256; 'show ID "
        "--out' writes them. A text\nthat a spreadsheet might run as a formula "
        "gets an apostrophe in front.",
        options, sizeof options / sizeof options[0],
        "  kartwright logbook export --out season-tables\n"};
    int result = EXIT_USAGE;
    const enum parsed parsed = parse_words(&command, argc, argv, &words.rest);
    if (parsed == PARSED_HELP)
        result = EXIT_DONE;
    else if (parsed == PARSED)
        result = run(&words, &error) == KW_OK ? EXIT_DONE : print_error(&error);
    words_free(&words.rest);
    return result;
}
