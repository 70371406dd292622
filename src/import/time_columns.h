/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Time columns that would be read, and be wrong. */
#ifndef KARTWRIGHT_IMPORT_TIME_COLUMNS_H
#define KARTWRIGHT_IMPORT_TIME_COLUMNS_H

#include "import/columns.h"

/* Refuses a log in which each channel has a time of its own, a number of rows
 * that was stated as the time, and a unit of time that is not understood: every
 * rate of change, lap and hour would be wrong by a factor.
 *
 * head, path  of the log.
 * columns     with the choices of the person, before one is kept for each role.
 * returns     KW_OK; KW_BAD_INPUT; KW_NO_MEMORY. */
enum kw_status kw_time_columns_check(const struct kw_head *head,
                                     const char *path,
                                     const struct kw_columns *columns,
                                     struct kw_error *error);

#endif
