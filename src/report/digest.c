/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The review in a few numbers.
 *
 * A session with one fault may hold forty findings of it. Told one by one they
 * would fill the screen and hide the second fault: they are told as one, with
 * the worst as the example. */
#include "digest.h"

#include "advice/lap_list.h"
#include "core/array.h"
#include "core/robust.h"
#include "report/words.h"

#include <math.h>
#include <stdlib.h>

/* Spoilt laps are counted and then left aside: a spin says nothing about how
 * fast the kart was. */
enum kw_status kw_digest_laps(const struct kw_laps *laps,
                              struct kw_lap_digest *out,
                              struct kw_error *error)
{
    *out = (struct kw_lap_digest){.best = laps->n, .middle_s = NAN};
    double *times_s = kw_array_new(laps->n, sizeof *times_s, error);
    if (times_s == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        out->n_out += lap->kind == KW_LAP_OUT;
        out->n_in += lap->kind == KW_LAP_IN;
        if (lap->kind != KW_LAP_FLYING)
            continue;
        out->n_spoilt += lap->spoilt;
        if (lap->spoilt)
            continue;
        const double time_s = lap->end_s - lap->start_s;
        if (out->best == laps->n || time_s < laps->items[out->best].end_s -
                                                 laps->items[out->best].start_s)
            out->best = i;
        times_s[out->n_flying++] = time_s;
    }
    /* One slow lap must not move it, as it would move a mean. */
    out->middle_s = kw_median(times_s, out->n_flying, times_s);
    free(times_s);
    return KW_OK;
}

/* What tells events of one kind apart: the region or the cause. */
static int sort_of(const struct kw_event *event)
{
    if (event->kind == KW_LEAN)
        return (int)event->detail.lean.region;
    if (event->kind == KW_DROPOUT)
        return (int)event->detail.dropout.cause;
    return 0;
}

/* Lean at the top end and lean at idle are two faults with two parts to turn
 * to: they are told apart. */
static bool same_group(const struct kw_event *a, const struct kw_event *b)
{
    return a->kind == b->kind && sort_of(a) == sort_of(b);
}

/* How far out an event is, within its group. */
static double size_of(const struct kw_event *event)
{
    double size = event->end_s - event->start_s;
    if (event->kind == KW_LEAN)
        size = event->detail.lean.excess_c;
    if (event->kind == KW_DROPOUT)
        size = event->detail.dropout.depth_rpm;
    return isfinite(size) ? size : 0.0;
}

/* Severity first: a small finding that must be seen to before the next run
 * comes before a large one that can wait. */
static bool presses_more(const struct kw_event *a, const struct kw_event *b)
{
    if (a->severity != b->severity)
        return a->severity > b->severity;
    return size_of(a) > size_of(b);
}

/* Puts event i into the group it belongs to, or opens one. */
static void add_to_groups(const struct kw_events *events,
                          size_t i,
                          struct kw_event_group *groups,
                          size_t *n)
{
    const struct kw_event *event = &events->items[i];
    for (size_t g = 0; g < *n; g++) {
        if (!same_group(event, &events->items[groups[g].first]))
            continue;
        groups[g].n++;
        if (presses_more(event, &events->items[groups[g].worst]))
            groups[g].worst = i;
        return;
    }
    if (*n < KW_MOST_GROUPS)
        groups[(*n)++] = (struct kw_event_group){i, i, 1};
}

/* Clutch engagements are no findings, they are told apart; all else is
 * grouped. */
size_t kw_group_events(const struct kw_events *events,
                       struct kw_event_group groups[KW_MOST_GROUPS])
{
    size_t n = 0;
    for (size_t i = 0; i < events->n; i++) {
        if (events->items[i].kind != KW_CLUTCH_ENGAGEMENT)
            add_to_groups(events, i, groups, &n);
    }
    /* Insertion sort: few groups, and equal ones keep their order in time. */
    for (size_t i = 1; i < n; i++) {
        for (size_t j = i; j > 0; j--) {
            const struct kw_event *a = &events->items[groups[j - 1].worst];
            const struct kw_event *b = &events->items[groups[j].worst];
            if (a->severity >= b->severity)
                break;
            const struct kw_event_group moved = groups[j];
            groups[j] = groups[j - 1];
            groups[j - 1] = moved;
        }
    }
    return n;
}

/* A group and the events it is among. */
struct group_of {
    const struct kw_events *events;
    const struct kw_event *like;
};

/* Was the lap touched by an event of the group? */
static bool has_of_group(const struct kw_lap *lap, const void *what)
{
    const struct group_of *group = what;
    for (size_t i = 0; i < group->events->n; i++) {
        const struct kw_event *event = &group->events->items[i];
        if (same_group(event, group->like) && kw_event_is_on(event, lap))
            return true;
    }
    return false;
}

/* "laps 3, 5 and 6": the laps of the events like `like`; "outside the laps"
 * where there is none. */
static void add_laps(struct kw_text *text,
                     const struct kw_review *review,
                     const struct kw_event *like)
{
    const struct group_of group = {&review->events, like};
    const struct kw_lap_list list = {&review->laps, has_of_group, &group};
    if (kw_add_lap_list(text, &list) == 0)
        kw_text_add(text, "outside the laps");
}

/* "9,800 RPM down, ": a number with what stands behind it. */
static void add_quantity(struct kw_text *text,
                         double value,
                         const char *unit_and_words)
{
    kw_text_add_whole(text, value);
    kw_text_addf(text, " %s", unit_and_words);
}

/* Only what is known is said; how long it lasted always is. */
static void add_numbers(struct kw_text *text, const struct kw_event *event)
{
    const struct kw_lean *lean = &event->detail.lean;
    if (event->kind == KW_LEAN && isfinite(lean->excess_c))
        add_quantity(text, lean->excess_c,
                     lean->basis == KW_BASIS_LIMIT       ? "C over the limit, "
                     : lean->basis == KW_BASIS_REFERENCE ? "C over the "
                                                           "reference, "
                                                         : "C over what was "
                                                           "expected, ");
    if (event->kind == KW_LEAN && isfinite(lean->peak_egt_c))
        add_quantity(text, lean->peak_egt_c, "C at most, ");
    if (event->kind == KW_DROPOUT && isfinite(event->detail.dropout.depth_rpm))
        add_quantity(text, event->detail.dropout.depth_rpm,
                     event->detail.dropout.cause == KW_CAUSE_FUEL_RESTRICTION
                         ? "RPM short of a good pull, "
                         : "RPM down, ");
    if (event->kind == KW_CLUTCH_ENGAGEMENT &&
        isfinite(event->detail.engagement.hold_rpm))
        add_quantity(text, event->detail.engagement.hold_rpm,
                     "RPM held while it slipped, ");
    kw_text_add(text, "for ");
    kw_add_duration(text, event->end_s - event->start_s);
}

/* One line for all that are alike, with the place of the worst: that is the one
 * to look up in the plots. */
void kw_add_group(struct kw_text *text,
                  const struct kw_review *review,
                  const struct kw_event_group *group)
{
    const struct kw_event *worst = &review->events.items[group->worst];
    kw_text_add(text, ": ");
    if (group->n > 1)
        kw_text_addf(text, "%zu times, ", group->n);
    add_laps(text, review, worst);
    kw_text_add(text, group->n > 1 ? "; worst at " : "; at ");
    kw_add_clock(text, worst->start_s, 1);
    kw_text_add(text, ", ");
    add_numbers(text, worst);
}
