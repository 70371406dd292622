/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256, block by block. Cost: O(n), no allocation. */
#include "sha256.h"

#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

enum { ROUNDS = 64, LENGTH_AT = 56, READ_CHUNK = 65536 };

/* First 32 bits of the fractions of the cube roots of the first 64 primes. */
static const uint32_t round_words[ROUNDS] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1,
    0x923f82a4, 0xab1c5ed5, 0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3,
    0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174, 0xe49b69c1, 0xefbe4786,
    0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147,
    0x06ca6351, 0x14292967, 0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13,
    0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85, 0xa2bfe8a1, 0xa81a664b,
    0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a,
    0x5b9cca4f, 0x682e6ff3, 0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208,
    0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

/* ROTR of FIPS 180-4, section 3.2. */
static uint32_t turn_right(uint32_t word, unsigned bits)
{
    return word >> bits | word << (32U - bits);
}

/* The 16 words of a block, most significant byte first, stretched to 64. */
static void stretch(const unsigned char *block, uint32_t words[ROUNDS])
{
    for (size_t i = 0; i < 16; i++) {
        words[i] = (uint32_t)block[4 * i] << 24 |
                   (uint32_t)block[4 * i + 1] << 16 |
                   (uint32_t)block[4 * i + 2] << 8 | block[4 * i + 3];
    }
    for (size_t i = 16; i < ROUNDS; i++) {
        /* The two small sigmas of FIPS 180-4, section 4.1.2. */
        const uint32_t a = words[i - 15];
        const uint32_t b = words[i - 2];
        words[i] = words[i - 16] + words[i - 7] +
                   (turn_right(a, 7) ^ turn_right(a, 18) ^ a >> 3) +
                   (turn_right(b, 17) ^ turn_right(b, 19) ^ b >> 10);
    }
}

/* FIPS 180-4, 6.2.2; s[0..7] are its a to h. */
static void take_block(struct kw_sha256 *sum, const unsigned char *block)
{
    uint32_t words[ROUNDS];
    uint32_t s[8];
    stretch(block, words);
    memcpy(s, sum->state, sizeof s);
    for (size_t i = 0; i < ROUNDS; i++) {
        const uint32_t choose = (s[4] & s[5]) ^ (~s[4] & s[6]);
        const uint32_t most = (s[0] & s[1]) ^ (s[0] & s[2]) ^ (s[1] & s[2]);
        const uint32_t first = s[7] +
                               (turn_right(s[4], 6) ^ turn_right(s[4], 11) ^
                                turn_right(s[4], 25)) +
                               choose + round_words[i] + words[i];
        const uint32_t second = (turn_right(s[0], 2) ^ turn_right(s[0], 13) ^
                                 turn_right(s[0], 22)) +
                                most;
        memmove(s + 1, s, 7 * sizeof s[0]);
        s[4] += first;
        s[0] = first + second;
    }
    for (size_t i = 0; i < 8; i++)
        sum->state[i] += s[i];
}

/* First 32 bits of the fractions of the square roots of the first 8 primes. */
void kw_sha256_begin(struct kw_sha256 *sum)
{
    static const uint32_t start[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372,
                                      0xa54ff53a, 0x510e527f, 0x9b05688c,
                                      0x1f83d9ab, 0x5be0cd19};
    *sum = (struct kw_sha256){0};
    memcpy(sum->state, start, sizeof start);
}

/* In pieces of any length: the sum of the whole is the same. */
void kw_sha256_add(struct kw_sha256 *sum, const void *bytes, size_t length)
{
    const unsigned char *from = bytes;
    while (length > 0) {
        /* What does not fill a block waits in it for the next bytes. */
        const size_t held = (size_t)(sum->length % KW_SHA256_BLOCK);
        const size_t room = KW_SHA256_BLOCK - held;
        const size_t taken = length < room ? length : room;
        memcpy(sum->block + held, from, taken);
        sum->length += taken;
        from += taken;
        length -= taken;
        if (taken == room)
            take_block(sum, sum->block);
    }
}

/* A one bit, zeros, and the length in bits close the last block. */
void kw_sha256_end(struct kw_sha256 *sum, unsigned char digest[KW_SHA256_BYTES])
{
    static const unsigned char padding[KW_SHA256_BLOCK] = {0x80};
    /* Taken before the padding is added, which counts itself into the
     * length. */
    const uint64_t bits = sum->length * 8;
    const size_t held = (size_t)(sum->length % KW_SHA256_BLOCK);
    unsigned char length[8];
    for (size_t i = 0; i < 8; i++)
        length[i] = (unsigned char)(bits >> (56 - 8 * i) & 0xFF);
    /* With no room left for the eight bytes of the length a block more is
     * needed. */
    kw_sha256_add(sum, padding,
                  held < LENGTH_AT ? LENGTH_AT - held
                                   : KW_SHA256_BLOCK + LENGTH_AT - held);
    kw_sha256_add(sum, length, sizeof length);
    for (size_t i = 0; i < KW_SHA256_BYTES; i++)
        digest[i] =
            (unsigned char)(sum->state[i / 4] >> (24 - 8 * (i % 4)) & 0xFF);
}

/* Small letters, as sha256sum prints them. */
const char *kw_sha256_text(const unsigned char digest[KW_SHA256_BYTES],
                           char text[KW_SHA256_TEXT])
{
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < KW_SHA256_BYTES; i++) {
        text[2 * i] = digits[digest[i] >> 4];
        text[2 * i + 1] = digits[digest[i] & 0xF];
    }
    text[KW_SHA256_TEXT - 1] = '\0';
    return text;
}

/* Until the end of the file.
 *
 * returns  0, or the errno of the read that failed. */
static int add_all(int descriptor, struct kw_sha256 *sum)
{
    unsigned char chunk[READ_CHUNK];
    for (;;) {
        const ssize_t n = read(descriptor, chunk, sizeof chunk);
        if (n == 0)
            return 0;
        if (n < 0 && errno != EINTR)
            return errno;
        if (n > 0)
            kw_sha256_add(sum, chunk, (size_t)n);
    }
}

/* In pieces: a log of a gigabyte needs no gigabyte of memory. */
enum kw_status kw_sha256_file(const char *path,
                              unsigned char digest[KW_SHA256_BYTES],
                              uint64_t *n_bytes,
                              struct kw_error *error)
{
    struct kw_sha256 sum;
    const int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (descriptor < 0)
        return kw_file_unread(error, path, errno);
    kw_sha256_begin(&sum);
    int failed = add_all(descriptor, &sum);
    if (close(descriptor) != 0 && failed == 0)
        failed = errno;
    if (failed != 0)
        return kw_file_unread(error, path, failed);
    *n_bytes = sum.length;
    kw_sha256_end(&sum, digest);
    return KW_OK;
}
