/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first lines of a log as rows of cells, whatever they mean. */
#ifndef KARTWRIGHT_IMPORT_HEAD_ROWS_H
#define KARTWRIGHT_IMPORT_HEAD_ROWS_H

#include "import/head.h"

/* Cuts the text with one delimiter into head->rows, its first few hundred
 * lines.
 *
 * head     without rows; freed with kw_head_free_rows() or kw_head_free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_head_split(const char *text,
                             size_t length,
                             char delimiter,
                             struct kw_head *head,
                             struct kw_error *error);

/* Makes apostrophes of the quotes in every line that has an odd number of them:
 * one opens there and is not closed.
 *
 * returns  the first such line; 0 for none. */
size_t kw_mend_quotes(char *text, size_t length);

/* Frees the rows, and nothing else. */
void kw_head_free_rows(struct kw_head *head);

#endif
