/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report is written where temporary files go, read back, and removed. */
#include "cli/report_copies.h"

#include "cli/passing.h"

#include "core/array.h"
#include "core/file.h"
#include "core/text.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The same bound as for attachments; a report has some hundred kilobytes. */
enum { MOST_BYTES = 256 * 1024 * 1024 };

/* The page holds the pictures as SVG already; PNG is for other programs. */
static bool is_kept(const char *name)
{
    const size_t length = strlen(name);
    return strcmp(name, "index.html") == 0 ||
           strcmp(name, "review.json") == 0 ||
           (length > 4 && strcmp(name + length - 4, ".png") == 0);
}

/* Room first, then the bytes: after the last allocation nothing can fail any
 * more. */
static enum kw_status take_file(struct report_copies *copies,
                                const char *path,
                                const char *name,
                                struct kw_error *error)
{
    struct kw_text content = {0};
    enum kw_status status =
        kw_array_reserve(&copies->items, &copies->capacity, copies->n + 1,
                         sizeof *copies->items, error);
    if (status == KW_OK)
        status = kw_file_read(path, MOST_BYTES, &content, error);
    if (status != KW_OK) {
        kw_text_free(&content);
        return status;
    }
    const size_t n_bytes = content.length;
    char *bytes = kw_text_take(&content, error);
    /* The entry of readdir() is gone with the next one. */
    char *copy = kw_text_duplicate(name, error);
    if (bytes == NULL || copy == NULL) {
        free(bytes);
        free(copy);
        return KW_NO_MEMORY;
    }
    copies->items[copies->n++] = (struct kw_file_copy){copy, bytes, n_bytes};
    return KW_OK;
}

/* Reads what is kept and removes everything, also after a failure. */
static enum kw_status empty_folder(const char *folder,
                                   struct report_copies *copies,
                                   enum kw_status status,
                                   struct kw_error *error)
{
    DIR *directory = opendir(folder);
    if (directory == NULL)
        return status != KW_OK ? status : kw_file_unread(error, folder, errno);
    for (;;) {
        errno = 0;
        const struct dirent *entry = readdir(directory);
        if (entry == NULL) {
            /* errno tells a failure from the end: half a report must not be
             * filed as a whole one. */
            if (errno != 0 && status == KW_OK)
                status = kw_file_unread(error, folder, errno);
            break;
        }
        const char *name = entry->d_name;
        if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
            continue;
        char *path = kw_file_within(folder, name, error);
        if (path == NULL) {
            status = KW_NO_MEMORY;
            continue;
        }
        if (status == KW_OK && is_kept(name))
            status = take_file(copies, path, name, error);
        (void)unlink(path);
        free(path);
    }
    (void)closedir(directory);
    /* Whatever is left does no harm where temporary files go, and must not hide
     * what went wrong before. */
    (void)rmdir(folder);
    return status;
}

/* The order of names in a folder is not its own: sort them. */
static int by_name(const void *a, const void *b)
{
    const struct kw_file_copy *x = a;
    const struct kw_file_copy *y = b;
    return strcmp(x->name, y->name);
}

enum kw_status report_copies_make(const struct kw_review *review,
                                  const char *title,
                                  struct kw_notices *notices,
                                  struct report_copies *copies,
                                  struct kw_error *error)
{
    const struct kw_folder_options options = {.title = title};
    *copies = (struct report_copies){0};
    char *passing = passing_folder(error);
    if (passing == NULL)
        return error->status;
    /* Inside the folder that is ours alone, for a report needs a name that
     * nothing has yet. */
    char *report = kw_file_within(passing, "report", error);
    enum kw_status status =
        report == NULL
            ? KW_NO_MEMORY
            : kw_review_write_folder(review, report, &options, notices, error);
    if (report != NULL && status == KW_OK)
        status = empty_folder(report, copies, status, error);
    (void)rmdir(passing);
    free(report);
    free(passing);
    if (status == KW_OK && copies->n > 1)
        /* So that the same session files the same list on every machine. */
        qsort(copies->items, copies->n, sizeof *copies->items, by_name);
    return status;
}

void report_copies_free(struct report_copies *copies)
{
    for (size_t i = 0; i < copies->n; i++) {
        free((char *)copies->items[i].name);
        free((char *)copies->items[i].bytes);
    }
    free(copies->items);
    *copies = (struct report_copies){0};
}
