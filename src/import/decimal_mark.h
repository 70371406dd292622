/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The decimal mark of a table, which many exports set by the language. */
#ifndef KARTWRIGHT_IMPORT_DECIMAL_MARK_H
#define KARTWRIGHT_IMPORT_DECIMAL_MARK_H

#include "import/head.h"

/* The mark for which the rows below the heading speak.
 *
 * head     rows and first_data are known.
 * returns  '.' or ','; '.' where all numbers are whole. */
char kw_decimal_mark(const struct kw_head *head);

#endif
