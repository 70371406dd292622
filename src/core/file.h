/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are whole or not there.
 *
 * A file is written under a passing name beside its place, flushed to the disk
 * and renamed: who looks at any moment, even after a power cut, sees the old
 * file or the new one.
 */
#ifndef KARTWRIGHT_CORE_FILE_H
#define KARTWRIGHT_CORE_FILE_H

#include "text.h"

/* Puts a file in place, or leaves everything as it was.
 *
 * path     an existing file keeps its mode, and a symbolic link stays a link.
 *          A device or a pipe (/dev/null, /dev/full) is written in place.
 * returns  KW_OK; KW_IO_FAILED (and the old file is as it was); KW_NO_MEMORY.
 */
enum kw_status kw_file_write(const char *path,
                             const char *bytes,
                             size_t length,
                             struct kw_error *error);

/* Tells before the work whether kw_file_write() would find a place there. What
 * changes meanwhile, and a disk that is full, it cannot know.
 *
 * returns  KW_OK; KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_file_check_place(const char *path, struct kw_error *error);

/* Writes a new file where none may be yet; no passing name, no flush. For
 * files in a folder that is itself renamed when it is whole.
 *
 * returns  KW_OK; KW_IO_FAILED, and no file is left. */
enum kw_status kw_file_create(const char *path,
                              const char *bytes,
                              size_t length,
                              struct kw_error *error);

/* Reads a whole file to the end of *out.
 *
 * most_bytes  a longer file is refused.
 * returns     KW_OK; KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_file_read(const char *path,
                            size_t most_bytes,
                            struct kw_text *out,
                            struct kw_error *error);

/* Flushes the names in the folder that holds path (a rename, a new file).
 *
 * returns  KW_OK also where the file system cannot do so; KW_NO_MEMORY. */
enum kw_status kw_file_sync_folder_of(const char *path, struct kw_error *error);

/* An error about a place to write to: what could not be done, why by errno,
 * what to do.
 *
 * returns  KW_IO_FAILED, always. */
enum kw_status kw_file_failed(struct kw_error *error,
                              const char *path,
                              const char *what,
                              int errno_value);

/* The same about a file or a folder that cannot be read. */
enum kw_status kw_file_unread(struct kw_error *error,
                              const char *path,
                              int errno_value);

/* "folder/name".
 *
 * returns  NULL when memory is short; the caller frees it with free(). */
char *kw_file_within(const char *folder,
                     const char *name,
                     struct kw_error *error);

/* A name beside path that nothing has yet, "path.kw-PID-N"; N runs from 0 to
 * 99 over calls with that attempt number.
 *
 * returns  NULL when memory is short; the caller frees it with free(). */
char *kw_file_passing_name(const char *path,
                           unsigned attempt,
                           struct kw_error *error);

#endif
