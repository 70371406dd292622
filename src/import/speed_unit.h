/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The unit of a speed that does not state it, by position or by gearing. */
#ifndef KARTWRIGHT_IMPORT_SPEED_UNIT_H
#define KARTWRIGHT_IMPORT_SPEED_UNIT_H

#include "import/columns.h"
#include "kartwright/log.h"

/* Sizes cannot tell mph from km/h, for karts do both; the way between two
 * positions can, and without a position the RPM through the owner's own
 * gearing. Takes the speed in the unit that fits, and says so; leaves it as it
 * is where no other unit fits, and asks where it goes with no gearing of a
 * kart.
 *
 * log      with its clock and its channels.
 * columns  from which these were made.
 * rpm_per_m_s  as in struct kw_import_options.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_speed_unit_settle(struct kw_log *log,
                                    const struct kw_columns *columns,
                                    double rpm_per_m_s,
                                    struct kw_error *error);

#endif
