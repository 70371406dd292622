/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Telling a habit of the file from an accident of a few rows. */
#include "import/short_rows.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/text.h"

#include <stdlib.h>

/* Fewer may all be accidents: a spreadsheet cuts blocks of 16 rows alike (from
 * memory). */
static const size_t FEWEST_SHORT = 16;
/* More than this share of all rows is a habit of the file. Common practice, no
 * source. */
static const double SHARE_OF_SHORT = 0.1;

/* Within such blocks nearly all have a neighbour of their length. */
static const double SHARE_IN_BLOCKS = 0.9;

enum kw_status kw_short_rows_add(struct kw_short_rows *rows,
                                 const struct kw_short_row *row,
                                 struct kw_error *error)
{
    const enum kw_status status = kw_array_reserve(
        &rows->items, &rows->capacity, rows->n + 1, sizeof *rows->items, error);
    if (status == KW_OK)
        rows->items[rows->n++] = *row;
    return status;
}

void kw_short_rows_free(struct kw_short_rows *rows)
{
    free(rows->items);
    *rows = (struct kw_short_rows){0};
}

/* Does item b follow item a at once, and end where it ends? */
static bool are_alike(const struct kw_short_row *a,
                      const struct kw_short_row *b)
{
    return a->row + 1 == b->row && a->fields == b->fields;
}

static bool stand_in_blocks(const struct kw_short_rows *rows)
{
    size_t in_blocks = 0;
    for (size_t i = 0; i < rows->n; i++) {
        const struct kw_short_row *row = &rows->items[i];
        in_blocks += (i > 0 && are_alike(row - 1, row)) ||
                     (i + 1 < rows->n && are_alike(row, row + 1));
    }
    return (double)in_blocks >= SHARE_IN_BLOCKS * (double)rows->n;
}

bool kw_short_rows_usual(const struct kw_short_rows *rows, size_t data_rows)
{
    return rows->n >= FEWEST_SHORT &&
           ((double)rows->n > SHARE_OF_SHORT * (double)data_rows ||
            stand_in_blocks(rows));
}

void kw_short_rows_drop(const struct kw_short_rows *rows,
                        struct kw_table *table)
{
    size_t next = 0;
    size_t kept = 0;
    if (rows->n == 0)
        return;
    for (size_t i = 0; i < table->n_rows; i++) {
        if (next < rows->n && rows->items[next].row == i) {
            next++;
            continue;
        }
        for (size_t k = 0; k < table->n_slots; k++)
            table->slots[k].values[kept] = table->slots[k].values[i];
        table->line[kept++] = table->line[i];
    }
    table->n_rows = kept;
}

enum kw_status kw_short_rows_tell(const struct kw_short_rows *rows,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    struct kw_text text = {0};
    /* From the last one, so that the places of the others stay. */
    for (size_t i = rows->n; i > 0; i--) {
        if (rows->items[i - 1].named)
            kw_notices_take_back(notices, rows->items[i - 1].notice);
    }
    kw_text_add_whole(&text, (double)rows->n);
    kw_text_add(&text, " rows end before the heading does: the fields that are "
                       "not there are taken as missing");
    return kw_notices_tell(notices, 0, &text, error);
}
