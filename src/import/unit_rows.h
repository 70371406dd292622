/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The row of units, which some exports have below the heading or above it. */
#ifndef KARTWRIGHT_IMPORT_UNIT_ROWS_H
#define KARTWRIGHT_IMPORT_UNIT_ROWS_H

#include "core/notices.h"
#include "import/columns.h"
#include "import/head.h"

/* How many fields of a row say something, units or words. */
size_t kw_filled(const struct kw_head_row *row);

/* How many of these are units. */
size_t kw_units_in(const struct kw_head_row *row);

/* At least half of the fields that say something say a unit; remarks such as
 * "calculated" may stand among them. */
bool kw_is_unit_row(const struct kw_head_row *row);

/* Does it say units and nothing else? "Time (s)" says more. */
bool kw_is_units_alone(const struct kw_head_row *row);

/* Is that field of a row a unit of the quantity that the heading has? */
bool kw_fits_heading(const struct kw_head *head, size_t row, size_t column);

/* Finds the row of units that goes with the heading: fills in head->units and
 * head->doubtful_units. Where its fields begin with numbers ("0.1 C"), so that
 * it was taken for the first row of data, the data begin behind it.
 *
 * head  with its heading and first_data. */
void kw_find_units(struct kw_head *head);

/* Names the units of that row that are not known, or says that it is doubtful.
 */
enum kw_status kw_units_notices(const struct kw_head *head,
                                const struct kw_columns *columns,
                                struct kw_notices *notices,
                                struct kw_error *error);

#endif
