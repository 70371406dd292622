/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folding of headings: all languages write the same words with and without
 * accents, in capitals, camel case and with underscores.
 *
 * What is left are small ASCII letters, digits, blanks and the signs of units,
 * so that one table serves them all. */
#include "import/fold.h"

#include "core/text.h"

#include <stdbool.h>
#include <string.h>

/* The letters of Latin-1 from U+00C0 on, without their accents, and the signs
 * of times and divided by among them. */
static const char *const latin[64] = {
    "A", "A", "A", "A", "A", "A",  "AE", "C", "E", "E", "E", "E", "I",
    "I", "I", "I", "D", "N", "O",  "O",  "O", "O", "O", "x", "O", "U",
    "U", "U", "U", "Y", "T", "ss", "a",  "a", "a", "a", "a", "a", "ae",
    "c", "e", "e", "e", "e", "i",  "i",  "i", "i", "d", "n", "o", "o",
    "o", "o", "o", "/", "o", "u",  "u",  "u", "u", "y", "t", "y"};

/* Those of Latin Extended-A, from U+0100 to U+017F, in rows of 16: what Polish
 * and Czech need beside Latin-1. */
static const char latin_extended[] = "AaAaAaCcCcCcCcDd"
                                     "DdEeEeEeEeEeGgGg"
                                     "GgGgHhHhIiIiIiIi"
                                     "IiIiJjKkkLlLlLlL"
                                     "lLlNnNnNnnNnOoOo"
                                     "OoOoRrRrRrSsSsSs"
                                     "SsTtTtTtUuUuUuUu"
                                     "UuUuWwYyYZzZzZzs";

/* Characters that nobody sees in a heading: the accents that some systems write
 * behind their letter, soft hyphens, and signs without width. */
static bool is_unseen(uint32_t c)
{
    return (c >= 0x300 && c <= 0x36F) || c == 0xAD ||
           (c >= 0x200B && c <= 0x200F) || c == 0x2060 || c == 0xFEFF;
}

/* The degree, the ordinal sign and the ring that are typed for it. */
static bool is_degree(uint32_t c)
{
    return c == 0xB0 || c == 0xBA || c == 0x2DA;
}

/* What a character beyond ASCII stands for in a heading.
 *
 * letter  room for one letter and its end. */
static const char *plain(uint32_t c, char letter[2])
{
    letter[0] = ' ';
    letter[1] = '\0';
    switch (c) {
    case 0x2103: /* "degree Celsius" in one sign, and Fahrenheit */
        return "C";
    case 0x2109:
        return "F";
    case 0xB2:
        return "2";
    case 0xB5: /* micro, and the Greek letter */
    case 0x3BC:
        return "u";
    case 0xB3: /* as a power of ten */
        return "^3";
    case 0xB9:
        return "1";
    case 0x207B: /* superscript minus */
    case 0x2212: /* minus sign */
    case 0x2013:
        return "-";
    case 0x153: /* "noeuds" in one letter less */
        return "oe";
    case 0x2032:
    case 0x2019:
        return "'";
    default:
        if (is_unseen(c) || is_degree(c))
            return "";
        if (c >= 0xC0 && c <= 0xFF)
            return latin[c - 0xC0];
        /* The languages that the tables of words have need no others. */
        if (c >= 0x100 && c <= 0x17F)
            letter[0] = latin_extended[c - 0x100];
        return letter;
    }
}

static bool is_lower(char c)
{
    return c >= 'a' && c <= 'z';
}

static bool is_upper(char c)
{
    return c >= 'A' && c <= 'Z';
}

static bool is_letter(char c)
{
    return is_lower(c) || is_upper(c);
}

/* Signs that units are made of, and brackets, which set units apart. */
static bool is_kept(char c)
{
    return is_letter(c) || (c >= '0' && c <= '9') ||
           (c != '\0' && strchr("/%-^*'#()[]{}<>", c) != NULL);
}

/* Abbreviations that are glued to a word: "EGTMin", "RPMlimit". */
static bool is_abbreviation(const char *text, size_t length)
{
    static const char *const known[] = {"EGT", "CHT", "ECT", "IAT", "AGT",
                                        "TPS", "RPM", "GPS", "UTC"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (strlen(known[i]) == length && memcmp(known[i], text, length) == 0)
            return true;
    }
    return false;
}

/* Does a word begin at text[i], without a blank before it? */
static bool begins_glued(const char *text, size_t i)
{
    /* "engineRPM" has one back and two words; "RPM" has none. So a capital
     * begins a word behind a small letter. */
    if (i == 0 || is_lower(text[i - 1]))
        return i > 0 && is_upper(text[i]);
    size_t first = i;
    while (first > 0 && is_upper(text[first - 1]))
        first--;
    /* A small letter alone is a plural or a unit: "RPMs". */
    const size_t run = i - first;
    if (is_lower(text[i]))
        return is_lower(text[i + 1]) && is_abbreviation(text + first, run);
    /* "TKopf" and the short word of "ValvolaAFarfalla"; "GForce" is in g, and
     * "LTime" that of a lap. */
    const bool letter = run == 1 && (text[first] == 'T' ||
                                     (first > 0 && is_lower(text[first - 1])));
    /* "EGTMin", and not "EGTemp". */
    return is_upper(text[i]) && is_lower(text[i + 1]) &&
           is_lower(text[i + 2]) &&
           (letter || is_abbreviation(text + first, run)) &&
           !is_abbreviation(text + first, run + 1);
}

/* Small letters, a blank where a word is glued to the one before it. */
static void part_words(const char *plain, char *out)
{
    size_t n = 0;
    for (size_t i = 0; plain[i] != '\0'; i++) {
        const char c = plain[i];
        if (begins_glued(plain, i) && n + 1 < KW_FOLDED_SIZE)
            out[n++] = ' ';
        if (n + 1 < KW_FOLDED_SIZE)
            out[n++] = is_upper(c) ? (char)(c - 'A' + 'a') : c;
    }
    out[n] = '\0';
}

/* Cyrillic capitals and small letters that look like Latin ones.
 *
 * returns  0 for any other character. */
static char look_alike(uint32_t c)
{
    static const struct {
        uint32_t cyrillic;
        char latin;
    } pairs[] = {
        {0x410, 'A'}, {0x412, 'B'}, {0x415, 'E'}, {0x41A, 'K'}, {0x41C, 'M'},
        {0x41D, 'H'}, {0x41E, 'O'}, {0x420, 'P'}, {0x421, 'C'}, {0x422, 'T'},
        {0x425, 'X'}, {0x430, 'a'}, {0x435, 'e'}, {0x43E, 'o'}, {0x440, 'p'},
        {0x441, 'c'}, {0x443, 'y'}, {0x445, 'x'}, {0x456, 'i'},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        if (pairs[i].cyrillic == c)
            return pairs[i].latin;
    }
    return 0;
}

/* Beside a Latin letter only: no word of a Cyrillic language has both, and one
 * of its own is not to fall apart into letters that mean something here. */
static char typed_by_mistake(uint32_t c, char before, char after)
{
    return is_letter(before) || is_letter(after) ? look_alike(c) : 0;
}

/* Works on UTF-8 alone: whatever the file was saved in comes as that first. */
void kw_fold(const char *text, char *out)
{
    char utf8[KW_FOLDED_SIZE];
    char ascii_text[KW_FOLDED_SIZE];
    kw_to_utf8(text, strlen(text), utf8, sizeof utf8);
    const size_t length = strlen(utf8);
    size_t n = 0;
    for (size_t i = 0, used = 1; i < length; i += used) {
        const uint32_t c = kw_utf8_next(utf8 + i, length - i, &used);
        /* One sign may become two letters ("ss") or none (the degree). */
        const char before = i > 0 ? utf8[i - 1] : ' ';
        const char meant =
            c < 0x80 ? (char)c : typed_by_mistake(c, before, utf8[i + used]);
        /* UTF-8 that was read as Latin-1 and written as UTF-8 again shows a
         * degree as two signs. */
        size_t next = 0;
        if (c == 0xC2 && i + used < length &&
            is_degree(kw_utf8_next(utf8 + i + used, length - i - used, &next)))
            continue;
        /* "T°eau", "N°tour": it parts two words, but "°C" is one. */
        if (is_degree(c) && i + used + 1 < length &&
            is_letter(utf8[i + used]) && is_letter(utf8[i + used + 1]) &&
            n + 1 < sizeof ascii_text)
            ascii_text[n++] = ' ';
        const char ascii[2] = {meant, '\0'};
        char letter[2];
        for (const char *p = c < 0x80 || meant != 0 ? ascii : plain(c, letter);
             *p != '\0'; p++) {
            if (n + 1 < sizeof ascii_text)
                ascii_text[n++] = is_kept(*p) ? *p : ' ';
        }
    }
    ascii_text[n] = '\0';
    part_words(ascii_text, out);
}

/* Text of one byte a character is hardly ever valid UTF-8 by chance. */
static bool is_utf8(const char *text, size_t length)
{
    for (size_t i = 0, used = 1; i < length; i += used) {
        /* U+FFFD may stand in the text itself; then it takes three bytes. One
         * byte means that it could not be read. */
        if (kw_utf8_next(text + i, length - i, &used) == 0xFFFD && used == 1)
            return false;
    }
    return true;
}

/* Windows-1252 has letters and signs where Latin-1 has controls; 0 for the five
 * bytes that it leaves free (from memory). */
static unsigned windows_character(unsigned char c)
{
    static const unsigned characters[32] = {
        0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
        0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0,      0x017D, 0,
        0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
        0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};
    const unsigned found = c >= 0x80 && c < 0xA0 ? characters[c - 0x80] : c;
    return found > 0 ? found : 0xFFFD;
}

/* All or nothing: half a text in one coding and half in the other does not
 * happen. */
void kw_to_utf8(const char *text, size_t length, char *out, size_t size)
{
    /* Headings with a degree sign or an accent are where this matters: as the
     * wrong coding "°C" would be no unit. */
    const bool latin1 = !is_utf8(text, length);
    size_t n = 0;
    for (size_t i = 0; i < length && n + 3 < size; i++) {
        const unsigned char c = (unsigned char)text[i];
        if (!latin1 || c < 0x80)
            out[n++] = text[i];
        else
            n += kw_utf8_put(windows_character(c), out + n);
    }
    /* A character cut in half at the end goes whole. */
    while (!latin1 && n > 0 && n + 3 >= size &&
           ((unsigned char)out[n - 1] & 0x80) != 0)
        n--;
    out[n] = '\0';
}

bool kw_is_degree_sign(const char *text)
{
    char utf8[KW_FOLDED_SIZE];
    kw_to_utf8(text, strlen(text), utf8, sizeof utf8);
    const size_t length = strlen(utf8);
    size_t n = 0;
    for (size_t i = 0, used = 1; i < length; i += used) {
        const uint32_t c = kw_utf8_next(utf8 + i, length - i, &used);
        if (is_degree(c))
            n++;
        else if (c >= 0x80 || strchr(" ([{}])", (char)c) == NULL)
            return false;
    }
    return n == 1;
}
