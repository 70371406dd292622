/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a single field can hold.
 *
 * Loggers and spreadsheets write one number in many ways: with a decimal comma,
 * with thousands set apart, with its unit behind, as degrees and minutes. Read
 * strictly all the same: a field that is half a number is none. */
#include "import/cell.h"

#include "core/number.h"
#include "core/text.h"
#include "import/heading_units.h"

#include <math.h>
#include <string.h>

enum { LONGEST_NUMBER = 64, LONGEST_WORD = 16, DIGITS_IN_A_GROUP = 3 };

/* Loggers pad fields to columns with blanks or tabs, and a loop that prints may
 * end its line as a statement ends: "650.2;". Line ends never come here: the
 * parser has taken them off. */
static void trim(const char **cell, size_t *length)
{
    while (*length > 0 && (**cell == ' ' || **cell == '\t')) {
        (*cell)++;
        (*length)--;
    }
    /* A spreadsheet's sign for "leave it as it is". */
    if (*length > 1 && **cell == '\'') {
        (*cell)++;
        (*length)--;
    }
    while (*length > 0 &&
           ((*cell)[*length - 1] == ' ' || (*cell)[*length - 1] == '\t' ||
            (*cell)[*length - 1] == ';'))
        (*length)--;
}

/* The words for "no reading" that loggers write; the same in any language or
 * case. Nothing else passes: a misread field must be named, not dropped. */
bool kw_is_missing(const char *cell, size_t length)
{
    static const char *const words[] = {
        "nan", "na",   "n/a",  "n.a.", "-",    "--",   "---",  "----", "null",
        "nil", "none", "open", "inf",  "+inf", "-inf", "#n/a", "err",  "error",
        "?",   "*",    "n.v.", "k.a.", "s.d.", "n.d.", "nd",   "offen"};
    /* Longer than the longest word, so that a note is no reading and is
     * named. */
    char copy[8];
    trim(&cell, &length);
    if (length == 0)
        return true;
    if (length >= sizeof copy)
        return false;
    memcpy(copy, cell, length);
    copy[length] = '\0';
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (kw_text_same(copy, words[i]))
            return true;
    }
    return false;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* ---- numbers ------------------------------------------------------------- */

/* Drops a thousands mark where all groups behind it have three digits.
 *
 * out      LONGEST_NUMBER bytes.
 * returns  the length of what is left; 0 where the groups are none. */
static size_t without_groups(const char *cell,
                             size_t length,
                             char point,
                             char mark,
                             char *out)
{
    size_t group = 0;
    size_t n = 0;
    bool grouped = false;
    bool fraction = false;
    for (size_t i = 0; i < length; i++) {
        /* A mark behind the decimal mark would be none of thousands, and one in
         * front of all digits is none either. "1,2,345" is refused: its groups
         * do not fit, and a guess here would be wrong by a thousand. */
        if (cell[i] == mark && !fraction) {
            if (n == 0 || (grouped && group != DIGITS_IN_A_GROUP))
                return 0;
            grouped = true;
            group = 0;
            continue;
        }
        if (cell[i] == point) {
            /* "1.23,4": the group before the decimal mark counts too. */
            if (grouped && group != DIGITS_IN_A_GROUP)
                return 0;
            fraction = true;
        }
        group += is_digit(cell[i]);
        out[n++] = cell[i];
    }
    return grouped && (fraction || group == DIGITS_IN_A_GROUP) ? n : 0;
}

/* Spreadsheets part thousands with a blank that does not break, in UTF-8 or as
 * the one byte of Latin-1, or with a printer's apostrophe: "14 041" and not a
 * text.
 *
 * out      LONGEST_NUMBER bytes.
 * returns  the length of what is left. */
static size_t with_plain_marks(const char *cell, size_t length, char *out)
{
    static const struct {
        const char *sign;
        char plain;
    } signs[] = {{"\xC2\xA0", ' '},
                 {"\xE2\x80\xAF", ' '},
                 {"\xE2\x80\x89", ' '},
                 {"\xE2\x80\x99", '\''},
                 {"\xA0", ' '}};
    size_t n = 0;
    for (size_t i = 0; i < length;) {
        size_t used = 1;
        char plain = cell[i];
        for (size_t k = 0; k < sizeof signs / sizeof signs[0]; k++) {
            const size_t size = strlen(signs[k].sign);
            if (size > length - i || memcmp(cell + i, signs[k].sign, size) != 0)
                continue;
            used = size;
            plain = signs[k].plain;
            break;
        }
        out[n++] = plain;
        i += used;
    }
    return n;
}

/* The plain number first: it is the usual case by far. Which thousands mark
 * may stand in it follows from the decimal mark; an apostrophe or a blank may
 * always. */
bool kw_cell_number(const char *cell, size_t length, char point, double *out)
{
    trim(&cell, &length);
    if (kw_number_parse(cell, length, point, out))
        return true;
    /* No number of a log is so long. A field that is, is text, and must not
     * make this slow. */
    if (length == 0 || length > LONGEST_NUMBER)
        return false;
    const char marks[] = {point == '.' ? ',' : '.', '\'', ' '};
    char marked[LONGEST_NUMBER];
    length = with_plain_marks(cell, length, marked);
    cell = marked;
    trim(&cell, &length);
    if (kw_number_parse(cell, length, point, out))
        return true;
    for (size_t i = 0; i < sizeof marks; i++) {
        char plain[LONGEST_NUMBER];
        const size_t n = without_groups(cell, length, point, marks[i], plain);
        if (n > 0 && kw_number_parse(plain, n, point, out))
            return true;
    }
    return false;
}

/* Bytes that the number at the start of a field takes. Signs and marks at its
 * end belong to what follows, as in "628 -". */
static size_t number_length(const char *cell, size_t length)
{
    size_t n = 0;
    while (n < length && (is_digit(cell[n]) || strchr("+-.,' ", cell[n])))
        n++;
    while (n > 0 && !is_digit(cell[n - 1]))
        n--;
    return n;
}

/* Only a known unit and nothing else counts, so that "7 up" and the heading
 * "7: Temp[C]" stay text. */
const char *kw_cell_unit(const char *cell)
{
    const size_t length = strlen(cell);
    const size_t n = number_length(cell, length);
    const char *unit = cell + n + strspn(cell + n, " ");
    /* "51.5 S" is a latitude and no time. */
    const bool hemisphere =
        *unit != '\0' && unit[1] == '\0' && strchr("NSEW", *unit) != NULL;
    return n > 0 && !hemisphere && kw_is_unit_alone(unit) ? unit : "";
}

/* "628 C": a number and its unit. Such fields come of exports made for reading,
 * where each value carries its unit. */
static bool read_with_unit(const char *cell,
                           size_t length,
                           char point,
                           double *out)
{
    char copy[LONGEST_NUMBER];
    /* A zero byte in the field would end the copy early and hide the rest. */
    if (length == 0 || length >= sizeof copy || memchr(cell, '\0', length))
        return false;
    memcpy(copy, cell, length);
    copy[length] = '\0';
    return *kw_cell_unit(copy) != '\0' &&
           kw_cell_number(copy, number_length(copy, length), point, out);
}

/* ---- laps and markers ---------------------------------------------------- */

/* "Lap 3": the first digits. Words of any language may stand in front. What is
 * too long for a lap's name is a remark with a number in it. */
static bool read_lap(const char *cell, size_t length, double *out)
{
    size_t first = 0;
    while (first < length && !is_digit(cell[first]))
        first++;
    size_t end = first;
    while (end < length && is_digit(cell[end]))
        end++;
    return length < LONGEST_WORD &&
           kw_number_parse(cell + first, end - first, '.', out);
}

/* A word in a marker column is a marker, unless it says no. */
static void read_marker(const char *cell, size_t length, double *out)
{
    static const char *const no[] = {"false", "off",  "no",     "nein",
                                     "aus",   "non",  "f",      "n",
                                     "falso", "faux", "falsch", "nao"};
    /* A long remark ("passed the loop at the line") marks the line as well as
     * an X. */
    char copy[LONGEST_WORD] = "";
    *out = 1.0;
    if (length >= sizeof copy)
        return;
    memcpy(copy, cell, length);
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++) {
        if (kw_text_same(copy, no[i]))
            *out = 0.0;
    }
}

/* ---- positions ----------------------------------------------------------- */

/* "51.0001 N", "N51 00.01", "51 00' 00.4\" S": up to three numbers, whatever
 * stands between them, and a letter for the hemisphere. */
static bool read_position(const char *cell,
                          size_t length,
                          char point,
                          double *out)
{
    double parts[3] = {0.0, 0.0, 0.0};
    size_t n_parts = 0;
    /* Without a letter the sign is not known, so 0 refuses the field: a plain
     * signed number was read before it came here. */
    double sign = 0.0;
    for (size_t i = 0; i < length;) {
        size_t end = i;
        while (end < length && (is_digit(cell[end]) || cell[end] == point))
            end++;
        if (end > i) {
            /* Degrees, minutes, seconds. A fourth number is no position. */
            if (n_parts == 3 ||
                !kw_number_parse(cell + i, end - i, point, &parts[n_parts++]))
                return false;
            i = end;
            continue;
        }
        /* strchr() finds the closing zero too, so a zero byte is asked for
         * apart. West is W in English, but O (Ouest, Oeste) elsewhere: O is
         * East in German, so it is left alone rather than guessed. */
        if (strchr("NEne", cell[i]) != NULL && cell[i] != '\0')
            sign = 1.0;
        else if (strchr("SWsw", cell[i]) != NULL && cell[i] != '\0')
            sign = -1.0;
        i++;
    }
    *out = sign * (parts[0] + parts[1] / 60.0 + parts[2] / 3600.0);
    return n_parts > 0 && fabs(sign) > 0.0;
}

/* What one role reads as a value is a fault in another: "X" marks a lap, and
 * is no engine speed. */
bool kw_cell_read(enum kw_role role,
                  const char *cell,
                  size_t length,
                  char point,
                  double *out)
{
    if (kw_cell_number(cell, length, point, out))
        return true;
    trim(&cell, &length);
    if (kw_is_missing(cell, length))
        return false;
    switch (role) {
    case KW_ROLE_LAP:
        return read_lap(cell, length, out);
    case KW_ROLE_LAP_MARKER:
        read_marker(cell, length, out);
        return true;
    case KW_ROLE_LATITUDE:
    case KW_ROLE_LONGITUDE:
        return read_position(cell, length, point, out);
    default:
        return read_with_unit(cell, length, point, out);
    }
}

bool kw_cell_is_number(const char *cell)
{
    double value = 0.0;
    const size_t length = strlen(cell);
    return kw_cell_number(cell, length, '.', &value) ||
           kw_cell_number(cell, length, ',', &value) ||
           /* "628 C" is a reading, however it is written. */
           kw_cell_unit(cell)[0] != '\0';
}
