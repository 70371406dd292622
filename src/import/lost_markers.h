/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lap markers that stand in rows which are left out for their time. */
#ifndef KARTWRIGHT_IMPORT_LOST_MARKERS_H
#define KARTWRIGHT_IMPORT_LOST_MARKERS_H

#include "import/table.h"
#include "import/time_axis.h"

/* Gives each such marker to the next row that is kept. Some loggers write the
 * passing of the line as a row of its own, with the time of the row before it.
 *
 * time_s  time_s[table->n_rows] and
 * fate    fate[table->n_rows], as kw_time_axis_follow() leaves them. */
void kw_keep_lost_markers(struct kw_table *table,
                          const struct kw_columns *columns,
                          const double *time_s,
                          const enum kw_stamp *fate);

#endif
