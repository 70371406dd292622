/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders that are whole or not there: grow beside, list, rename.
 *
 * What makes a folder ours is its marker, which begins with our words and
 * lists every file that we wrote. One name too many, and the folder is
 * somebody's: it is left alone. The question is asked before the work, and
 * again after the old folder stepped aside, when nobody can add to it by its
 * name any more. */
#define _XOPEN_SOURCE 700 /* POSIX 2008 gives realpath() with XSI only */
#include "folder.h"

#include "array.h"
#include "fail.h"
#include "file.h"
#include "text.h"

#include <assert.h>
#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A marker is a page of text; what is longer is none of ours. */
enum { MOST_MARKER_BYTES = 65536, ATTEMPTS = 100, FOLDER_MODE = 0777 };

/* The folder itself and the one above it. readdir() gives them on most systems
 * and need not. */
static bool is_dots(const char *name)
{
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

/* What one look at each name of a folder does.
 *
 * returns  false to stop. */
typedef bool visit(void *context, const char *name);

/* returns  0, or the errno of what failed; a visit that stops is no failure. */
static int for_each_name(const char *path, visit *look, void *context)
{
    DIR *stream = opendir(path);
    if (stream == NULL)
        return errno;
    int failed = 0;
    for (bool go_on = true; go_on;) {
        /* readdir() gives NULL for the end and for a failure, and touches errno
         * for a failure only. */
        errno = 0;
        const struct dirent *entry = readdir(stream);
        failed = entry == NULL ? errno : 0;
        go_on = entry != NULL &&
                (is_dots(entry->d_name) || look(context, entry->d_name));
    }
    if (closedir(stream) != 0 && failed == 0)
        failed = errno;
    return failed;
}

/* ---- may it be replaced? ------------------------------------------------- */

/* marker   text of the marker, NULL where there is none.
 * foreign  the first name that the marker does not list. */
struct inspection {
    const struct kw_folder_kind *kind;
    const char *marker;
    char foreign[256];
};

/* The marker lists each file on a line of its own: "  index.html". */
static bool is_listed(const char *marker, const char *name)
{
    const size_t length = strlen(name);
    for (const char *line = marker; line != NULL; line = strchr(line, '\n')) {
        /* The name must fill its line: "a.png" is not listed by "a.png.bak". */
        line += *line == '\n';
        if (strncmp(line, "  ", 2) == 0 &&
            strncmp(line + 2, name, length) == 0 && line[2 + length] == '\n')
            return true;
    }
    return false;
}

/* Stops at the first file that is not ours. */
static bool look_for_foreign(void *context, const char *name)
{
    struct inspection *inspection = context;
    /* A folder of the person's own photos must survive a slip in --report. */
    const bool ours = inspection->marker != NULL &&
                      (strcmp(name, inspection->kind->marker) == 0 ||
                       is_listed(inspection->marker, name));
    if (!ours)
        kw_text_copy(inspection->foreign, sizeof inspection->foreign, name);
    return ours;
}

/* The marker counts only with its first line: a file that merely bears its name
 * is someone else's. */
static enum kw_status read_marker(const char *target,
                                  const struct kw_folder_kind *kind,
                                  struct kw_text *marker,
                                  struct kw_error *error)
{
    char *path = kw_file_within(target, kind->marker, error);
    if (path == NULL)
        return KW_NO_MEMORY;
    /* A marker that cannot be read or is too long is none: then the folder must
     * be empty, which is the safe side. */
    const enum kw_status status =
        kw_file_read(path, MOST_MARKER_BYTES, marker, error);
    free(path);
    const size_t first_line = strcspn(kind->about, "\n");
    if (status == KW_NO_MEMORY)
        return status;
    if (status != KW_OK || marker->length <= first_line ||
        memcmp(marker->bytes, kind->about, first_line) != 0)
        kw_text_free(marker);
    return KW_OK;
}

/* Names what is in the way, so that the person knows what to move. */
static enum kw_status refuse(const char *target,
                             const struct kw_folder_kind *kind,
                             const char *foreign,
                             struct kw_error *error)
{
    return kw_failf(error, KW_BAD_INPUT, target,
                    "name a new folder, or move that away first",
                    "holds something that is no %s of kartwright: %s",
                    kind->noun, foreign);
}

/* Every name in the folder must be on the list of its marker. A folder without
 * one must be empty. */
static enum kw_status inspect(const char *target,
                              const struct kw_folder_kind *kind,
                              struct kw_error *error)
{
    struct kw_text marker = {0};
    const enum kw_status status = read_marker(target, kind, &marker, error);
    if (status != KW_OK)
        return status;
    struct inspection inspection = {.kind = kind, .marker = marker.bytes};
    const int failed = for_each_name(target, look_for_foreign, &inspection);
    kw_text_free(&marker);
    if (failed != 0)
        return kw_file_unread(error, target, failed);
    /* No file has an empty name, so an empty one means that none was found. */
    if (inspection.foreign[0] != '\0')
        return refuse(target, kind, inspection.foreign, error);
    return KW_OK;
}

/* Where nothing is to be seen a link may stand, on which no folder can be
 * put. */
static enum kw_status check_link(const char *target, struct kw_error *error)
{
    struct stat about;
    if (lstat(target, &about) != 0)
        return KW_OK;
    return kw_fail(error, KW_BAD_INPUT, target, 0,
                   "is a link to something that is not there",
                   "name a new folder, or remove the link");
}

/* exists  what stands there now is a folder. */
static enum kw_status check(const char *target,
                            const struct kw_folder_kind *kind,
                            bool *exists,
                            struct kw_error *error)
{
    struct stat about;
    *exists = stat(target, &about) == 0;
    /* An unset variable in somebody's script, mostly. */
    if (target[0] == '\0')
        return kw_fail(error, KW_BAD_INPUT, NULL, 0,
                       "the folder has an empty name", "name a folder");
    if (!*exists && errno == ENOENT)
        return check_link(target, error);
    if (!*exists)
        return kw_file_failed(error, target, "cannot be looked at", errno);
    if (!S_ISDIR(about.st_mode))
        return kw_fail(error, KW_BAD_INPUT, target, 0,
                       "is a file, expected a folder or nothing",
                       "name a new folder");
    return inspect(target, kind, error);
}

/* For callers who want to know before the work. */
enum kw_status kw_folder_check(const char *target,
                               const struct kw_folder_kind *kind,
                               struct kw_error *error)
{
    bool exists = false;
    return check(target, kind, &exists, error);
}

/* ---- growing ------------------------------------------------------------- */

/* The place with links resolved and without slashes at its end, so that a
 * passing name can be put behind it. */
static char *settle(const char *target, bool exists, struct kw_error *error)
{
    if (exists) {
        char *real = realpath(target, NULL);
        if (real == NULL)
            kw_file_failed(error, target, "cannot be looked at", errno);
        return real;
    }
    char *copy = kw_text_duplicate(target, error);
    if (copy == NULL)
        return NULL;
    /* "report/" and "report" are one place, but "report/.kw-1" would lie within
     * it. */
    for (size_t n = strlen(copy); n > 1 && copy[n - 1] == '/'; n--)
        copy[n - 1] = '\0';
    return copy;
}

/* Makes a folder beside `target` under a name that nothing has yet.
 *
 * returns  its path, or NULL; the caller frees it. */
static char *make_beside(const char *target, struct kw_error *error)
{
    for (unsigned attempt = 0; attempt < ATTEMPTS; attempt++) {
        char *path = kw_file_passing_name(target, attempt, error);
        /* mkdir() does not take what is there already, so the name is ours
         * alone from here on. */
        if (path == NULL || mkdir(path, FOLDER_MODE) == 0)
            return path;
        const int failed = errno;
        free(path);
        if (failed == EEXIST)
            continue;
        kw_file_failed(error, target, "cannot be made", failed);
        return NULL;
    }
    kw_file_failed(error, target, "cannot be made", EEXIST);
    return NULL;
}

/* The error is made in a place of its own first: freeing must not lose it. */
enum kw_status kw_folder_begin(struct kw_folder *folder,
                               const char *target,
                               const struct kw_folder_kind *kind,
                               struct kw_error *error)
{
    *folder = (struct kw_folder){.kind = kind};
    struct kw_error local = {0};
    enum kw_status status = check(target, kind, &folder->replace, &local);
    if (status == KW_OK) {
        local.status = KW_NO_MEMORY;
        folder->target = settle(target, folder->replace, &local);
        if (folder->target != NULL)
            folder->path = make_beside(folder->target, &local);
        status = folder->path != NULL ? KW_OK : local.status;
    }
    if (status == KW_OK)
        return KW_OK;
    kw_folder_end(folder);
    if (error != NULL)
        *error = local;
    return status;
}

/* While it grows: the path changes when it is committed. */
char *kw_folder_path_of(const struct kw_folder *folder,
                        const char *name,
                        struct kw_error *error)
{
    assert(strchr(name, '/') == NULL);
    return kw_file_within(folder->path, name, error);
}

/* An error names the place that the person knows, not the passing one. */
static void name_target(const struct kw_folder *folder,
                        struct kw_error *error,
                        enum kw_status status)
{
    if (error != NULL && status == KW_IO_FAILED)
        kw_text_copy(error->file, sizeof error->file, folder->target);
}

/* No flush: a report can be made again, and forty flushes would take longer
 * than the rest of it. The rename itself is flushed. */
enum kw_status kw_folder_add(struct kw_folder *folder,
                             const char *name,
                             const char *bytes,
                             size_t length,
                             struct kw_error *error)
{
    char *path = kw_folder_path_of(folder, name, error);
    if (path == NULL)
        return KW_NO_MEMORY;
    const enum kw_status status = kw_file_create(path, bytes, length, error);
    free(path);
    name_target(folder, error, status);
    return status;
}

/* ---- removing ------------------------------------------------------------ */

/* At most one name is taken at a time: what readdir() gives after a removal is
 * left open by POSIX. */
static bool take_first(void *context, const char *name)
{
    kw_text_add((struct kw_text *)context, name);
    return false;
}

/* Removes a folder and the files in it. It holds no folders: check() refuses
 * those, and we make none. What cannot be removed is left. */
static void remove_folder(const char *path)
{
    for (bool removed = true; removed;) {
        struct kw_text name = {0};
        removed =
            for_each_name(path, take_first, &name) == 0 && name.length > 0;
        char *file = removed ? kw_file_within(path, name.bytes, NULL) : NULL;
        removed = file != NULL && unlink(file) == 0;
        free(file);
        kw_text_free(&name);
    }
    /* If something is left in it, then because it could not be removed: nothing
     * is lost by leaving it, and the report is in place. */
    (void)rmdir(path);
}

/* ---- into place ---------------------------------------------------------- */

struct name_list {
    char **items;
    size_t n;
    size_t capacity;
    bool failed;
};

/* A copy of each name, for sorting. */
static bool collect(void *context, const char *name)
{
    struct name_list *list = context;
    char *copy = kw_text_duplicate(name, NULL);
    list->failed = copy == NULL ||
                   kw_array_reserve(&list->items, &list->capacity, list->n + 1,
                                    sizeof *list->items, NULL) != KW_OK;
    if (list->failed)
        free(copy);
    else
        list->items[list->n++] = copy;
    return !list->failed;
}

/* By bytes: the same list on every machine. */
static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* about, an empty line, then one line for each file. */
static enum kw_status write_marker(struct kw_folder *folder,
                                   struct kw_error *error)
{
    struct name_list list = {0};
    struct kw_text marker = {0};
    enum kw_status status = KW_OK;
    /* The marker must list all: a file that it leaves out would make the folder
     * somebody else's the next time. */
    const int failed = for_each_name(folder->path, collect, &list);
    if (failed != 0)
        status = kw_file_unread(error, folder->target, failed);
    if (list.n > 0)
        qsort(list.items, list.n, sizeof *list.items, compare_names);
    kw_text_add(&marker, folder->kind->about);
    kw_text_add(&marker, "\n");
    for (size_t i = 0; i < list.n; i++) {
        kw_text_addf(&marker, "  %s\n", list.items[i]);
        free(list.items[i]);
    }
    free(list.items);
    if (status == KW_OK && (list.failed || kw_text_failed(&marker)))
        status = kw_fail_memory(error);
    if (status == KW_OK)
        status = kw_folder_add(folder, folder->kind->marker, marker.bytes,
                               marker.length, error);
    kw_text_free(&marker);
    return status;
}

/* The old folder steps aside first, and back again if it holds what the person
 * put there meanwhile, or if the new one cannot take its place: rename() does
 * not replace a folder that has files in it. */
static enum kw_status swap_in(struct kw_folder *folder,
                              const char *aside,
                              struct kw_error *error)
{
    if (folder->replace && rename(folder->target, aside) != 0)
        return kw_file_failed(error, folder->target, "cannot be moved", errno);
    enum kw_status status = KW_OK;
    if (folder->replace)
        status = inspect(aside, folder->kind, error);
    if (status == KW_OK && rename(folder->path, folder->target) != 0)
        status =
            kw_file_failed(error, folder->target, "cannot be written", errno);
    if (status != KW_OK && folder->replace)
        /* If this fails too, the old report is still whole under its other
         * name, and the error that is passed on is the first one. */
        (void)rename(aside, folder->target);
    if (status == KW_OK && folder->replace)
        remove_folder(aside);
    return status;
}

/* The marker is written last: without it the folder would not be known as ours
 * again. */
enum kw_status kw_folder_commit(struct kw_folder *folder,
                                struct kw_error *error)
{
    enum kw_status status = write_marker(folder, error);
    if (status != KW_OK)
        return status;
    struct kw_text aside = {0};
    kw_text_add(&aside, folder->path);
    kw_text_add(&aside, ".old");
    status = kw_text_failed(&aside) ? kw_fail_memory(error)
                                    : swap_in(folder, aside.bytes, error);
    kw_text_free(&aside);
    if (status != KW_OK)
        return status;
    /* From here on kw_folder_end() has nothing to remove. */
    free(folder->path);
    folder->path = NULL;
    return kw_file_sync_folder_of(folder->target, error);
}

/* Safe to call twice, and after every kind of failure. */
void kw_folder_end(struct kw_folder *folder)
{
    if (folder->path != NULL)
        remove_folder(folder->path);
    free(folder->path);
    free(folder->target);
    *folder = (struct kw_folder){0};
}

/* Holds back the signals that would end the program, so that Ctrl-C leaves no
 * half-made folder: the work stops or ends, cleans up, lets go, and then the
 * signal does what the host program wants of it. */
static bool hold_signals(sigset_t *before)
{
    sigset_t held;
    sigemptyset(&held);
    sigaddset(&held, SIGINT);
    sigaddset(&held, SIGTERM);
    sigaddset(&held, SIGHUP);
    return pthread_sigmask(SIG_BLOCK, &held, before) == 0;
}

/* From here to the end Ctrl-C waits, so that the clean-up always runs. */
enum kw_status kw_folder_write(const char *target,
                               const struct kw_folder_kind *kind,
                               kw_fill_folder *fill,
                               const void *from,
                               struct kw_error *error)
{
    sigset_t before;
    struct kw_folder growing;
    const bool held = hold_signals(&before);
    enum kw_status status = kw_folder_begin(&growing, target, kind, error);
    if (status == KW_OK)
        status = fill(&growing, from, error);
    if (status == KW_OK)
        status = kw_folder_commit(&growing, error);
    kw_folder_end(&growing);
    if (held)
        (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return status;
}
