/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The unit of a speed that does not state it, where the log has a position. */
#ifndef KARTWRIGHT_IMPORT_SPEED_UNIT_H
#define KARTWRIGHT_IMPORT_SPEED_UNIT_H

#include "import/columns.h"
#include "kartwright/log.h"

/* Sizes cannot tell mph from km/h, for karts do both; the way between two
 * positions can. Takes the speed in the unit that fits, and says so; leaves it
 * as it is where no other unit fits.
 *
 * log      with its clock and its channels.
 * columns  from which these were made.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_speed_unit_by_position(struct kw_log *log,
                                         const struct kw_columns *columns,
                                         struct kw_error *error);

#endif
