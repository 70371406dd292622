/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text: a string that grows, copies that are cut at a character, and what is
 * needed to treat bytes from outside as UTF-8.
 *
 *     struct kw_text text = {0};
 *     kw_text_add(&text, "peak ");
 *     kw_text_add_number(&text, peak_c, 0);
 *     kw_text_addf(&text, " C on lap %zu", lap);
 *     if (kw_text_failed(&text)) ...          one check at the end is enough
 *     kw_text_free(&text);
 */
#ifndef KARTWRIGHT_CORE_TEXT_H
#define KARTWRIGHT_CORE_TEXT_H

#include "kartwright/error.h"

#include <stdbool.h>
#include <stdint.h>

/* bytes   closed with a zero; NULL while nothing was added.
 * failed  an allocation failed: later additions do nothing. */
struct kw_text {
    char *bytes;
    size_t length;
    size_t capacity;
    bool failed;
};

/* Each adds at the end. After a failure they do nothing, so that a run of
 * additions needs one check of kw_text_failed(). */
void kw_text_add(struct kw_text *text, const char *more);
void kw_text_add_bytes(struct kw_text *text, const char *more, size_t length);

/* printf's %s %zu %d %c and the like. Not %f, %e or %g: they follow the host
 * program's locale; use kw_text_add_number(). */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void kw_text_addf(struct kw_text *text, const char *format, ...);

/* A number with that many decimals and a decimal point; NAN gives "-". */
void kw_text_add_number(struct kw_text *text, double value, int decimals);

/* A whole number with its thousands set apart, "12,820"; NAN gives "-". */
void kw_text_add_whole(struct kw_text *text, double value);

/* returns  true when an addition failed for want of memory. */
bool kw_text_failed(const struct kw_text *text);

/* The text as a string of its own, and *text empty again.
 *
 * returns  NULL when an addition failed (error is filled in); the caller frees
 *          it with free(). */
char *kw_text_take(struct kw_text *text, struct kw_error *error);
void kw_text_free(struct kw_text *text);

/* Copies into a buffer of `size` bytes and closes it; cut before a UTF-8
 * character that does not fit. NULL counts as "". */
void kw_text_copy(char *to, size_t size, const char *from);

/* A copy on the heap; NULL counts as "".
 *
 * returns  NULL when memory is short, and fills in error. */
char *kw_text_duplicate(const char *from, struct kw_error *error);

/* Reads one UTF-8 character (RFC 3629: no overlong form, no surrogate).
 *
 * used     bytes it takes, at least 1.
 * returns  the code point; 0xFFFD for a byte that is no UTF-8. */
uint32_t kw_utf8_next(const char *bytes, size_t length, size_t *used);

/* Writes one code point, up to U+10FFFF, as UTF-8 (RFC 3629, section 3).
 *
 * out      room for 4 bytes; no closing zero is written.
 * returns  how many of them are used. */
size_t kw_utf8_put(uint32_t code_point, char *out);

/* true for what a terminal or a page must not receive: C0 and C1 controls,
 * DEL, and the marks that turn the direction of writing. */
bool kw_is_control(uint32_t code_point);

/* Adds `from` as plain visible text: controls and bytes that are no UTF-8 are
 * replaced by U+FFFD. This is the escape for terminals; the other sinks build
 * on it. */
void kw_text_add_visible(struct kw_text *text, const char *from);

/* Of one ASCII character: the small letter, and whether it is a letter at all.
 * <ctype.h> follows the locale of the program, and in some "I" is no capital of
 * "i". */
char kw_lower(char c);
bool kw_is_letter(char c);

/* Compares without regard to ASCII case.
 *
 * returns  true when equal. */
bool kw_text_same(const char *a, const char *b);

/* Whether a word is one of "front sprocket|drive sprocket", without regard to
 * ASCII case; a NULL list has none. */
bool kw_text_is_among(const char *list, const char *word);

#endif
