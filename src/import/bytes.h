/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bytes of a log, whatever they are packed in: a file or standard input,
 * gzip or plain, UTF-16 or a text of one byte a character. */
#ifndef KARTWRIGHT_IMPORT_BYTES_H
#define KARTWRIGHT_IMPORT_BYTES_H

#include "kartwright/error.h"

#include <stdbool.h>
#include <zlib.h>

enum kw_text_form { KW_TEXT_BYTES, KW_TEXT_UTF16_LE, KW_TEXT_UTF16_BE };

/* A log being read.
 *
 * size      bytes of the file as it lies there, packed or not; 0 where not
 *           known.
 * form      UTF-16 comes out as UTF-8; everything else as it is, without a
 *           UTF-8 mark.
 * pending   a high surrogate that waits for its low one, 0 for none. */
struct kw_bytes {
    gzFile file;
    const char *path;
    size_t size;
    enum kw_text_form form;
    bool started;
    unsigned char odd_byte;
    bool has_odd_byte;
    unsigned pending;
};

/* Opens a path, or standard input for "-".
 *
 * returns  KW_OK; KW_IO_FAILED with a message for a person. */
enum kw_status kw_bytes_open(struct kw_bytes *bytes,
                             const char *path,
                             struct kw_error *error);

/* Reads the next stretch.
 *
 * out      size bytes, at least 64.
 * length   0 at the end.
 * returns  KW_OK; KW_IO_FAILED (a broken gzip file, a read error). */
enum kw_status kw_bytes_read(struct kw_bytes *bytes,
                             char *out,
                             size_t size,
                             size_t *length,
                             struct kw_error *error);
void kw_bytes_close(struct kw_bytes *bytes);

#endif
