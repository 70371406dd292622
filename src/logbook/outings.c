/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading the sessions once for a whole question: a query for each part, or for
 * each check, would take as many passes over the book.
 *
 * A season has some hundred sessions, ten seasons a thousand: they fit in
 * memory, and sums over a stretch are then two look-ups. */
#include "logbook/outings.h"

#include "core/array.h"

#include <stdlib.h>
#include <string.h>

/* To the letter: "kart 7" and "Kart 7" may be two. A kart without a name is one
 * of its own. */
bool kw_same_kart(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

/* Kept whole in memory: a thousand sessions are 50 kB. */
static void take_outing(struct kw_query *query, struct kw_outings *out)
{
    if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                         sizeof *out->items, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    out->items[out->n++] = (struct kw_outing){
        .kart = kw_query_text_at(query, 0),
        .at_s = kw_query_real_at(query, 1),
        .running_s = kw_query_real_at(query, 2),
        .revolutions = kw_query_real_at(query, 3),
        .judged = kw_query_int_at(query, 4) != KW_VERDICT_NOT_KNOWN};
}

/* Sorted by kart and date, so that sums over a stretch are differences. */
enum kw_status kw_outings_read(struct kw_logbook *book,
                               struct kw_outings *out,
                               struct kw_error *error)
{
    *out = (struct kw_outings){0};
    /* Two sessions of the same second keep the order in which they were filed:
     * the same book gives the same sums, to the last digit. */
    struct kw_query query =
        kw_query_begin(book,
                       "SELECT kart, at_s, running_s, COALESCE(revolutions, 0),"
                       " verdict FROM outing ORDER BY kart, at_s, id",
                       error);
    while (kw_query_row(&query))
        take_outing(&query, out);
    return kw_query_end(&query);
}

void kw_outings_free(struct kw_outings *outings)
{
    for (size_t i = 0; i < outings->n; i++)
        free(outings->items[i].kart);
    free(outings->items);
    *outings = (struct kw_outings){0};
}

/* Where the sessions of one kart end. */
size_t kw_outings_end(const struct kw_outings *outings, size_t from)
{
    size_t to = from;
    while (to < outings->n &&
           kw_same_kart(outings->items[to].kart, outings->items[from].kart))
        to++;
    return to;
}

/* Not bisected: it is asked a few times for each finding, not for each session.
 */
size_t kw_outings_count(const struct kw_outings *outings,
                        const char *kart,
                        double after_s,
                        double until_s)
{
    size_t n = 0;
    for (size_t i = 0; i < outings->n; i++)
        n += outings->items[i].judged && outings->items[i].at_s > after_s &&
             outings->items[i].at_s <= until_s &&
             kw_same_kart(outings->items[i].kart, kart);
    return n;
}
