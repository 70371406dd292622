/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparing words that are no known ones with those of the tables. */
#include "import/heading_typos.h"

#include "import/heading_words.h"

#include <string.h>

/* Letters of a known word from which on one letter off is rather a slip than
 * another word: "latitude" and "altitude" are two apart, "ora" and "ore" one.
 * Common practice, no source. */
enum { FEWEST_LETTERS = 7 };

/* One letter apart, neither the first nor the last. */
static bool is_one_off(const char *a, size_t n, const char *b, size_t m)
{
    const size_t shorter = n < m ? n : m;
    const size_t longer = n < m ? m : n;
    size_t front = 0;
    size_t back = 0;
    while (front < shorter && a[front] == b[front])
        front++;
    while (back < shorter - front && a[n - 1 - back] == b[m - 1 - back])
        back++;
    if (front == 0 || back == 0 || longer > shorter + 1)
        return false;
    const size_t off = longer - front - back;
    return off == 1 || (off == 2 && n == m && a[front] == b[front + 1] &&
                        a[front + 1] == b[front]);
}

/* The same for a word of which only the beginning is known: "throttle*". */
static bool begins_one_off(const char *word,
                           size_t length,
                           const char *known,
                           size_t n)
{
    for (size_t part = n - 1; part <= n + 1 && part <= length; part++) {
        if (is_one_off(word, part, known, n))
            return true;
    }
    return false;
}

/* The known word that one of a heading was meant for.
 *
 * length   of the word; then of the known one, up to its star.
 * returns  NULL where there is none, or where it is known itself. */
static const char *meant(const char *word, size_t *length)
{
    const char *found = NULL;
    size_t found_length = 0;
    for (size_t i = 0; i < kw_n_phrases(); i++) {
        for (const char *p = kw_phrase(i)->words; *p != '\0';
             p += strspn(p, " ")) {
            const char *known = p;
            const size_t whole = strcspn(p, " ");
            const size_t n = strcspn(p, " *");
            p += whole;
            /* "rev*" and "long*" know nearly anything. */
            if (n < FEWEST_LETTERS && whole > n)
                continue;
            if (kw_word_is(word, *length, known, whole))
                return NULL;
            if (found != NULL || n < FEWEST_LETTERS || whole > n + 1)
                continue;
            if (whole > n ? begins_one_off(word, *length, known, n)
                          : is_one_off(word, *length, known, n)) {
                found = known;
                found_length = n;
            }
        }
    }
    if (found != NULL)
        *length = found_length;
    return found;
}

bool kw_words_mend(struct kw_words *words)
{
    bool mended = false;
    for (size_t i = 0; i < words->n; i++) {
        const char *known = meant(words->at[i], &words->length[i]);
        if (known == NULL)
            continue;
        words->at[i] = known;
        mended = true;
    }
    return mended;
}
