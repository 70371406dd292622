/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a single field can hold. */
#include "import/head.h"

#include "core/number.h"
#include "core/text.h"

#include <string.h>

enum { LONGEST_NUMBER = 64, DIGITS_IN_A_GROUP = 3 };

bool kw_is_missing(const char *cell, size_t length)
{
    static const char *const words[] = {
        "nan", "na",   "n/a",  "n.a.", "-",    "--",   "---",  "----", "null",
        "nil", "none", "open", "inf",  "+inf", "-inf", "#n/a", "err",  "error",
        "?",   "*",    "n.v.", "k.a.", "s.d.", "n.d.", "nd",   "offen"};
    char copy[8];
    while (length > 0 && (*cell == ' ' || *cell == '\t')) {
        cell++;
        length--;
    }
    while (length > 0 && (cell[length - 1] == ' ' || cell[length - 1] == '\t'))
        length--;
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

/* Drops a thousands mark where all groups behind it have three digits. */
static bool without_groups(const char *cell,
                           size_t length,
                           char point,
                           char mark,
                           char *out,
                           size_t *n)
{
    size_t group = 0;
    bool grouped = false;
    bool fraction = false;
    *n = 0;
    for (size_t i = 0; i < length; i++) {
        if (cell[i] == mark && !fraction) {
            if (*n == 0 || (grouped && group != DIGITS_IN_A_GROUP))
                return false;
            grouped = true;
            group = 0;
            continue;
        }
        if (cell[i] == point) {
            if (grouped && group != DIGITS_IN_A_GROUP)
                return false;
            fraction = true;
        }
        group += is_digit(cell[i]);
        out[(*n)++] = cell[i];
    }
    return grouped && (fraction || group == DIGITS_IN_A_GROUP);
}

bool kw_cell_number(const char *cell, size_t length, char point, double *out)
{
    while (length > 0 && (*cell == ' ' || *cell == '\t')) {
        cell++;
        length--;
    }
    while (length > 0 && (cell[length - 1] == ' ' || cell[length - 1] == '\t'))
        length--;
    if (kw_number_parse(cell, length, point, out))
        return true;
    if (length == 0 || length > LONGEST_NUMBER)
        return false;
    const char marks[] = {point == '.' ? ',' : '.', '\'', ' '};
    for (size_t i = 0; i < sizeof marks; i++) {
        char plain[LONGEST_NUMBER];
        size_t n = 0;
        if (without_groups(cell, length, point, marks[i], plain, &n) &&
            kw_number_parse(plain, n, point, out))
            return true;
    }
    return false;
}
