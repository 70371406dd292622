/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and unpacking a log. zlib reads plain files too, so that gzip is told
 * by its content and not by the name.
 *
 * Spreadsheets save UTF-16 and put a mark in front, loggers write old
 * single-byte letters: all of it leaves here as bytes of one kind, line by line
 * as it was. */
#include "import/bytes.h"

#include "core/file.h"
#include "core/text.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    BLOCK_SIZE = 1 << 17,
    /* UTF-16 grows by at most a half on its way to UTF-8 (3 bytes for 2). */
    RAW_SIZE = 1 << 15,
    LOOK_SIZE = 512
};

/* The descriptor is our own, so that closing the log leaves standard input
 * open for the program. */
enum kw_status kw_bytes_open(struct kw_bytes *bytes,
                             const char *path,
                             struct kw_error *error)
{
    *bytes = (struct kw_bytes){.path = path};
    const bool standard_input = strcmp(path, "-") == 0;
    const int descriptor =
        standard_input ? dup(STDIN_FILENO) : open(path, O_RDONLY | O_CLOEXEC);
    struct stat about;
    /* A path that cannot be opened is named as it was typed: the likeliest
     * cause is a slip in it, or a card that is not mounted. */
    if (descriptor < 0)
        return kw_file_unread(error, path, errno);
    /* open() takes a folder, and the first read would then fail with a message
     * that tells a racer nothing. So it is asked here. */
    const bool is_known = fstat(descriptor, &about) == 0;
    if (is_known && S_ISDIR(about.st_mode)) {
        close(descriptor);
        return kw_fail(error, KW_BAD_INPUT, path, 0, "is a folder",
                       "give the path of a CSV log in it");
    }
    if (is_known && S_ISREG(about.st_mode))
        bytes->size = (size_t)about.st_size;
    /* From here on the descriptor belongs to zlib, which closes it. Only on
     * failure is it still ours. */
    bytes->file = gzdopen(descriptor, "rb");
    if (bytes->file == NULL) {
        close(descriptor);
        return kw_fail_memory(error);
    }
    gzbuffer(bytes->file, BLOCK_SIZE);
    return KW_OK;
}

void kw_bytes_close(struct kw_bytes *bytes)
{
    if (bytes->file != NULL)
        /* Nothing was written, so there is nothing that closing could lose. */
        gzclose(bytes->file);
    bytes->file = NULL;
}

/* ---- which form ---------------------------------------------------------- */

/* Text without a mark whose every second byte is nearly always zero is UTF-16.
 */
static enum kw_text_form form_by_zeros(const unsigned char *raw, size_t length)
{
    size_t zeros[2] = {0, 0};
    const size_t n = length < LOOK_SIZE ? length : LOOK_SIZE;
    for (size_t i = 0; i < n; i++)
        zeros[i % 2] += raw[i] == 0;
    if (n < 4)
        return KW_TEXT_BYTES;
    /* Western text in UTF-16 has a zero beside each letter: about half of all
     * bytes, and all in the same place of the pair. A third allows for accents
     * and signs beyond Latin-1, a twentieth for zeros that a broken logger
     * scatters (common practice, no source). */
    if (zeros[1] > n / 3 && zeros[0] <= n / 20)
        return KW_TEXT_UTF16_LE;
    if (zeros[0] > n / 3 && zeros[1] <= n / 20)
        return KW_TEXT_UTF16_BE;
    return KW_TEXT_BYTES;
}

/* Tells the form from the first bytes; gives how many of them are its mark. */
static size_t find_form(struct kw_bytes *bytes,
                        const unsigned char *raw,
                        size_t length)
{
    /* The mark is U+FEFF in the coding of the file. A spreadsheet writes it
     * before the first heading, which would not be found with it. */
    if (length >= 3 && memcmp(raw, "\xEF\xBB\xBF", 3) == 0)
        return 3;
    if (length >= 2 && memcmp(raw, "\xFF\xFE", 2) == 0) {
        bytes->form = KW_TEXT_UTF16_LE;
        return 2;
    }
    if (length >= 2 && memcmp(raw, "\xFE\xFF", 2) == 0) {
        bytes->form = KW_TEXT_UTF16_BE;
        return 2;
    }
    bytes->form = form_by_zeros(raw, length);
    return 0;
}

/* ---- UTF-16 to UTF-8 ----------------------------------------------------- */

/* One 16-bit unit; surrogates meet through `pending`. A lone second half
 * becomes U+FFFD, a lone first half goes: one unit must not become more bytes
 * than the room that is set aside for it. */
static size_t put_unit(struct kw_bytes *bytes, unsigned unit, char *out)
{
    const bool high = unit >= 0xD800 && unit <= 0xDBFF;
    const bool low = unit >= 0xDC00 && unit <= 0xDFFF;
    if (high) {
        bytes->pending = unit;
        return 0;
    }
    const unsigned first = bytes->pending;
    bytes->pending = 0;
    if (low && first != 0)
        /* A pair carries 20 bits, ten in each half, counted from U+10000 (RFC
         * 2781, section 2.2). */
        return kw_utf8_put(
            0x10000U + ((first & 0x3FFU) << 10) + (unit & 0x3FFU), out);
    return kw_utf8_put(low ? 0xFFFD : unit, out);
}

/* A stretch of UTF-16. Its last byte may be the first half of a unit, which
 * then waits for the next stretch. */
static size_t convert(struct kw_bytes *bytes,
                      const unsigned char *raw,
                      size_t length,
                      char *out)
{
    size_t n = 0;
    size_t i = 0;
    if (bytes->has_odd_byte && length > 0) {
        const unsigned a = bytes->odd_byte;
        const unsigned b = raw[i++];
        bytes->has_odd_byte = false;
        n += put_unit(bytes,
                      bytes->form == KW_TEXT_UTF16_LE ? a | b << 8 : a << 8 | b,
                      out + n);
    }
    for (; i + 1 < length; i += 2) {
        const unsigned a = raw[i];
        const unsigned b = raw[i + 1];
        n += put_unit(bytes,
                      bytes->form == KW_TEXT_UTF16_LE ? a | b << 8 : a << 8 | b,
                      out + n);
    }
    if (i < length) {
        bytes->odd_byte = raw[i];
        bytes->has_odd_byte = true;
    }
    return n;
}

/* ---- reading ------------------------------------------------------------- */

/* What zlib says is wrong: the file system, the gzip data, or memory. */
static enum kw_status read_failed(struct kw_bytes *bytes,
                                  struct kw_error *error)
{
    int number = 0;
    const char *what = gzerror(bytes->file, &number);
    /* It puts a name of its own in front, "<fd:3>: ". */
    const char *name_end = what[0] == '<' ? strstr(what, ">: ") : NULL;
    /* zlib keeps the last error of the file: Z_ERRNO means that the reason
     * stands in errno, as for a card pulled out while it was read. */
    if (number == Z_MEM_ERROR)
        return kw_fail_memory(error);
    return kw_fail(error, KW_IO_FAILED, bytes->path, 0,
                   number == Z_ERRNO  ? strerror(errno)
                   : name_end != NULL ? name_end + strlen(">: ")
                                      : what,
                   "copy the log from the logger again");
}

/* The first stretch, which tells the form, and all of UTF-16.
 *
 * got      bytes of the file, 0 at its end, negative on failure.
 * returns  bytes of UTF-8 in out. */
static size_t read_and_convert(struct kw_bytes *bytes,
                               char *out,
                               size_t size,
                               int *got)
{
    unsigned char raw[RAW_SIZE];
    /* Half the room, for two bytes may become three and a character may wait
     * from the stretch before. */
    const size_t want = size / 2 < RAW_SIZE ? size / 2 : RAW_SIZE;
    *got = gzread(bytes->file, raw, (unsigned)want);
    if (*got <= 0)
        return 0;
    /* Only the very first bytes can be a mark. U+FEFF later is a character of
     * the text and stays. */
    const size_t mark =
        bytes->started ? 0 : find_form(bytes, raw, (size_t)*got);
    const size_t n = (size_t)*got - mark;
    bytes->started = true;
    if (bytes->form != KW_TEXT_BYTES)
        return convert(bytes, raw + mark, n, out);
    memcpy(out, raw + mark, n);
    return n;
}

/* A stretch may become nothing (a mark alone, half a unit): then the next one
 * is read, for a length of 0 means the end. */
enum kw_status kw_bytes_read(struct kw_bytes *bytes,
                             char *out,
                             size_t size,
                             size_t *length,
                             struct kw_error *error)
{
    int got = 0;
    *length = 0;
    do {
        /* The usual case by far, without a copy in between. The first stretch
         * cannot go this way: it tells the form. */
        if (bytes->started && bytes->form == KW_TEXT_BYTES) {
            const size_t most = size < BLOCK_SIZE ? size : BLOCK_SIZE;
            got = gzread(bytes->file, out, (unsigned)most);
            *length = got > 0 ? (size_t)got : 0;
        } else {
            *length = read_and_convert(bytes, out, size, &got);
        }
    } while (got > 0 && *length == 0);
    if (got < 0)
        return read_failed(bytes, error);
    /* gzip that ends early gives what it has and then says so. */
    int number = Z_OK;
    gzerror(bytes->file, &number);
    if (*length == 0 && number == Z_BUF_ERROR)
        return kw_fail(error, KW_IO_FAILED, bytes->path, 0,
                       "the gzip file ends too early",
                       "copy the log from the logger again");
    return KW_OK;
}
