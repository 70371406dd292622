/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a file is that is no table of text, told from its first bytes. */
#ifndef KARTWRIGHT_IMPORT_FILE_KIND_H
#define KARTWRIGHT_IMPORT_FILE_KIND_H

#include <stdbool.h>
#include <stddef.h>

/* what    it is, in the words of the error; NULL for a kind not known.
 * todo    how to get a log out of it.
 * binary  no text at all: what looks like rows in it is chance. */
struct kw_file_kind {
    const char *what;
    const char *todo;
    bool binary;
};

/* Tells the kind of a file from its first bytes, and of a text from the shape
 * of its first lines. */
struct kw_file_kind kw_file_kind_of(const char *bytes, size_t length);

#endif
