/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How commands hand over what they found.
 *
 * Folder first, JSON next, text last: what is printed is printed when nothing
 * can go wrong any more, and a refusal leaves standard output empty. */
#include "cli/delivery.h"

#include "core/file.h"
#include "core/notices.h"
#include "core/text.h"
#include "kartwright/report.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char *folder_named_after(const char *log,
                                const char *ending,
                                struct kw_error *error)
{
    /* In this order, each once: "sunday.csv.gz" gives "sunday". */
    static const char *const endings[] = {".gz", ".csv", ".txt", ".tsv"};
    const char *slash = strrchr(log, '/');
    const char *name = slash == NULL ? log : slash + 1;
    /* Standard input has no name to give. */
    if (strcmp(name, "-") == 0)
        name = "session";
    size_t length = strlen(name);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        const size_t n = strlen(endings[i]);
        /* A file called ".csv" keeps its name. */
        if (length <= n)
            continue;
        /* Compared without case: loggers that come from DOS write
         * "SUNDAY.CSV". */
        struct kw_text end = {0};
        kw_text_add_bytes(&end, name + length - n, n);
        if (!kw_text_failed(&end) && kw_text_same(end.bytes, endings[i]))
            length -= n;
        kw_text_free(&end);
    }
    struct kw_text folder = {0};
    kw_text_add_bytes(&folder, name, length);
    kw_text_add(&folder, ending);
    return kw_text_take(&folder, error);
}

/* Beside the person, not beside the log: logs lie on cards that may not be
 * written. */
char *report_folder(const char *asked,
                    const char *log,
                    const char *ending,
                    struct kw_error *error)
{
    return asked != NULL ? kw_text_duplicate(asked, error)
                         : folder_named_after(log, ending, error);
}

/* The review is worth more than its plots: a full disk or a folder that may not
 * be written costs the report, not the answer. */
enum kw_status note_no_folder(const char *asked,
                              struct kw_notices *notices,
                              struct kw_error *error)
{
    struct kw_text line = {0};
    if (asked != NULL || error->status == KW_NO_MEMORY)
        return error->status;
    kw_text_addf(&line, "no report folder was written: %s: %s: %s", error->file,
                 error->what, error->todo);
    return kw_notices_tell(notices, 0, &line, error);
}

/* NO_COLOR set to anything but nothing refuses colour, as programs agree (from
 * memory); a pipe or a file gets none either. */
bool wants_colour(void)
{
    const char *refused = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    /* A terminal that calls itself dumb shows escape codes as letters. */
    return isatty(STDOUT_FILENO) == 1 &&
           (refused == NULL || refused[0] == '\0') &&
           (terminal == NULL || strcmp(terminal, "dumb") != 0);
}

bool is_standard_output(const char *path)
{
    return path != NULL && strcmp(path, "-") == 0;
}

/* All JSON that is written is indented. */
static const char JSON_OPENING[] = "{\n";

/* Long enough for the first line of all that is written. */
enum { LONGEST_OPENING = 32 };

/* The first line tells: of JSON it is a brace alone, of a page its document
 * type. A log, a logbook, a drawing and a person's notes open otherwise;
 * devices and pipes hold nothing to lose.
 *
 * opening  the first line of what is to be written, or more of it. */
static enum kw_status holds_the_like(const char *path,
                                     const char *opening,
                                     struct kw_error *error)
{
    struct stat about;
    char found[LONGEST_OPENING];
    const size_t line = strcspn(opening, "\n") + 1;
    const size_t length = line < sizeof found ? line : sizeof found;
    if (stat(path, &about) != 0 || !S_ISREG(about.st_mode))
        return KW_OK;
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return kw_file_failed(error, path, "cannot be looked at", errno);
    const size_t n = fread(found, 1, length, file);
    const bool unread = ferror(file) != 0;
    fclose(file);
    if (unread)
        return kw_file_failed(error, path, "cannot be looked at", EIO);
    if (n == 0 || (n == length && memcmp(found, opening, length) == 0))
        return KW_OK;
    return kw_fail(error, KW_BAD_INPUT, path, 0,
                   "is there already and holds something else",
                   "name a new file, or move that one away first");
}

/* A slip of the finger must not cost a session or a season: "--json sunday.csv
 * sunday.csv" and "print --out logbook.db" are one word away from right. */
enum kw_status put_in_place(const char *path,
                            const char *text,
                            struct kw_error *error)
{
    const enum kw_status status = holds_the_like(path, text, error);
    return status == KW_OK ? kw_file_write(path, text, strlen(text), error)
                           : status;
}

/* "./sunday" is "sunday". */
static const char *without_here(const char *path)
{
    while (strncmp(path, "./", 2) == 0 && path[2] != '\0') {
        path += 2;
        path += strspn(path, "/");
    }
    return path;
}

/* "sunday/review.json" lies in "sunday", in "sunday/" and in "./sunday". */
static bool lies_in(const char *path, const char *folder)
{
    path = without_here(path);
    folder = without_here(folder);
    size_t n = strlen(folder);
    while (n > 1 && folder[n - 1] == '/')
        n--;
    return strncmp(path, folder, n) == 0 && path[n] == '/';
}

/* report  the report's folder, which may not be there yet, or NULL: what lies
 * in it finds its place later. */
static enum kw_status check_json_place(const char *path,
                                       const char *report,
                                       struct kw_error *error)
{
    if (path == NULL || is_standard_output(path) ||
        (report != NULL && lies_in(path, report)))
        return KW_OK;
    const enum kw_status status = kw_file_check_place(path, error);
    return status == KW_OK ? holds_the_like(path, JSON_OPENING, error) : status;
}

enum kw_status check_places(const struct places *places, struct kw_error *error)
{
    if (places->no_report)
        return check_json_place(places->json, NULL, error);
    char *report =
        report_folder(places->out, places->log, places->ending, error);
    enum kw_status status = report == NULL
                                ? KW_NO_MEMORY
                                : check_json_place(places->json, report, error);
    /* A folder that nobody named costs a notice where it cannot be written,
     * and not the answer. */
    if (status == KW_OK && places->out != NULL)
        status = kw_report_check_folder(places->out, error);
    free(report);
    return status;
}

enum kw_status note_unused_out(const struct places *places,
                               struct kw_notices *notices,
                               struct kw_error *error)
{
    if (places->out == NULL || !places->no_report)
        return KW_OK;
    return kw_notices_add(
        notices, 0, "--out is not used: --no-report writes no folder", error);
}

/* Standard output gets JSON and nothing else: another program reads it. */
enum kw_status write_json(const char *json,
                          const char *path,
                          struct kw_error *error)
{
    if (path == NULL)
        return KW_OK;
    if (!is_standard_output(path))
        return put_in_place(path, json, error);
    /* Whether it really left is asked once, in main(). */
    fputs(json, stdout);
    return KW_OK;
}

/* Last, where the eye is when the command ends. */
enum kw_status print_where(const char *folder, struct kw_error *error)
{
    if (folder == NULL)
        return KW_OK;
    struct kw_text line = {0};
    kw_text_add(&line, "\nReport: ");
    kw_text_add_visible(&line, folder);
    kw_text_add(&line, "/index.html\n");
    const bool failed = kw_text_failed(&line);
    if (!failed)
        fputs(line.bytes, stdout);
    kw_text_free(&line);
    return failed ? kw_fail_memory(error) : KW_OK;
}
