/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are whole or not there: write beside, flush, rename.
 *
 * The passing name lies in the same folder as the file: rename() is one step
 * only within a file system. fsync() comes before it, or a power cut could
 * leave the new name with no bytes behind it. */
#define _XOPEN_SOURCE 700 /* POSIX 2008 gives realpath() with XSI only */
#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* 100 leftovers of crashed runs with our own process id would be needed to use
 * them up. The modes are cut by the person's umask, as usual. */
enum { ATTEMPTS = 100, READ_CHUNK = 65536, ANY_MODE = 0777, NEW_MODE = 0666 };

/* What a person can do about a place that cannot be written; the reason itself
 * stands before it. */
static const char *todo_for(int errno_value)
{
    switch (errno_value) {
    case ENOSPC:
    case EDQUOT:
        return "make room on the disk or name another place";
    case EFBIG:
        return "raise the limit on the size of files (ulimit -f)";
    case EACCES:
    case EPERM:
    case EROFS:
        return "name a place that you may write to";
    case ENOENT:
    case ENOTDIR:
        return "check the path: the folder that it lies in must exist";
    default:
        return "check the disk and the path";
    }
}

/* The same for what is to be read: there a name is wrong, not a place. */
static const char *todo_to_read(int errno_value)
{
    switch (errno_value) {
    case EACCES:
    case EPERM:
        return "change its rights, or copy it to where you may read it";
    case ENOENT:
    case ENOTDIR:
    case ELOOP:
        return "check its name";
    case EISDIR:
        return "name a file in it";
    case EFBIG:
        return "name a smaller file";
    default:
        return "check the disk and the path";
    }
}

/* The system's own words for the reason, with a small letter: they come after a
 * colon. */
static enum kw_status fail(struct kw_error *error,
                           const char *path,
                           const char *what,
                           int errno_value,
                           const char *todo)
{
    char reason[160];
    if (strerror_r(errno_value, reason, sizeof reason) != 0)
        kw_text_copy(reason, sizeof reason, "unknown error");
    /* "I/O error" keeps its capital. */
    if (reason[0] >= 'A' && reason[0] <= 'Z' && reason[1] != '/')
        reason[0] = (char)(reason[0] - 'A' + 'a');
    struct kw_text line = {0};
    kw_text_addf(&line, "%s: %s", what, reason);
    kw_fail(error, KW_IO_FAILED, path, 0,
            kw_text_failed(&line) ? what : line.bytes, todo);
    kw_text_free(&line);
    return KW_IO_FAILED;
}

enum kw_status kw_file_failed(struct kw_error *error,
                              const char *path,
                              const char *what,
                              int errno_value)
{
    return fail(error, path, what, errno_value, todo_for(errno_value));
}

enum kw_status kw_file_unread(struct kw_error *error,
                              const char *path,
                              int errno_value)
{
    return fail(error, path, "cannot be read", errno_value,
                todo_to_read(errno_value));
}

char *kw_file_within(const char *folder,
                     const char *name,
                     struct kw_error *error)
{
    struct kw_text path = {0};
    kw_text_add(&path, folder);
    kw_text_add(&path, "/");
    kw_text_add(&path, name);
    return kw_text_take(&path, error);
}

/* The process id keeps two programs apart, the number two attempts of one. */
char *kw_file_passing_name(const char *path,
                           unsigned attempt,
                           struct kw_error *error)
{
    struct kw_text name = {0};
    kw_text_add(&name, path);
    kw_text_addf(&name, ".kw-%ld-%u", (long)getpid(), attempt);
    return kw_text_take(&name, error);
}

/* write() may take less than it was given, or be interrupted. */
static bool write_all(int descriptor, const char *bytes, size_t length)
{
    for (size_t done = 0; done < length;) {
        const ssize_t n = write(descriptor, bytes + done, length - done);
        /* No count of attempts: a write that was interrupted has done nothing
         * and is simply asked for again. */
        if (n < 0 && errno != EINTR)
            return false;
        if (n > 0)
            done += (size_t)n;
    }
    return true;
}

/* Writes, flushes where asked, and closes in any case.
 *
 * returns  0 or the errno of what failed first. */
static int fill_and_close(int descriptor,
                          const char *bytes,
                          size_t length,
                          bool flush)
{
    int failed = write_all(descriptor, bytes, length) ? 0 : errno;
    /* A pipe or a device has nothing to flush, and says EINVAL. */
    if (failed == 0 && flush && fsync(descriptor) != 0 && errno != EINVAL)
        failed = errno;
    /* Network file systems report a full disk here and not before. */
    if (close(descriptor) != 0 && failed == 0)
        failed = errno;
    return failed;
}

/* O_EXCL: what is there already is never written over, nor a link followed. */
enum kw_status kw_file_create(const char *path,
                              const char *bytes,
                              size_t length,
                              struct kw_error *error)
{
    const int descriptor =
        open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, NEW_MODE);
    if (descriptor < 0)
        return kw_file_failed(error, path, "cannot be written", errno);
    const int failed = fill_and_close(descriptor, bytes, length, false);
    if (failed == 0)
        return KW_OK;
    /* Half a file would look like a whole one. */
    unlink(path);
    return kw_file_failed(error, path, "cannot be written", failed);
}

/* Opens a file beside path under a name that nothing has yet.
 *
 * name     the caller frees it.
 * returns  -1 with errno set, or with *name NULL when memory is short. */
static int open_beside(const char *path, char **name, struct kw_error *error)
{
    for (unsigned attempt = 0; attempt < ATTEMPTS; attempt++) {
        *name = kw_file_passing_name(path, attempt, error);
        if (*name == NULL)
            return -1;
        const int descriptor =
            open(*name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, NEW_MODE);
        /* The name is taken by a run that was killed, or by another one at
         * work: neither is ours to remove. */
        if (descriptor >= 0 || errno != EEXIST || attempt + 1 == ATTEMPTS)
            return descriptor;
        free(*name);
    }
    return -1;
}

/* old_mode  of the file that is replaced, or 0 where there is none. */
static enum kw_status write_beside(const char *path,
                                   const char *bytes,
                                   size_t length,
                                   mode_t old_mode,
                                   struct kw_error *error)
{
    char *name = NULL;
    const int descriptor = open_beside(path, &name, error);
    if (name == NULL)
        return KW_NO_MEMORY;
    int failed = descriptor < 0 ? errno : 0;
    if (failed == 0) {
        /* Who may read the old file may read the new one, and nobody else. */
        if (old_mode != 0 && fchmod(descriptor, old_mode & ANY_MODE) != 0)
            failed = errno;
        const int filled = fill_and_close(descriptor, bytes, length, true);
        failed = failed == 0 ? filled : failed;
        /* This one step puts all of it in place; before it the old file is
         * whole, after it the new one. */
        if (failed == 0 && rename(name, path) != 0)
            failed = errno;
        if (failed != 0)
            unlink(name);
    }
    free(name);
    if (failed != 0)
        return kw_file_failed(error, path, "cannot be written", failed);
    return kw_file_sync_folder_of(path, error);
}

/* For devices and pipes, which cannot be replaced and need not be whole. */
static enum kw_status write_in_place(const char *path,
                                     const char *bytes,
                                     size_t length,
                                     struct kw_error *error)
{
    const int descriptor = open(path, O_WRONLY | O_CLOEXEC);
    const int failed = descriptor < 0
                           ? errno
                           : fill_and_close(descriptor, bytes, length, true);
    if (failed == 0)
        return KW_OK;
    return kw_file_failed(error, path, "cannot be written", failed);
}

/* Three kinds of place: nothing there yet, a file, a device. */
enum kw_status kw_file_write(const char *path,
                             const char *bytes,
                             size_t length,
                             struct kw_error *error)
{
    struct stat about;
    if (stat(path, &about) != 0)
        return write_beside(path, bytes, length, 0, error);
    if (S_ISDIR(about.st_mode))
        return kw_file_failed(error, path, "cannot be written", EISDIR);
    if (!S_ISREG(about.st_mode))
        return write_in_place(path, bytes, length, error);
    /* Through a link the file itself is replaced, not the link. */
    char *real = realpath(path, NULL);
    if (real == NULL)
        return kw_file_failed(error, path, "cannot be written", errno);
    const enum kw_status status =
        write_beside(real, bytes, length, about.st_mode, error);
    free(real);
    return status;
}

/* The folder that holds path.
 *
 * returns  NULL when memory is short; the caller frees it with free(). */
static char *folder_of(const char *path, struct kw_error *error)
{
    const char *slash = strrchr(path, '/');
    struct kw_text folder = {0};
    if (slash == NULL)
        kw_text_add(&folder, ".");
    else
        /* Of "/file" the folder is "/" and not "". */
        kw_text_add_bytes(&folder, path,
                          slash == path ? 1 : (size_t)(slash - path));
    return kw_text_take(&folder, error);
}

/* A new file is made in its folder, and so is the one that replaces an old one:
 * it is the folder's rights that count. Only a device is written as it is. */
enum kw_status kw_file_check_place(const char *path, struct kw_error *error)
{
    struct stat about;
    const bool exists = stat(path, &about) == 0;
    if (exists && S_ISDIR(about.st_mode))
        return kw_file_failed(error, path, "cannot be written", EISDIR);
    char *folder = exists && !S_ISREG(about.st_mode)
                       ? kw_text_duplicate(path, error)
                       : folder_of(path, error);
    if (folder == NULL)
        return KW_NO_MEMORY;
    const int failed = access(folder, W_OK) == 0 ? 0 : errno;
    free(folder);
    return failed == 0
               ? KW_OK
               : kw_file_failed(error, path, "cannot be written", failed);
}

/* Until the end, whatever the size was said to be: it may be a pipe. */
static enum kw_status read_all(int descriptor,
                               size_t most_bytes,
                               struct kw_text *out,
                               int *failed)
{
    char chunk[READ_CHUNK];
    const size_t before = out->length;
    for (;;) {
        const ssize_t n = read(descriptor, chunk, sizeof chunk);
        if (n == 0)
            return kw_text_failed(out) ? KW_NO_MEMORY : KW_OK;
        if (n < 0 && errno == EINTR)
            continue;
        /* Without a limit a device such as /dev/zero would fill the memory. */
        if (n < 0 || (size_t)n > most_bytes - (out->length - before)) {
            *failed = n < 0 ? errno : EFBIG;
            return KW_IO_FAILED;
        }
        kw_text_add_bytes(out, chunk, (size_t)n);
        if (kw_text_failed(out))
            return KW_NO_MEMORY;
    }
}

/* The descriptor is closed in any case. */
enum kw_status kw_file_read(const char *path,
                            size_t most_bytes,
                            struct kw_text *out,
                            struct kw_error *error)
{
    const int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (descriptor < 0)
        return kw_file_unread(error, path, errno);
    int failed = 0;
    const enum kw_status status =
        read_all(descriptor, most_bytes, out, &failed);
    if (close(descriptor) != 0 && status == KW_OK)
        return kw_file_unread(error, path, errno);
    if (status == KW_NO_MEMORY)
        return kw_fail_memory(error);
    if (status != KW_OK)
        return kw_file_unread(error, path, failed);
    return KW_OK;
}

/* A rename is safe only when the folder that holds the name is on the disk too.
 */
enum kw_status kw_file_sync_folder_of(const char *path, struct kw_error *error)
{
    char *folder = folder_of(path, error);
    if (folder == NULL)
        return KW_NO_MEMORY;
    const int descriptor = open(folder, O_RDONLY | O_CLOEXEC);
    free(folder);
    /* Some file systems cannot flush a folder; the file itself is safe. */
    if (descriptor >= 0) {
        (void)fsync(descriptor);
        (void)close(descriptor);
    }
    return KW_OK;
}
