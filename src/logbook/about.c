/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether words are about the same thing, by a word that both have: people
 * write "fuel filter", and a review says "fuel line, filter and tank vent".
 * Good enough to point at a part that was fitted since, never to close anything
 * by itself. */
#include "logbook/about.h"

#include "core/text.h"

#include <string.h>

/* Words that many parts share tell nothing. */
static bool is_plain_word(const char *word, size_t length)
{
    static const char *const plain[] = {"and", "its",   "the",  "line", "block",
                                        "new", "first", "then", "high", "low",
                                        "for", "speed", "main", "side", "set"};
    if (length < 3)
        return true;
    for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++) {
        if (strlen(plain[i]) == length && strncmp(plain[i], word, length) == 0)
            return true;
    }
    return false;
}

/* Moves to the next word, of letters; "reeds" counts as "reed".
 *
 * returns  its length, 0 at the end. */
static size_t next_word(const char **at)
{
    while (**at != '\0' && !kw_is_letter(**at))
        (*at)++;
    size_t length = 0;
    while (kw_is_letter((*at)[length]))
        length++;
    return length;
}

/* English plurals, as titles have them; "gas" has three letters and stays. */
static size_t without_plural(const char *word, size_t length)
{
    return length > 3 && word[length - 1] == 's' ? length - 1 : length;
}

/* Whole words: "reed" is not about "freed". */
static bool same_word(const char *a, size_t n, const char *b, size_t m)
{
    if (without_plural(a, n) != without_plural(b, m))
        return false;
    for (size_t i = 0; i < without_plural(a, n); i++) {
        if (kw_lower(a[i]) != kw_lower(b[i]))
            return false;
    }
    return true;
}

/* One word in common is enough, if it is no plain one. */
bool kw_is_about(const char *part, const char *title)
{
    size_t n = 0;
    for (const char *a = part; (n = next_word(&a)) > 0; a += n) {
        size_t m = 0;
        if (is_plain_word(a, n))
            continue;
        for (const char *b = title; (m = next_word(&b)) > 0; b += m) {
            if (same_word(a, n, b, m))
                return true;
        }
    }
    return false;
}
