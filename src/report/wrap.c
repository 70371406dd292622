/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text laid out in columns of a terminal.
 *
 * By what the characters take on the screen, not by bytes: an accent takes one
 * column in two bytes, an ideograph two in three. */
#include "wrap.h"

#include <string.h>

/* Both ends are in. */
struct range {
    uint32_t first;
    uint32_t last;
};

/* A short list: looking through it costs less than ordering it. */
static bool is_in(const struct range *ranges, size_t n, uint32_t code_point)
{
    for (size_t i = 0; i < n; i++) {
        if (code_point >= ranges[i].first && code_point <= ranges[i].last)
            return true;
    }
    return false;
}

/* The blocks that matter for names and headings, from memory of the Unicode
 * block list; whatever they miss costs at most one column. */
static size_t width_of(uint32_t code_point)
{
    static const struct range none[] = {
        {0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x064B, 0x065F},
        {0x200B, 0x200D}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}};
    static const struct range two[] = {
        {0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0xA4CF},
        {0xAC00, 0xD7A3},   {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},
        {0xFF00, 0xFF60},   {0xFFE0, 0xFFE6},   {0x1F300, 0x1F64F},
        {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD}};
    if (code_point < 0x300)
        return 1;
    if (is_in(none, sizeof none / sizeof none[0], code_point))
        return 0;
    return is_in(two, sizeof two / sizeof two[0], code_point) ? 2 : 1;
}

/* Bytes that are no UTF-8 count as one column, which is what is shown for each.
 */
static size_t width_of_bytes(const char *bytes, size_t length)
{
    size_t width = 0;
    for (size_t i = 0, used = 1; i < length; i += used)
        width += width_of(kw_utf8_next(bytes + i, length - i, &used));
    return width;
}

/* The same for a whole string. */
size_t kw_display_width(const char *text)
{
    return width_of_bytes(text, strlen(text));
}

/* A command in quotes, with the bracket before it and the stop behind it.
 *
 * returns  its bytes, 0 where there is none. */
static size_t command_length(const char *text)
{
    static const char command[] = "'kartwright ";
    const size_t opening = strspn(text, "(");
    if (strncmp(text + opening, command, strlen(command)) != 0)
        return 0;
    const char *end = strchr(text + opening + 1, '\'');
    return end == NULL ? 0 : (size_t)(end - text) + strcspn(end, " ");
}

/* "136 C," and the like.
 *
 * word     bytes of the first word.
 * returns  bytes of both, 0 where they are no such pair. */
static size_t quantity_length(const char *text, size_t word)
{
    static const char *const units[] = {"C",   "s",    "h",  "%",  "RPM",
                                        "min", "km/h", "kJ", "mm", "days"};
    const char *unit = text + word + 1;
    if (text[word] != ' ' || word == 0 ||
        strspn(text, "(+-0123456789.,:") != word ||
        strchr("0123456789", text[word - 1]) == NULL)
        return 0;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        const size_t length = strlen(units[i]);
        if (strncmp(unit, units[i], length) == 0 &&
            strchr(" ,.;:)", unit[length]) != NULL)
            return word + 1 + strcspn(unit, " ");
    }
    return 0;
}

size_t kw_unparted(const char *text, size_t room)
{
    const size_t word = strcspn(text, " ");
    size_t whole = command_length(text);
    if (whole == 0)
        whole = quantity_length(text, word);
    return whole > 0 && width_of_bytes(text, whole) <= room ? whole : word;
}

/* The longest start of bytes[length] that fits, at least one character. */
static size_t bytes_that_fit(const char *bytes, size_t length, size_t width)
{
    size_t end = 0;
    size_t taken = 0;
    while (end < length) {
        size_t used = 1;
        taken += width_of(kw_utf8_next(bytes + end, length - end, &used));
        if (taken > width && end > 0)
            break;
        end += used;
    }
    return end;
}

/* Where the writing stands.
 *
 * line_start  length of *text when the current line began.
 * empty       nothing but the indent is on the line. */
struct place {
    struct kw_text *text;
    const struct kw_wrap *wrap;
    size_t column;
    size_t lines;
    bool empty;
    bool cut;
};

/* Begins the next line, or, where none is left, marks the text as cut. */
static void end_line(struct place *at)
{
    if (at->wrap->most_lines > 0 && at->lines == at->wrap->most_lines) {
        at->cut = true;
        return;
    }
    kw_text_add(at->text, "\n");
    for (size_t i = 0; i < at->wrap->indent; i++)
        kw_text_add(at->text, " ");
    at->column = at->wrap->indent;
    at->lines++;
    at->empty = true;
}

/* On the last line that may be written, room is kept for " ...". */
static size_t right_edge(const struct place *at)
{
    const bool last = at->lines == at->wrap->most_lines;
    return at->wrap->columns - (last ? strlen(" ...") : 0);
}

/* A word goes to the next line when it does not fit; only one that fits no line
 * is broken. */
static void put_word(struct place *at, const char *word, size_t length)
{
    size_t width = width_of_bytes(word, length);
    if (!at->empty && at->column + 1 + width > right_edge(at))
        end_line(at);
    else if (!at->empty) {
        kw_text_add(at->text, " ");
        at->column++;
    }
    while (!at->cut && length > 0) {
        const size_t room =
            right_edge(at) > at->column ? right_edge(at) - at->column : 1;
        const size_t n = bytes_that_fit(word, length, room);
        kw_text_add_bytes(at->text, word, n);
        at->column += width_of_bytes(word, n);
        at->empty = false;
        word += n;
        length -= n;
        if (length > 0)
            end_line(at);
    }
}

/* Several blanks count as one. */
static void put_words(struct place *at, const char *line)
{
    while (!at->cut && *line != '\0') {
        const size_t blanks = strspn(line, " ");
        const size_t length =
            kw_unparted(line + blanks, at->wrap->columns - at->wrap->indent);
        if (length > 0)
            put_word(at, line + blanks, length);
        line += blanks + length;
    }
}

/* Made visible first, so that what is measured is what is shown. */
size_t kw_wrap_add(struct kw_text *text,
                   const char *from,
                   const struct kw_wrap *wrap)
{
    struct place at = {text, wrap, wrap->first, 1, true, false};
    struct kw_text visible = {0};
    kw_text_add_visible(&visible, from);
    if (kw_text_failed(&visible))
        text->failed = true;
    else if (visible.length > 0)
        put_words(&at, visible.bytes);
    kw_text_add(text, at.cut ? " ...\n" : "\n");
    kw_text_free(&visible);
    return at.lines;
}
