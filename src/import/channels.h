/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the columns of the table to the channels of a log, in our units. */
#ifndef KARTWRIGHT_IMPORT_CHANNELS_H
#define KARTWRIGHT_IMPORT_CHANNELS_H

#include "import/columns.h"
#include "import/table.h"
#include "import/time_form.h"
#include "kartwright/log.h"

/* Fills log->channels.
 *
 * table    gives its values away.
 * form     in which the time was taken; its unit is NULL for a clock, and where
 *          no column has the time.
 * returns  KW_OK; KW_NO_MEMORY (what was made stays in the log). */
enum kw_status kw_channels_make(struct kw_table *table,
                                const struct kw_columns *columns,
                                const struct kw_time_form *form,
                                struct kw_log *log,
                                struct kw_error *error);

/* Frees what the channel holds, and empties it. */
void kw_channel_free(struct kw_channel *channel);

#endif
