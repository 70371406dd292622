/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of events that the detectors fill, and the laps it points into. The
 * list owns the evidence of its events: a detector builds a sentence, hands it
 * over and forgets it, so that no detector has to know how long a
 * review lives. */
#include "analysis/scene.h"

#include "core/array.h"
#include "core/text.h"

#include <stdlib.h>

/* The copy is made first: when the list cannot grow there is only that copy to
 * undo, and the list is as it was. */
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

enum kw_status kw_events_tell(struct kw_events *events,
                              const struct kw_event *event,
                              struct kw_text *evidence,
                              struct kw_error *error)
{
    struct kw_event told = *event;
    told.evidence = evidence->bytes;
    const enum kw_status status = kw_text_failed(evidence)
                                      ? kw_fail_memory(error)
                                      : kw_events_add(events, &told, error);
    kw_text_free(evidence);
    return status;
}

/* Kind settles a tie, so that two events of one moment have one order on every
 * machine: qsort() promises none for equals. */
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

/* An empty list has no items, and qsort() must not be given NULL. */
void kw_events_sort(struct kw_events *events)
{
    if (events->n > 1)
        qsort(events->items, events->n, sizeof *events->items, by_start);
}

/* Zeroed, so that freeing twice harms nothing. */
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

size_t kw_sample_before(const struct kw_session *session,
                        size_t i,
                        double back_s)
{
    const double from_s = session->time_s[i] - back_s;
    while (i > 0 && session->time_s[i - 1] >= from_s)
        i--;
    return i;
}

/* The end of a lap is the start of the next and belongs to that one; a linear
 * search is enough for the few dozen laps of a session. */
const struct kw_lap *kw_lap_holding(const struct kw_laps *laps, double time_s)
{
    for (size_t i = 0; laps != NULL && i < laps->n; i++) {
        if (time_s >= laps->items[i].start_s && time_s < laps->items[i].end_s)
            return &laps->items[i];
    }
    return NULL;
}

size_t kw_lap_at(const struct kw_laps *laps, double time_s)
{
    const struct kw_lap *lap = kw_lap_holding(laps, time_s);
    return lap != NULL ? lap->number : 0;
}
