/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What many sags of a session say of a few others: see dropout_fuel.c for how
 * each was found. */
#include "analysis/fuel_unlike.h"

#include "core/robust.h"

/* Of so many sags so few may be something else: those that are hotter than an
 * ordinary pull by less than this part of what the middle one is, where that
 * one is hot. More of them are another place at which fuel is short. Common
 * practice, no source. */
enum { FEWEST_LIKE = 5, MOST_UNLIKE = 2 };
static const double UNLIKE_SHARE = 0.3;
static const double HOT_C = 25.0;

void kw_drop_unlike_sags(struct kw_fuel_sags *sags,
                         double *hotter_c,
                         double *scratch)
{
    if (sags->n < FEWEST_LIKE)
        return;
    const size_t n = kw_finite_copy(hotter_c, sags->n, scratch);
    const double usual_c = kw_median(scratch, n, scratch);
    const double least_c = UNLIKE_SHARE * usual_c;
    size_t unlike = 0;
    for (size_t k = 0; k < sags->n; k++)
        unlike += hotter_c[k] < least_c ? 1 : 0;
    if (unlike > MOST_UNLIKE || !(usual_c >= HOT_C))
        return;
    size_t kept = 0;
    for (size_t k = 0; k < sags->n; k++) {
        if (hotter_c[k] < least_c)
            continue;
        sags->items[kept] = sags->items[k];
        hotter_c[kept++] = hotter_c[k];
    }
    sags->n = kept;
}
