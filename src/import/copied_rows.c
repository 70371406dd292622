/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that say what the row before them said. */
#include "import/copied_rows.h"

#include <math.h>

/* Each row twice or more: from this share of copies on, where nearly all rows
 * that repeat a stamp repeat all else, and half of the others change something.
 * A clock too coarse for its rows has few copies, an engine at rest no changes.
 * Common practice, no source. */
static const double SHARE_OF_COPIES = 0.3;
static const double SHARE_OF_EQUAL = 0.95;
static const double SHARE_OF_CHANGES = 0.5;

/* The same number, or missing in both. */
static bool is_equal(double a, double b)
{
    return isnan(a) ? isnan(b) : !(a < b) && !(a > b) && !isnan(b);
}

/* Does row i say the same as the one before it, in its time and in all else? */
static void compare_rows(const struct kw_table *table,
                         size_t i,
                         bool *same_time,
                         bool *same_rest)
{
    *same_rest = true;
    for (size_t k = 0; k < table->n_slots; k++) {
        const double *values = table->slots[k].values;
        const bool equal = is_equal(values[i], values[i - 1]);
        if (k == table->time)
            *same_time = equal;
        else
            *same_rest = *same_rest && equal;
    }
}

size_t kw_mark_copies(const struct kw_table *table, enum kw_stamp *fate)
{
    size_t repeats = 0;
    size_t copies = 0;
    size_t changes = 0;
    for (size_t i = 0; i < table->n_rows; i++) {
        bool same_time = false;
        bool same_rest = false;
        if (i > 0)
            compare_rows(table, i, &same_time, &same_rest);
        fate[i] = same_time && same_rest ? KW_STAMP_REPEATED : KW_STAMP_KEPT;
        repeats += same_time;
        copies += same_time && same_rest;
        changes += i > 0 && !same_time && !same_rest;
    }
    const size_t others = table->n_rows - repeats;
    if ((double)copies > SHARE_OF_COPIES * (double)table->n_rows &&
        (double)copies >= SHARE_OF_EQUAL * (double)repeats &&
        (double)changes >= SHARE_OF_CHANGES * (double)others)
        return copies;
    return 0;
}
