/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of events that the detectors fill, and the laps it points into. */
#include "analysis/scene.h"

#include "core/array.h"
#include "core/text.h"

#include <stdlib.h>

enum kw_status kw_events_add(struct kw_events *events,
                             const struct kw_event *event,
                             struct kw_error *error)
{
    char *evidence = kw_text_duplicate(event->evidence, error);
    if (evidence == NULL)
        return KW_NO_MEMORY;
    if (kw_array_reserve(&events->items, &events->capacity, events->n + 1,
                         sizeof *events->items, error) != KW_OK) {
        free(evidence);
        return KW_NO_MEMORY;
    }
    events->items[events->n] = *event;
    events->items[events->n].evidence = evidence;
    events->n++;
    return KW_OK;
}

static int by_start(const void *a, const void *b)
{
    const struct kw_event *x = a;
    const struct kw_event *y = b;
    if (x->start_s < y->start_s)
        return -1;
    if (x->start_s > y->start_s)
        return 1;
    return (x->kind > y->kind) - (x->kind < y->kind);
}

void kw_events_sort(struct kw_events *events)
{
    if (events->n > 1)
        qsort(events->items, events->n, sizeof *events->items, by_start);
}

void kw_events_free(struct kw_events *events)
{
    for (size_t i = 0; i < events->n; i++)
        free(events->items[i].evidence);
    free(events->items);
    *events = (struct kw_events){0};
}

size_t kw_events_count(const struct kw_events *events, enum kw_event_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < events->n; i++)
        n += events->items[i].kind == kind;
    return n;
}

size_t kw_lap_at(const struct kw_laps *laps, double time_s)
{
    for (size_t i = 0; i < laps->n; i++) {
        if (time_s >= laps->items[i].start_s && time_s < laps->items[i].end_s)
            return laps->items[i].number;
    }
    return 0;
}
