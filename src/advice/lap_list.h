/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The laps on which something was seen, in a few words. */
#ifndef KARTWRIGHT_ADVICE_LAP_LIST_H
#define KARTWRIGHT_ADVICE_LAP_LIST_H

#include "core/text.h"
#include "kartwright/review.h"

/* Did the event begin on this lap, or go on for a fair part of it? */
bool kw_event_is_on(const struct kw_event *event, const struct kw_lap *lap);

/* Which laps a list names: is_on() is asked of each, with `what`. */
struct kw_lap_list {
    const struct kw_laps *laps;
    bool (*is_on)(const struct kw_lap *lap, const void *what);
    const void *what;
};

/* Adds "lap 7", "laps 2, 3 and 8 to 11", "laps 1, 3, 5, 7, 9 and 4 more" or
 * "on every lap"; nothing where there is none.
 *
 * returns  how many laps there are. */
size_t kw_add_lap_list(struct kw_text *text, const struct kw_lap_list *list);

#endif
