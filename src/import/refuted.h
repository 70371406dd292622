/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the first values of a column say against its heading, where another
 * column of that role has better ones. */
#ifndef KARTWRIGHT_IMPORT_REFUTED_H
#define KARTWRIGHT_IMPORT_REFUTED_H

#include "import/columns.h"
#include "import/head.h"

/* Takes the role from columns whose first values cannot be its readings: a
 * target that never changes, a time that runs backwards. Those that the person
 * stated stay. */
enum kw_status kw_refute_columns(const struct kw_head *head,
                                 struct kw_columns *columns,
                                 struct kw_error *error);

#endif
