/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a log, read one after the other into arrays of numbers. */
#ifndef KARTWRIGHT_IMPORT_TABLE_H
#define KARTWRIGHT_IMPORT_TABLE_H

#include "import/bytes.h"
#include "import/columns.h"
#include "import/head.h"

#include <stdint.h>

/* One column that is kept: values[n_rows] in the file's own unit, NAN where
 * missing. The time column has the seconds of its clock, or its number. */
struct kw_slot {
    size_t column;
    double *values;
    size_t capacity;
};

/* The rows that could be read.
 *
 * line        line[n_rows], where each stands in the file.
 * data_rows   all rows of data, also those that were left out.
 * time        index of the time's slot; n_slots without a time column. */
struct kw_table {
    struct kw_slot *slots;
    size_t n_slots;
    size_t time;
    uint32_t *line;
    size_t line_capacity;
    size_t n_rows;
    size_t data_rows;
};

/* Where the rows come from.
 *
 * first, n_first  bytes of the file that were read already, for the head. */
struct kw_table_source {
    struct kw_bytes *bytes;
    const char *first;
    size_t n_first;
    const struct kw_head *head;
    const struct kw_columns *columns;
};

/* Reads the whole table.
 *
 * notices   rows and fields that could not be read: the first of a kind
 *           with line and value, the others as a count.
 * out       freed with kw_table_free().
 * returns   KW_OK; KW_BAD_INPUT (a quote that is never closed);
 *           KW_IO_FAILED; KW_NO_MEMORY. */
enum kw_status kw_table_read(const struct kw_table_source *source,
                             struct kw_notices *notices,
                             struct kw_table *out,
                             struct kw_error *error);
void kw_table_free(struct kw_table *table);

#endif
