/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Growable arrays and checked allocation: the one place where sizes multiply.
 */
#ifndef KARTWRIGHT_CORE_ARRAY_H
#define KARTWRIGHT_CORE_ARRAY_H

#include "kartwright/error.h"

/* Allocates n items of item_size bytes, zeroed.
 *
 * returns  NULL when the product overflows or memory is short, and fills in
 *          error; never NULL for n = 0. The caller frees it with free(). */
void *kw_array_new(size_t n, size_t item_size, struct kw_error *error);

/* An array of n doubles, each NAN.
 *
 * returns  as kw_array_new(). */
double *kw_array_new_nan(size_t n, struct kw_error *error);

/* Makes room for `needed` items in all; grows by half, so adding is O(1).
 *
 * items     address of the array pointer.
 * capacity  items that fit now; updated.
 * returns   KW_OK; KW_NO_MEMORY, and the array is as it was. */
enum kw_status kw_array_reserve(void *items,
                                size_t *capacity,
                                size_t needed,
                                size_t item_size,
                                struct kw_error *error);

#endif
