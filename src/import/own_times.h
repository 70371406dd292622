/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logs in which channels bring a time of their own: "RPM Time,RPM,EGT
 * Time,EGT". In a row of such a table stands what was read seconds apart. */
#ifndef KARTWRIGHT_IMPORT_OWN_TIMES_H
#define KARTWRIGHT_IMPORT_OWN_TIMES_H

#include "import/columns.h"
#include "import/table.h"

/* Finds the columns that are, by their names, the time of one channel each. One
 * becomes the time of the log: that of RPM, or a time of no channel.
 *
 * columns  with the choices of the person, before one is kept for each role.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_own_times_find(const struct kw_head *head,
                                 struct kw_columns *columns,
                                 struct kw_error *error);

/* Puts each reading with a time of its own into the row of the log's time that
 * is nearest. Rows between two readings become missing ones, and rows without
 * the log's time are no rows any more.
 *
 * path     of the log, for errors.
 * notices  says which channels were moved.
 * returns  KW_OK; KW_BAD_INPUT (two channels without any time in common);
 *          KW_NO_MEMORY. */
enum kw_status kw_own_times_join(struct kw_table *table,
                                 const struct kw_columns *columns,
                                 const char *path,
                                 struct kw_notices *notices,
                                 struct kw_error *error);

#endif
