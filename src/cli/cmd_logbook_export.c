/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kartwright logbook export: the whole book as tables for a spreadsheet. */
#include "cli/cmd_logbook.h"
#include "cli/read_command.h"

#include "core/folder.h"
#include "kartwright/season.h"

#include <string.h>

/* Says what the folder is, to the person who finds it next year and to the next
 * export, which replaces nothing else. */
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

/* What was exported goes into the growing folder, file by file. */
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

/* Before the book is opened: a folder with somebody's files in it is refused at
 * once. */
static enum kw_status folder_named(const struct read_words *words,
                                   struct kw_error *error)
{
    if (words->rest.n == 0 && words->out != NULL)
        return kw_folder_check(words->out, &export_kind, error);
    return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                   words->out == NULL ? "no folder was named"
                                      : "export takes no words",
                   "write 'kartwright logbook export --out FOLDER'");
}

/* Tables with nothing in them would look like a season that was lost. */
static enum kw_status export_book(struct book_job *job,
                                  const struct read_words *words,
                                  struct kw_error *error)
{
    struct kw_export exported = {0};
    enum kw_status status = book_must_exist(job, &words->book, error);
    if (status == KW_OK)
        status = kw_logbook_export(job->book, &exported, error);
    if (status == KW_OK)
        status =
            kw_folder_write(words->out, &export_kind, fill, &exported, error);
    if (status == KW_OK)
        status = say(&exported, words->out, error);
    kw_export_free(&exported);
    return status;
}

int logbook_export(int argc, char **argv)
{
    struct read_words words = {0};
    const struct option options[] = {
        {"--out", OPTION_TEXT, &words.out, "FOLDER", false,
         "new, empty or an earlier export, replaced whole"},
        option_book(&words.book)};
    const struct read_command command = {
        {"logbook export --out FOLDER [OPTIONS]",
         "Everything as tables: a CSV file for each, for a spreadsheet, and "
         "one JSON for\nprograms. Files are listed with their SHA-256; 'show "
         "ID --out' writes them. A\ntext that a spreadsheet might run as a "
         "formula gets an apostrophe in front.",
         options, sizeof options / sizeof options[0],
         "  kartwright logbook export --out season-tables\n"},
        folder_named,
        export_book};
    return run_read_command(&command, &words, argc, argv);
}
