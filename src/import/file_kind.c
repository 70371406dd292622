/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that people give for a log because their name ends so: the spreadsheet
 * that shows it, the page that it was looked at on. The first bytes are those
 * that each format begins with (from memory). */
#include "import/file_kind.h"

#include "core/text.h"
#include "import/line_shape.h"

#include <string.h>

struct kind {
    const char *start;
    struct kw_file_kind is;
};

#define SAVE_AS_CSV "open it and save the sheet as CSV"
#define EXPORT_AS_CSV "export the session from the logger as CSV"

static const struct kind kinds[] = {
    {"PK\003\004",
     {"this is an Excel workbook or another packed file", SAVE_AS_CSV, true}},
    {"\xD0\xCF\x11\xE0", {"this is an old Excel workbook", SAVE_AS_CSV, true}},
    {"%PDF", {"this is a PDF", EXPORT_AS_CSV, true}},
    {"<!DOCTYPE", {"this is a web page", EXPORT_AS_CSV, false}},
    {"<html", {"this is a web page", EXPORT_AS_CSV, false}},
    {"<gpx", {"this is a GPX track", EXPORT_AS_CSV, false}},
    {"<", {"this is XML, a track or a page", EXPORT_AS_CSV, false}},
    {"{", {"this is JSON", EXPORT_AS_CSV, false}},
    {"[{", {"this is JSON", EXPORT_AS_CSV, false}},
};

/* Not binary: a log that lost a block of bytes is still one. */
static const struct kw_file_kind not_text = {"this is not a text file",
                                             EXPORT_AS_CSV, false};

enum {
    LOOK_SIZE = 4096, /* bytes that are looked at */
    CONTROLS_IN = 50  /* one control character in so many bytes is too much */
};

/* Without regard to case, as HTML has it; no other format minds. */
static bool begins_with(const char *bytes, size_t length, const char *start)
{
    char first[16];
    const size_t n = strlen(start);
    if (length < n || n >= sizeof first)
        return false;
    memcpy(first, bytes, n);
    first[n] = '\0';
    return kw_text_same(first, start);
}

/* A text has line ends and tabs, and hardly any other control characters; of
 * pictures and programs one byte in ten is one. Common practice, no source. */
static bool is_no_text(const char *bytes, size_t length)
{
    size_t n = 0;
    if (length > LOOK_SIZE)
        length = LOOK_SIZE;
    for (size_t i = 0; i < length; i++)
        n += (unsigned char)bytes[i] < ' ' &&
             memchr("\t\r\n\f\033", bytes[i], 5) == NULL;
    return n * CONTROLS_IN > length;
}

struct kw_file_kind kw_file_kind_of(const char *bytes, size_t length)
{
    const char *first = bytes;
    const size_t all = length;
    while (length > 0 && strchr(" \t\r\n", *bytes) != NULL && *bytes != '\0') {
        bytes++;
        length--;
    }
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (begins_with(bytes, length, kinds[i].start))
            return kinds[i].is;
    }
    struct kw_file_kind text = {0};
    if (!kw_line_shape(first, all, &text.what, &text.todo) &&
        is_no_text(first, all))
        text = not_text;
    return text;
}
