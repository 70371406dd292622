/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that end before the heading does. A single one was cut off, and what is
 * left of it may be wrong; but a spreadsheet leaves blank fields at the end of
 * a row away, block by block, and some loggers do so in every row: there the
 * fields that are not there are missing readings. */
#ifndef KARTWRIGHT_IMPORT_SHORT_ROWS_H
#define KARTWRIGHT_IMPORT_SHORT_ROWS_H

#include "import/table.h"

/* One of them.
 *
 * row     its index in the table.
 * fields  that it has.
 * named   a notice names it; then `notice` is the index of that. */
struct kw_short_row {
    size_t row;
    size_t fields;
    size_t notice;
    bool named;
};

struct kw_short_rows {
    struct kw_short_row *items;
    size_t n;
    size_t capacity;
};

/* Adds one. returns KW_OK; KW_NO_MEMORY. */
enum kw_status kw_short_rows_add(struct kw_short_rows *rows,
                                 const struct kw_short_row *row,
                                 struct kw_error *error);
void kw_short_rows_free(struct kw_short_rows *rows);

/* true where they are no exception among data_rows rows. */
bool kw_short_rows_usual(const struct kw_short_rows *rows, size_t data_rows);

/* Takes them out of the table. */
void kw_short_rows_drop(const struct kw_short_rows *rows,
                        struct kw_table *table);

/* Takes back the notices that name them, and says once that they are kept.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_short_rows_tell(const struct kw_short_rows *rows,
                                  struct kw_notices *notices,
                                  struct kw_error *error);

#endif
