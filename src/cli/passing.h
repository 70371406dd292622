/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders and files that are needed for a moment, where temporary files go. */
#ifndef KARTWRIGHT_CLI_PASSING_H
#define KARTWRIGHT_CLI_PASSING_H

#include "kartwright/error.h"

#include <stddef.h>

/* Makes a folder for the owner alone, with a name that cannot be guessed, below
 * $TMPDIR, else /tmp.
 *
 * returns  its path; NULL with error filled in. The caller removes the folder
 *          and frees the path with free(). */
char *passing_folder(struct kw_error *error);

/* Bytes that a reader wants as a file; the name has no slash, and its ending
 * counts: "sunday.csv.gz". */
struct passing_bytes {
    const char *name;
    const char *bytes;
    size_t n_bytes;
};

/* What is done with a file that passes: reads it into `to`. */
typedef enum kw_status use_passing(const char *path,
                                   void *to,
                                   struct kw_error *error);

/* Writes bytes to a passing file, lets it be read, and removes it at once, also
 * after a failure. For readers that want a file's name.
 *
 * returns  what `use` returns; KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status pass_as_file(const struct passing_bytes *bytes,
                            use_passing *use,
                            void *to,
                            struct kw_error *error);

#endif
