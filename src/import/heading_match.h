/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A heading as words, and which of them it has. */
#ifndef KARTWRIGHT_IMPORT_HEADING_MATCH_H
#define KARTWRIGHT_IMPORT_HEADING_MATCH_H

#include "core/units.h"
#include "import/fold.h"

#include <stdbool.h>
#include <stddef.h>

/* Words of a heading that are looked at. Common practice, no source. */
enum { KW_MOST_WORDS = 24 };

/* A heading as words, pointing into `folded`. */
struct kw_words {
    char folded[KW_FOLDED_SIZE];
    const char *at[KW_MOST_WORDS];
    size_t length[KW_MOST_WORDS];
    size_t n;
};

/* Words are runs of letters, of digits, or single signs like '#'; "h2o" stays
 * one. Units between brackets, of that quantity or any, are no words: "(min)"
 * is no smallest value. */
void kw_words_split(const char *heading,
                    enum kw_quantity unit,
                    struct kw_words *words);

/* Compares a word with a pattern of `length` letters and stars: what stands
 * before a star must begin the word, what stands behind it must end it. */
bool kw_word_is(const char *word,
                size_t word_length,
                const char *pattern,
                size_t length);

/* Order does not matter: "Temp. Abgas" and "Abgastemp." mean the same. */
bool kw_words_have_word(const struct kw_words *words,
                        const char *pattern,
                        size_t length);

/* Are all words of the phrase in the heading, or written as one? A letter alone
 * says something only where nothing but a unit stands beside it: "t [s]", not
 * "T1"; but "T" does for the "temp*" of a phrase. */
bool kw_words_have(const struct kw_words *words, const char *phrase);

bool kw_words_have_any(const struct kw_words *words,
                       const char *const *list,
                       size_t n);

#endif
