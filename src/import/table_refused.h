/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables whose rows cannot be read as they stand, in words. */
#ifndef KARTWRIGHT_IMPORT_TABLE_REFUSED_H
#define KARTWRIGHT_IMPORT_TABLE_REFUSED_H

#include "kartwright/error.h"

/* A quote opens on that line and is never closed. returns KW_BAD_INPUT. */
enum kw_status kw_refuse_open_quote(const char *path,
                                    size_t line,
                                    struct kw_error *error);

/* The row on that line goes on without an end. returns KW_BAD_INPUT. */
enum kw_status kw_refuse_endless_row(const char *path,
                                     size_t line,
                                     struct kw_error *error);

/* Rows of a table.
 *
 * n             rows of data, up to the last one that is kept.
 * first_line    of these.
 * wrong_count   rows left out for their number of fields.
 * no_time       rows left out for want of a time.
 * no_rpm        rows whose RPM is something that is no number. */
struct kw_row_counts {
    size_t n;
    size_t first_line;
    size_t wrong_count;
    size_t no_time;
    size_t no_rpm;
};

/* Refuses a table of which most rows were left out, or say no RPM.
 *
 * returns  KW_OK where they were not; KW_BAD_INPUT; KW_NO_MEMORY. */
enum kw_status kw_refuse_most_rows(const struct kw_row_counts *rows,
                                   const char *path,
                                   struct kw_error *error);

#endif
