/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The head of a log: its first lines as a table, from which the dialect is
 * told: delimiter, decimal mark, where the heading stands and where the data
 * begin. */
#ifndef KARTWRIGHT_IMPORT_HEAD_H
#define KARTWRIGHT_IMPORT_HEAD_H

#include "kartwright/error.h"

#include <stdbool.h>

/* One row of the head. cells[n] are closed strings.
 *
 * line  1-based physical line on which the row starts. */
struct kw_head_row {
    size_t line;
    char **cells;
    size_t n;
    size_t capacity;
};

/* Marks that may part fields, the likeliest first. */
enum { KW_N_DELIMITERS = 4 };
extern const char kw_delimiters[KW_N_DELIMITERS];

/* delimiter     one of kw_delimiters.
 * point         decimal mark, '.' or ','.
 * heading, units, first_data  indices into rows; units is n_rows for none.
 * doubtful_units  hardly any of that row is a unit.
 * rate_hz       stated in a note above the table; NAN for none.
 * rate_line     on which that note stands.
 * quote_line    on which a quote opens that is never closed; 0 for none. */
struct kw_head {
    struct kw_head_row *rows;
    size_t n_rows;
    size_t capacity;
    char delimiter;
    char point;
    size_t heading;
    size_t units;
    bool doubtful_units;
    size_t first_data;
    double rate_hz;
    size_t rate_line;
    size_t quote_line;
};

/* Reads the head.
 *
 * text, length  the first bytes of the log, up to the end of a line unless they
 *               are the whole of it. Quotes that would swallow the heading are
 *               replaced in it.
 * path          for errors.
 * out           freed with kw_head_free().
 * returns       KW_OK; KW_BAD_INPUT (nothing in it, no table, no heading row);
 *               KW_NO_MEMORY. */
enum kw_status kw_head_read(char *text,
                            size_t length,
                            const char *path,
                            struct kw_head *out,
                            struct kw_error *error);
void kw_head_free(struct kw_head *head);

/* The cell of a column in a row; "" where the row is shorter, or not there:
 * loggers cut a row short where power went, and spreadsheets drop blank fields
 * at its end. */
const char *kw_head_cell(const struct kw_head *head, size_t row, size_t column);

/* The unit that the units row states for a column, or its first reading: some
 * exports have no units row and write "628 C" in each field; "" for none. Of a
 * doubtful row of units only what fits its heading. */
const char *kw_head_unit_cell(const struct kw_head *head, size_t column);

#endif
