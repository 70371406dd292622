/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lap whose marker was lost would be told as two. */
#include "import/lost_markers.h"

#include <math.h>

/* A row whose stamp is further from its neighbours belongs somewhere else, and
 * a marker so near another one is the same passing. No lap is so short. Common
 * practice, no source. */
static const double NEAR_S = 5.0;

/* One marker column and what became of its rows. */
struct markers {
    double *values;
    const double *time_s;
    const enum kw_stamp *fate;
    size_t n;
};

static bool is_equal(double a, double b)
{
    return isnan(a) ? isnan(b) : !(a < b) && !(a > b) && !isnan(b);
}

/* Does a kept row near row i, before or behind it, have its marker? */
static bool is_near(const struct markers *markers, size_t i, int step)
{
    for (size_t k = i; step > 0 ? k + 1 < markers->n : k > 0;) {
        k = step > 0 ? k + 1 : k - 1;
        if (markers->fate[k] != KW_STAMP_KEPT)
            continue;
        if (fabs(markers->time_s[k] - markers->time_s[i]) > NEAR_S)
            return false;
        if (is_equal(markers->values[k], markers->values[i]))
            return true;
    }
    return false;
}

/* Row i is left out, `next` is kept and `last` was the one before. */
static void keep_marker(const struct markers *markers,
                        size_t last,
                        size_t i,
                        size_t next)
{
    double *values = markers->values;
    const bool stands_out =
        !isnan(values[i]) && fabs(values[i]) > 0.0 &&
        !is_equal(values[i], values[last]) &&
        !is_equal(values[i], values[next]) &&
        /* A marker that counts goes on by itself. */
        (is_equal(values[last], values[next]) || isnan(values[next]));
    if (stands_out &&
        fabs(markers->time_s[next] - markers->time_s[i]) <= NEAR_S &&
        !is_near(markers, i, -1) && !is_near(markers, i, 1))
        values[next] = values[i];
}

static void keep_markers(const struct markers *markers)
{
    size_t last = markers->n;
    size_t next = 0;
    for (size_t i = 0; i < markers->n; i++) {
        if (markers->fate[i] == KW_STAMP_KEPT) {
            last = i;
            continue;
        }
        if (next < i)
            next = i;
        while (next < markers->n && markers->fate[next] != KW_STAMP_KEPT)
            next++;
        if (last < markers->n && next < markers->n)
            keep_marker(markers, last, i, next);
    }
}

void kw_keep_lost_markers(struct kw_table *table,
                          const struct kw_columns *columns,
                          const double *time_s,
                          const enum kw_stamp *fate)
{
    for (size_t k = 0; k < table->n_slots; k++) {
        const struct kw_slot *slot = &table->slots[k];
        if (columns->items[slot->column].role != KW_ROLE_LAP_MARKER)
            continue;
        const struct markers markers = {slot->values, time_s, fate,
                                        table->n_rows};
        keep_markers(&markers);
    }
}
