/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps as a person would name them: what goes on from one lap to the next was
 * on all of them, and a row of laps is told by its two ends. */
#include "advice/lap_list.h"

#include <math.h>

/* Numbers or rows of laps in a sentence before it says "and 4 more". */
enum { MOST_PIECES = 5 };

/* From so many laps on, a row is told by its ends, and all of them are "on
 * every lap". */
enum { SHORTEST_ROW = 3 };

/* What runs over the line by less than this share of a lap belongs to the lap
 * on which it began. Common practice, no source. */
static const double LEAST_SHARE_OF_LAP = 0.1;

bool kw_event_is_on(const struct kw_event *event, const struct kw_lap *lap)
{
    const double both_s =
        fmin(event->end_s, lap->end_s) - fmax(event->start_s, lap->start_s);
    return event->lap == lap->number ||
           (both_s > 0.0 &&
            both_s >= LEAST_SHARE_OF_LAP * (lap->end_s - lap->start_s));
}

static bool is_on(const struct kw_lap_list *list, size_t i)
{
    return list->is_on(&list->laps->items[i], list->what);
}

static size_t count_laps(const struct kw_lap_list *list)
{
    size_t n = 0;
    for (size_t i = 0; i < list->laps->n; i++)
        n += is_on(list, i);
    return n;
}

/* The next piece at or behind `from`: one lap, or a row that is long enough.
 *
 * from     in: where to look; out: the first lap of the piece.
 * returns  how many laps it has; 0 at the end. */
static size_t next_piece(const struct kw_lap_list *list, size_t *from)
{
    const size_t n = list->laps->n;
    while (*from < n && !is_on(list, *from))
        (*from)++;
    size_t to = *from;
    while (to < n && is_on(list, to))
        to++;
    const size_t length = to - *from;
    return length >= SHORTEST_ROW || length == 0 ? length : 1;
}

/* Two passes: "and" belongs before the last of the pieces. */
size_t kw_add_lap_list(struct kw_text *text, const struct kw_lap_list *list)
{
    const size_t n = count_laps(list);
    if (n >= SHORTEST_ROW && n == list->laps->n) {
        kw_text_add(text, "on every lap");
        return n;
    }
    size_t n_pieces = 0;
    size_t from = 0;
    for (size_t length; (length = next_piece(list, &from)) > 0; from += length)
        n_pieces++;
    size_t left = n;
    from = 0;
    for (size_t piece = 0; piece < n_pieces && piece < MOST_PIECES; piece++) {
        const size_t length = next_piece(list, &from);
        const struct kw_lap *first = &list->laps->items[from];
        kw_text_addf(text, "%s%zu",
                     piece == 0              ? (n == 1 ? "lap " : "laps ")
                     : piece + 1 == n_pieces ? " and "
                                             : ", ",
                     first->number);
        if (length > 1)
            kw_text_addf(text, " to %zu", first[length - 1].number);
        from += length;
        left -= length;
    }
    if (left > 0)
        kw_text_addf(text, " and %zu more", left);
    return n;
}
