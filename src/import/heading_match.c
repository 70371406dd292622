/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cutting a folded heading into words, and comparing words with patterns. */
#include "import/heading_match.h"

#include "import/heading_units.h"

#include <string.h>

/* Of a phrase whose words may be written as one: shorter ones would be found in
 * words that mean something else. Common practice, no source. */
enum {
    FEWEST_GLUED = 7,  /* letters */
    LONGEST_GLUED = 32 /* bytes; more than any phrase of the tables */
};

static bool is_letter(char c)
{
    return c >= 'a' && c <= 'z';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* The "min" of 1/min and min-1 is part of a unit and no smallest value. "min"
 * alone is a spoiler: "RPM min" is a summary and no trace. Without this
 * "Drehzahl 1/min" would be spoiled by its unit. */
static bool is_in_unit(const char *folded, const char *first, const char *end)
{
    if (end - first != 3 || memcmp(first, "min", 3) != 0)
        return false;
    return (first > folded && first[-1] == '/') || *end == '^' ||
           (*end == '-' && end[1] == '1');
}

/* Bytes of a bracket at p that holds nothing but a unit of that quantity (NONE
 * for any), 0 for another. */
static size_t unit_bracket(const char *p, enum kw_quantity quantity)
{
    if (*p == '\0' || strchr("([{<", *p) == NULL)
        return 0;
    /* The kind of bracket is not matched: what stands open at the end of a cut
     * heading is read too. */
    const size_t length = strcspn(p + 1, ")]}>");
    return kw_unit_in(p + 1, length, quantity) != NULL ? length + 1 : 0;
}

/* Bytes of a substance's formula that p begins with; 0 for none. */
static size_t formula_at(const char *p)
{
    static const char *const formulas[] = {"h2o", "co2", "o2"};
    for (size_t i = 0; i < sizeof formulas / sizeof formulas[0]; i++) {
        const size_t length = strlen(formulas[i]);
        if (strncmp(p, formulas[i], length) == 0)
            return length;
    }
    return 0;
}

void kw_words_split(const char *heading,
                    enum kw_quantity unit,
                    struct kw_words *words)
{
    kw_fold(heading, words->folded);
    words->n = 0;
    for (const char *p = words->folded;
         *p != '\0' && words->n < KW_MOST_WORDS;) {
        /* Else it would fall apart into h, 2 and o, and say nothing of
         * water. */
        const size_t formula = formula_at(p);
        if (formula > 0) {
            words->at[words->n] = p;
            words->length[words->n++] = formula;
            p += formula;
            continue;
        }
        const size_t skipped = unit_bracket(p, unit);
        p += skipped;
        const char *first = p;
        if (skipped > 0)
            continue;
        if (is_letter(*p)) {
            while (is_letter(*p))
                p++;
        } else if (is_digit(*p)) {
            /* Digits are words, so that "EGT1" and "EGT 1" are the same. */
            while (is_digit(*p))
                p++;
        } else if (*p++ != '#') {
            continue;
        }
        if (is_in_unit(words->folded, first, p))
            continue;
        words->at[words->n] = first;
        words->length[words->n++] = (size_t)(p - first);
    }
}

bool kw_word_is(const char *word,
                size_t word_length,
                const char *pattern,
                size_t length)
{
    const char *star = memchr(pattern, '*', length);
    if (star == NULL)
        return word_length == length && memcmp(word, pattern, length) == 0;
    const size_t head = (size_t)(star - pattern);
    const size_t tail = length - head - 1;
    /* "temp*" has nothing behind its star; "*temperatur" has nothing before it;
     * "*abgas*" has both. */
    const char *end = memchr(star + 1, '*', tail);
    if (word_length < head || memcmp(word, pattern, head) != 0)
        return false;
    word += head;
    word_length -= head;
    if (end == NULL)
        return word_length >= tail &&
               memcmp(word + word_length - tail, star + 1, tail) == 0;
    /* A second star ends the pattern: the part between may stand anywhere. */
    const size_t middle = (size_t)(end - star) - 1;
    for (size_t i = 0; i + middle <= word_length; i++) {
        if (memcmp(word + i, star + 1, middle) == 0)
            return true;
    }
    return false;
}

bool kw_words_have_word(const struct kw_words *words,
                        const char *pattern,
                        size_t length)
{
    for (size_t i = 0; i < words->n; i++) {
        if (kw_word_is(words->at[i], words->length[i], pattern, length))
            return true;
    }
    return false;
}

/* "3: t", "[3] t" and "CH03 t" begin with the number of the channel.
 *
 * returns  the word behind it. */
static size_t first_word(const struct kw_words *words)
{
    const bool numbered = words->n > 1 && is_digit(*words->at[0]);
    const bool channel = words->n > 2 && is_digit(*words->at[1]) &&
                         kw_word_is(words->at[0], words->length[0], "ch", 2);
    return channel ? 2 : numbered ? 1 : 0;
}

/* A letter beside nothing but its number and a unit: "t [s]", "t_ms". "T min"
 * is the lowest temperature. */
static bool is_lone_letter(const struct kw_words *words)
{
    static const char *const seconds[] = {"s", "sec", "ms", "us"};
    const size_t behind = words->n - first_word(words) - 1;
    const size_t last = words->n - 1;
    bool unit = false;
    for (size_t i = 0; behind == 1 && i < sizeof seconds / sizeof seconds[0];
         i++)
        unit = unit || kw_word_is(words->at[last], words->length[last],
                                  seconds[i], strlen(seconds[i]));
    return behind == 0 || unit;
}

/* "T culasse", "Tmp culasse": short for the word, where a phrase has it. */
static bool have_short_temperature(const struct kw_words *words,
                                   const char *pattern,
                                   size_t length)
{
    static const char *const shorts[] = {"t", "tmp"};
    return length == 5 && memcmp(pattern, "temp*", length) == 0 &&
           kw_words_have_any(words, shorts, sizeof shorts / sizeof shorts[0]);
}

/* "exhausttemp", "gpsspeed": small firmware writes the words of a phrase as
 * one, in the order of the table. A star between them would let in other words:
 * "acc* y" is no "accuracy". */
static bool have_glued(const struct kw_words *words, const char *phrase)
{
    char glued[LONGEST_GLUED];
    size_t n = 0;
    size_t letters = 0;
    for (const char *p = phrase; *p != '\0'; p++) {
        if (n == sizeof glued || (*p == '*' && p[1] != '\0'))
            return false;
        if (*p != ' ')
            glued[n++] = *p;
        letters += is_letter(*p);
    }
    return letters >= FEWEST_GLUED && strchr(phrase, ' ') != NULL &&
           kw_words_have_word(words, glued, n);
}

bool kw_words_have(const struct kw_words *words, const char *phrase)
{
    if (words->n == 0 || (phrase[1] == '\0' && !is_lone_letter(words)))
        return false;
    for (const char *p = phrase; *p != '\0'; p += strspn(p, " ")) {
        const size_t length = strcspn(p, " ");
        if (!kw_words_have_word(words, p, length) &&
            !have_short_temperature(words, p, length))
            return have_glued(words, phrase);
        p += length;
    }
    return true;
}

bool kw_words_have_any(const struct kw_words *words,
                       const char *const *list,
                       size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (kw_words_have_word(words, list[i], strlen(list[i])))
            return true;
    }
    return false;
}
