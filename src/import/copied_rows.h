/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that an export wrote twice. */
#ifndef KARTWRIGHT_IMPORT_COPIED_ROWS_H
#define KARTWRIGHT_IMPORT_COPIED_ROWS_H

#include "import/table.h"
#include "import/time_axis.h"

/* Marks rows that are copies of the one before, where the whole log is written
 * so; spread evenly, they would be twice the rate that the logger had.
 *
 * table    with a time column.
 * fate     fate[n_rows]: KW_STAMP_REPEATED for a copy, else KW_STAMP_KEPT.
 * returns  how many copies there are; 0 where the log is not written so, and
 *          then fate means nothing. */
size_t kw_mark_copies(const struct kw_table *table, enum kw_stamp *fate);

#endif
