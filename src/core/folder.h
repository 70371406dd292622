/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders that are whole or not there, and that never cost a user a file.
 *
 *     struct kw_folder folder;
 *     if (kw_folder_begin(&folder, "sunday", &kind, &error) == KW_OK &&
 *         kw_folder_add(&folder, "index.html", text.bytes, n, &error) == KW_OK)
 *         kw_folder_commit(&folder, &error);
 *     kw_folder_end(&folder);
 *
 * The folder grows under a passing name beside its place. Committing writes a
 * list of its files into it (the marker) and renames it. A folder that is there
 * already gives way only if it is empty or if its marker names every file in
 * it.
 */
#ifndef KARTWRIGHT_CORE_FOLDER_H
#define KARTWRIGHT_CORE_FOLDER_H

#include "kartwright/error.h"

#include <stdbool.h>

/* noun    what the folder is called to a person: "report".
 * marker  name of the file that says whose folder it is.
 * about   what the marker tells a person, in lines of text. Its first line is
 *         what the folder is known by again. */
struct kw_folder_kind {
    const char *noun;
    const char *marker;
    const char *about;
};

/* target   where it will stand, links resolved.
 * path     where it grows now; NULL once it was committed.
 * replace  something of ours, or an empty folder, stands there now. */
struct kw_folder {
    const struct kw_folder_kind *kind;
    char *target;
    char *path;
    bool replace;
};

/* Tells whether a folder may be put there.
 *
 * returns  KW_OK; KW_BAD_INPUT (a file, or a folder with something else in
 *          it); KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_folder_check(const char *target,
                               const struct kw_folder_kind *kind,
                               struct kw_error *error);

/* Makes the growing folder.
 *
 * kind     must outlive the folder.
 * returns  as kw_folder_check(). */
enum kw_status kw_folder_begin(struct kw_folder *folder,
                               const char *target,
                               const struct kw_folder_kind *kind,
                               struct kw_error *error);

/* Adds one file; name without a slash.
 *
 * returns  KW_OK; KW_IO_FAILED (the file is there already, the disk is full);
 *          KW_NO_MEMORY. */
enum kw_status kw_folder_add(struct kw_folder *folder,
                             const char *name,
                             const char *bytes,
                             size_t length,
                             struct kw_error *error);

/* The path of a file in the growing folder.
 *
 * returns  NULL when memory is short; the caller frees it with free(). */
char *kw_folder_path_of(const struct kw_folder *folder,
                        const char *name,
                        struct kw_error *error);

/* Puts the folder in its place and takes away the one that stood there.
 *
 * returns  KW_OK; KW_IO_FAILED, and what stood there stands there still;
 *          KW_NO_MEMORY. */
enum kw_status kw_folder_commit(struct kw_folder *folder,
                                struct kw_error *error);

/* Frees; removes the growing folder if it was not committed. */
void kw_folder_end(struct kw_folder *folder);

/* Fills a growing folder from what its maker needs. */
typedef enum kw_status kw_fill_folder(struct kw_folder *folder,
                                      const void *from,
                                      struct kw_error *error);

/* All of it: begun, filled, put in place. Ctrl-C waits until what was half made
 * is cleaned up.
 *
 * returns  what `fill` returns; as kw_folder_begin() and kw_folder_commit(). */
enum kw_status kw_folder_write(const char *target,
                               const struct kw_folder_kind *kind,
                               kw_fill_folder *fill,
                               const void *from,
                               struct kw_error *error);

#endif
