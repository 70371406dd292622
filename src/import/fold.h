/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings made comparable: no case, no accents, words apart. */
#ifndef KARTWRIGHT_IMPORT_FOLD_H
#define KARTWRIGHT_IMPORT_FOLD_H

#include <stdbool.h>
#include <stddef.h>

/* Longest heading that is looked at, in folded bytes; the rest is cut. */
enum { KW_FOLDED_SIZE = 160 };

/* Folds a heading: lower case, accents off, degree signs dropped, superscripts
 * as plain digits. What is left besides letters, digits and / % - ^ * ' # and
 * brackets becomes a space, and "engineSpeed" becomes "engine speed", "TKopf"
 * "t kopf". What nobody sees (a soft hyphen, an accent apart from its letter)
 * says nothing, and a Cyrillic letter in a Latin word is the Latin one that
 * looks like it.
 *
 * text  bytes as the file has them; what is no UTF-8 is taken as Latin-1.
 * out   KW_FOLDED_SIZE bytes. */
void kw_fold(const char *text, char *out);

/* Makes valid UTF-8 of a text that may be Latin-1 (then the whole of it).
 *
 * out   size bytes, at least 1. */
void kw_to_utf8(const char *text, size_t length, char *out, size_t size);

/* true for a degree sign and nothing else beside brackets and blanks, of which
 * kw_fold() leaves nothing. */
bool kw_is_degree_sign(const char *text);

#endif
