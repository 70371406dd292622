/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Naming the columns that are left out. */
#ifndef KARTWRIGHT_IMPORT_LEFT_OUT_H
#define KARTWRIGHT_IMPORT_LEFT_OUT_H

#include "import/columns.h"

#include <stdbool.h>

/* Names the columns that were left out. */
enum kw_status kw_columns_notices(const struct kw_columns *columns,
                                  size_t heading_line,
                                  struct kw_notices *notices,
                                  struct kw_error *error);

/* So hot that it could be an exhaust, in C or F. */
bool kw_is_warm(double temperature);

/* Names one of them.
 *
 * warm  it could be the exhaust: say how to name it. */
enum kw_status kw_column_left_out(const struct kw_column *column,
                                  bool warm,
                                  size_t heading_line,
                                  struct kw_notices *notices,
                                  struct kw_error *error);

#endif
