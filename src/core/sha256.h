/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256: a fingerprint of bytes, to know a file again by what is in it.
 *
 *     struct kw_sha256 sum;
 *     kw_sha256_begin(&sum);
 *     kw_sha256_add(&sum, bytes, n);            as often as there are bytes
 *     kw_sha256_end(&sum, digest);
 *
 * source  NIST FIPS 180-4 (from memory; the tests have its published examples).
 */
#ifndef KARTWRIGHT_CORE_SHA256_H
#define KARTWRIGHT_CORE_SHA256_H

#include "kartwright/error.h"

#include <stddef.h>
#include <stdint.h>

/* Bytes of a digest, and its size as text in hex with the closing zero. */
enum { KW_SHA256_BYTES = 32, KW_SHA256_TEXT = 65, KW_SHA256_BLOCK = 64 };

/* state   eight words of the sum so far.
 * block   bytes that do not fill a block yet; length counts all bytes. */
struct kw_sha256 {
    uint32_t state[8];
    unsigned char block[KW_SHA256_BLOCK];
    uint64_t length;
};

void kw_sha256_begin(struct kw_sha256 *sum);
void kw_sha256_add(struct kw_sha256 *sum, const void *bytes, size_t length);
void kw_sha256_end(struct kw_sha256 *sum,
                   unsigned char digest[KW_SHA256_BYTES]);

/* Writes a digest as 64 hex digits; returns text. */
const char *kw_sha256_text(const unsigned char digest[KW_SHA256_BYTES],
                           char text[KW_SHA256_TEXT]);

/* The digest of a whole file, read in pieces.
 *
 * n_bytes  its length, out.
 * returns  KW_OK; KW_IO_FAILED. */
enum kw_status kw_sha256_file(const char *path,
                              unsigned char digest[KW_SHA256_BYTES],
                              uint64_t *n_bytes,
                              struct kw_error *error);

#endif
