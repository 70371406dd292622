/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The state of reading a table: between table.c, which judges rows, and
 * table_fields.c, which turns their fields into numbers. */
#ifndef KARTWRIGHT_IMPORT_TABLE_READER_H
#define KARTWRIGHT_IMPORT_TABLE_READER_H

#include "import/joined_files.h"
#include "import/row_complaints.h"
#include "import/short_rows.h"
#include "import/table.h"
#include "import/table_refused.h"

enum { KW_SHOWN_VALUE = 24 /* bytes of a field that a notice quotes */ };

/* What is done with the fields of one column.
 *
 * values   of its slot; NULL for a column that is not kept.
 * numbers  the same where plain numbers are expected; NULL for clock times.
 * clock    its fields are clock times.
 *
 * Looked up for each field, so it is small and flat. */
struct kw_lane {
    double *values;
    double *numbers;
    enum kw_role role;
    bool clock;
};

/* The state between two callbacks of libcsv.
 *
 * lanes        lanes[n_columns].
 * n_named      those up to the last one that has a heading.
 * n_read       fields of this row that are read: n_columns, 0 above the data.
 * field        fields seen in the row.
 * filled       bytes in them.
 * last_length  of the last field.
 * line         1-based physical line on which the row starts.
 * newlines     line ends inside its quoted fields.
 * ends_line    the last field that was no number ends in a line end.
 * open_quote   the file ended within quotes, in this row.
 * as_heading   fields that repeat the heading or the units row.
 * bad_*        the first field of the row that could not be read.
 * joined       what speaks for files that were put behind each other.
 * short_rows   rows kept for now: what they are is told by their number.
 * counts       of the rows up to the last one that is kept: another table may
 *              stand below. */
struct kw_table_reader {
    const struct kw_table_source *source;
    struct kw_table *table;
    struct kw_error *error;
    enum kw_status status;
    struct kw_lane *lanes;
    size_t n_columns;
    size_t n_named;
    size_t n_read;
    size_t field;
    size_t filled;
    size_t last_length;
    size_t line;
    size_t newlines;
    bool ends_line;
    bool open_quote;
    size_t skip_to_line;
    size_t as_heading;
    size_t n_bad;
    size_t bad_column;
    char bad_value[KW_SHOWN_VALUE];
    char point;
    bool comment;
    int last_end;
    struct kw_complaints complaints;
    struct kw_joined_files joined;
    struct kw_short_rows short_rows;
    struct kw_row_counts counts;
};

/* libcsv calls this for each field, with a struct kw_table_reader. */
void kw_on_field(void *field, size_t length, void *data);

/* Does one of the first n_columns columns hold a reading in this row? */
bool kw_has_reading(const struct kw_table_reader *reader, size_t n_columns);

#endif
