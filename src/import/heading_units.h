/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The unit that a heading or the cell of the units row below it states. Texts
 * called folded come from kw_fold(). */
#ifndef KARTWRIGHT_IMPORT_HEADING_UNITS_H
#define KARTWRIGHT_IMPORT_HEADING_UNITS_H

#include "core/units.h"
#include "kartwright/log.h"

#include <stdbool.h>

/* The kind of quantity that a role holds. */
enum kw_quantity kw_role_quantity(enum kw_role role);

/* The unit that a stretch of folded text is, its blanks left out; NULL for
 * none. KW_QUANTITY_NONE asks for one of any quantity. */
const struct kw_unit *kw_unit_in(const char *text,
                                 size_t length,
                                 enum kw_quantity quantity);

/* The unit of that quantity that a folded heading, or its folded cell of the
 * units row, states; NULL for none. */
const struct kw_unit *kw_find_stated_unit(const char *folded_heading,
                                          const char *folded_cell,
                                          enum kw_quantity quantity);

/* true for turns a second beside words that may give another sense to it: Hz
 * are also how often a channel is read, unless the heading or the units row
 * says turns. Both texts folded. */
bool kw_unit_is_doubtful(const struct kw_unit *unit,
                         const char *folded_heading,
                         const char *folded_cell);

/* true where the two, which state no unit of that quantity, state one of
 * another, or one that we do not know but that is for sure a rate or a share.
 */
bool kw_states_other_unit(const char *folded_heading,
                          const char *folded_cell,
                          enum kw_quantity quantity);

/* The unit written in a heading or its units row, for a stated role. */
const struct kw_unit *kw_heading_unit(enum kw_role role,
                                      const char *heading,
                                      const char *unit_cell);

/* true when the cell could stand in a row of units: "[rpm]", "°C", "s". */
bool kw_is_unit_cell(const char *cell);

/* true when it says a unit and nothing else: "[rpm]", not "Speed [km/h]". */
bool kw_is_unit_alone(const char *cell);

#endif
