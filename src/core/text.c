/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows, and bytes from outside read as UTF-8.
 *
 * A failure to grow sticks to the text and is asked once at the end, so that a
 * sentence of ten pieces needs one check. Whatever comes from a file goes
 * through kw_text_add_visible() or an escape of core/escape.h before it is
 * shown. */
#include "text.h"

#include "array.h"
#include "number.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    REPLACEMENT = 0xFFFD,
    FIRST_PRINTABLE = 0x20,
    DELETE = 0x7F,
    LAST_C1_CONTROL = 0x9F
};

/* A failure sticks: callers add a dozen pieces and ask once at the end. */
void kw_text_add_bytes(struct kw_text *text, const char *more, size_t length)
{
    if (text->failed)
        return;
    if (length > SIZE_MAX - text->length - 1 ||
        kw_array_reserve(&text->bytes, &text->capacity,
                         text->length + length + 1, 1, NULL) != KW_OK) {
        text->failed = true;
        return;
    }
    if (length > 0)
        memcpy(text->bytes + text->length, more, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void kw_text_add(struct kw_text *text, const char *more)
{
    kw_text_add_bytes(text, more, strlen(more));
}

/* Never with a text from outside as the format, and never for doubles: %f
 * follows the locale. */
void kw_text_addf(struct kw_text *text, const char *format, ...)
{
    va_list arguments;
    /* Twice over the same arguments: the first time only counts. */
    va_start(arguments, format);
    const int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (text->failed || length < 0 ||
        kw_array_reserve(&text->bytes, &text->capacity,
                         text->length + (size_t)length + 1, 1, NULL) != KW_OK) {
        text->failed = true;
        return;
    }
    va_start(arguments, format);
    vsnprintf(text->bytes + text->length, (size_t)length + 1, format,
              arguments);
    va_end(arguments);
    text->length += (size_t)length;
}

/* By way of core/number.h, for printf() would write a decimal comma in some
 * locales. */
void kw_text_add_number(struct kw_text *text, double value, int decimals)
{
    char buffer[KW_NUMBER_SIZE];
    kw_text_add(text, kw_number_print(buffer, value, decimals));
}

void kw_text_add_whole(struct kw_text *text, double value)
{
    char buffer[KW_NUMBER_SIZE];
    kw_text_add(text, kw_number_print_whole(buffer, value));
}

bool kw_text_failed(const struct kw_text *text)
{
    return text->failed;
}

/* Gives the bytes away, so that a finished text costs no second copy. */
char *kw_text_take(struct kw_text *text, struct kw_error *error)
{
    /* So that a text to which nothing was added is "" and not NULL. */
    kw_text_add_bytes(text, "", 0);
    char *bytes = text->bytes;
    if (text->failed) {
        kw_text_free(text);
        kw_fail_memory(error);
        return NULL;
    }
    *text = (struct kw_text){0};
    return bytes;
}

void kw_text_free(struct kw_text *text)
{
    free(text->bytes);
    *text = (struct kw_text){0};
}

/* For texts of a fixed size that have to exist when memory is short: errors. */
void kw_text_copy(char *to, size_t size, const char *from)
{
    if (size == 0)
        return;
    size_t length = from == NULL ? 0 : strlen(from);
    if (length >= size) {
        length = size - 1;
        /* Bytes 10xxxxxx continue a character: step back to its start. */
        while (length > 0 && ((unsigned char)from[length] & 0xC0) == 0x80)
            length--;
    }
    if (length > 0)
        memcpy(to, from, length);
    to[length] = '\0';
}

char *kw_text_duplicate(const char *from, struct kw_error *error)
{
    const size_t length = from == NULL ? 0 : strlen(from);
    char *copy = kw_array_new(length + 1, 1, error);
    if (copy != NULL && length > 0)
        memcpy(copy, from, length);
    return copy;
}

/* How many bytes a first byte announces, and the bits of the code point that it
 * carries; 0 for a byte that can start no character. */
static size_t sequence_length(unsigned char first, uint32_t *bits)
{
    if (first < 0x80) {
        *bits = first;
        return 1;
    }
    /* 0xC0 and 0xC1 could only begin a character that is written too long. */
    if (first >= 0xC2 && first <= 0xDF) {
        *bits = first & 0x1FU;
        return 2;
    }
    if (first >= 0xE0 && first <= 0xEF) {
        *bits = first & 0x0FU;
        return 3;
    }
    if (first >= 0xF0 && first <= 0xF4) {
        *bits = first & 0x07U;
        return 4;
    }
    return 0;
}

/* One bad byte costs one step, so that what follows it is read right again. */
uint32_t kw_utf8_next(const char *bytes, size_t length, size_t *used)
{
    /* RFC 3629, section 3. A character in more bytes than it needs could slip
     * past a search for quotes or slashes. */
    static const uint32_t smallest[] = {0, 0, 0x80, 0x800, 0x10000};
    uint32_t code_point = 0;
    const size_t n = sequence_length((unsigned char)bytes[0], &code_point);
    *used = 1;
    if (n == 0 || n > length)
        return REPLACEMENT;
    for (size_t i = 1; i < n; i++) {
        const unsigned char next = (unsigned char)bytes[i];
        if ((next & 0xC0) != 0x80)
            return REPLACEMENT;
        code_point = code_point << 6 | (next & 0x3FU);
    }
    if (code_point < smallest[n] || code_point > 0x10FFFF ||
        (code_point >= 0xD800 && code_point <= 0xDFFF))
        return REPLACEMENT;
    *used = n;
    return code_point;
}

/* The table of RFC 3629, section 3: the first byte tells how many follow, which
 * carry six bits each. */
size_t kw_utf8_put(uint32_t c, char *out)
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        out[0] = (char)(0xC0 | c >> 6);
        out[1] = (char)(0x80 | (c & 0x3F));
        return 2;
    }
    if (c < 0x10000) {
        out[0] = (char)(0xE0 | c >> 12);
        out[1] = (char)(0x80 | (c >> 6 & 0x3F));
        out[2] = (char)(0x80 | (c & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | c >> 18);
    out[1] = (char)(0x80 | (c >> 12 & 0x3F));
    out[2] = (char)(0x80 | (c >> 6 & 0x3F));
    out[3] = (char)(0x80 | (c & 0x3F));
    return 4;
}

/* Besides the controls proper, the marks that turn the direction of text: they
 * could show a file name backwards in a terminal. */
bool kw_is_control(uint32_t code_point)
{
    return code_point < FIRST_PRINTABLE ||
           (code_point >= DELETE && code_point <= LAST_C1_CONTROL) ||
           (code_point >= 0x200E && code_point <= 0x200F) ||
           (code_point >= 0x2028 && code_point <= 0x202E) ||
           (code_point >= 0x2066 && code_point <= 0x2069) ||
           code_point == 0xFEFF;
}

/* Bytes up to the first that wants a look: most texts are plain ASCII. */
static size_t plain_length(const char *from)
{
    size_t n = 0;
    while (from[n] >= FIRST_PRINTABLE && from[n] < DELETE)
        n++;
    return n;
}

/* What is plain goes through in one piece; what is not, character by character,
 * and shows as the replacement sign where it could steer a terminal. */
void kw_text_add_visible(struct kw_text *text, const char *from)
{
    const size_t length = strlen(from);
    for (size_t i = 0, used = 1; i < length; i += used) {
        used = plain_length(from + i);
        if (used > 0) {
            kw_text_add_bytes(text, from + i, used);
            continue;
        }
        const uint32_t c = kw_utf8_next(from + i, length - i, &used);
        if (c == REPLACEMENT || kw_is_control(c))
            kw_text_add(text, "\xEF\xBF\xBD");
        else
            kw_text_add_bytes(text, from + i, used);
    }
}

char kw_lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool kw_is_letter(char c)
{
    return kw_lower(c) >= 'a' && kw_lower(c) <= 'z';
}

/* Up to the first difference; both must end there. */
bool kw_text_same(const char *a, const char *b)
{
    while (*a != '\0' && kw_lower(*a) == kw_lower(*b)) {
        a++;
        b++;
    }
    return kw_lower(*a) == kw_lower(*b);
}

/* Compared where they stand: the list is constant text and is not cut up. */
bool kw_text_is_among(const char *list, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = list; at != NULL && *at != '\0';) {
        const size_t length = strcspn(at, "|");
        size_t same = 0;
        while (same < length && same < n &&
               kw_lower(at[same]) == kw_lower(word[same]))
            same++;
        if (same == length && same == n)
            return true;
        at += length + (at[length] == '|');
    }
    return false;
}
