/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Growable arrays. Every size that is multiplied is checked for overflow. */
#include "array.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SMALLEST_CAPACITY = 8 };

/* Zeroed, so that what is not filled in is empty and can be freed. */
void *kw_array_new(size_t n, size_t item_size, struct kw_error *error)
{
    /* calloc may give NULL for 0 items, which a caller could not tell from a
     * failure. */
    void *items =
        n > SIZE_MAX / item_size ? NULL : calloc(n > 0 ? n : 1, item_size);
    if (items == NULL)
        kw_fail_memory(error);
    return items;
}

/* NAN is missing: what nobody filled in must not read as 0. */
double *kw_array_new_nan(size_t n, struct kw_error *error)
{
    double *items = kw_array_new(n, sizeof *items, error);
    for (size_t i = 0; items != NULL && i < n; i++)
        items[i] = NAN;
    return items;
}

/* The one place in which lists grow, and in which their sizes are checked. */
enum kw_status kw_array_reserve(void *items,
                                size_t *capacity,
                                size_t needed,
                                size_t item_size,
                                struct kw_error *error)
{
    if (needed <= *capacity)
        return KW_OK;
    /* By half: growing costs O(n) in all, and at most a third lies idle. The
     * sum cannot overflow, for an array of that many items was there. */
    size_t grown = *capacity + *capacity / 2;
    if (grown < needed)
        grown = needed;
    if (grown < SMALLEST_CAPACITY)
        grown = SMALLEST_CAPACITY;
    if (grown > SIZE_MAX / item_size)
        return kw_fail_memory(error);
    /* The caller's pointer has its own type: copy it as bytes, so that no
     * pointer of one type is read as another. */
    void *old;
    memcpy(&old, items, sizeof old);
    void *grown_items = realloc(old, grown * item_size);
    if (grown_items == NULL)
        return kw_fail_memory(error);
    memcpy(items, &grown_items, sizeof grown_items);
    *capacity = grown;
    return KW_OK;
}
