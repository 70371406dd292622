/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each field with a mark has a say: few are clear, and those count most. */
#include "import/decimal_mark.h"

#include "core/number.h"
#include "core/text.h"
#include "import/cell.h"

#include <string.h>

/* Weight of a field that can be read one way only; 1 for others. */
enum { CLEAR = 1000 };

/* What a field says for `mark` as the decimal mark: nothing; a little, for it
 * may be one of thousands ("12,500"); or much. */
static size_t speaks_for(const char *field, char mark)
{
    char cell[KW_NUMBER_SIZE];
    const char *at = strchr(field, mark);
    double value = 0.0;
    if (at == NULL || !kw_cell_is_number(field))
        return 0;
    /* A unit behind the number is no part of it. */
    kw_text_copy(cell, sizeof cell, field);
    cell[strspn(cell, "+-0123456789.,")] = '\0';
    at = strchr(cell, mark);
    if (at == NULL)
        return 0;
    /* "1.234,5" and "1,234.5" are clear by what comes last. Of two different
     * marks the last one is the decimal mark, in every language of the
     * tables. */
    const char *other = strchr(cell, mark == '.' ? ',' : '.');
    if (other != NULL)
        return other < at ? CLEAR : 0;
    /* Two of the same mark ("1.234.567") are thousands for sure. */
    if (!kw_number_parse(cell, strlen(cell), mark, &value))
        return 0;
    const char *whole = cell + strspn(cell, "+-");
    /* "12,500" may be 12500 RPM or 12.5 s. "0,500" and "12,50" cannot be
     * thousands. One clear field outweighs a thousand doubtful ones. */
    const bool like_thousands =
        *whole != '0' && at > whole && at - whole <= 3 &&
        strspn(at + 1, "0123456789") == 3 && at[4] == '\0';
    return like_thousands ? 1 : CLEAR;
}

/* The mark for which more fields speak; whole numbers say nothing. */
char kw_decimal_mark(const struct kw_head *head)
{
    size_t points = 0;
    size_t commas = 0;
    for (size_t i = head->first_data; i < head->n_rows; i++) {
        for (size_t k = 0; k < head->rows[i].n; k++) {
            points += speaks_for(head->rows[i].cells[k], '.');
            commas += speaks_for(head->rows[i].cells[k], ',');
        }
    }
    /* A tie is a log of whole numbers, where it does not matter. */
    return commas > points ? ',' : '.';
}
