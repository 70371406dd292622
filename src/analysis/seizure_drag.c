/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A driver who lifts lets the gas cool at once. Where RPM falls for seconds and
 * the gas stays hot, something holds the engine: a piston that picks up, or a
 * want of fuel, which comes back pull after pull and is over with a lift. */
#include "analysis/seizure_drag.h"

#include "analysis/gas_depth.h"
#include "core/array.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Long beside what bumps do to RPM, short beside a fall. Common practice, no
 * source. */
static const double RPM_S = 0.5;

/* RPM falls until they rise by this share of the top end (common practice, no
 * source). */
static const double RISES = 0.02;

/* By so much of the top end while the gas is hot, and for so long: a headwind
 * or a long bend at full throttle takes less. Common practice, no source. */
static const double FALL = 0.2;
static const double LASTS_S = 2.0;
/* And by no more each second: what falls faster was braked. Common practice, no
 * source. */
static const double MOST_EACH_S = 0.14;

/* What falls in the last moments of it may be the lift already, for the lag is
 * not known to the tenth. Common practice, no source. */
static const double LATE_S = 0.6;

/* RPM that are missing for longer may have fallen at once (common practice, no
 * source). */
static const double HOLE_S = 0.6;

/* Hot: the depth of the gas, so near to that under load (see
 * kw_find_gas_depth()). Common practice, no source. */
static const double HOT = -0.6;

/* Above this share of where it fell from it works again, and until then the log
 * has to go on for so long. Common practice, no source. */
static const double WORKS_AGAIN = 0.7;
static const double GOES_ON_S = 5.0;

/* rpm, depth  [n_samples]: smoothed, and how deep the gas is. */
struct drag_search {
    const struct kw_session *session;
    const double *rpm;
    const double *depth;
    double top_rpm;
    const struct kw_events *events;
};

/* What falls within hot gas from a sample on: from where RPM were last as high
 * as that, so that a long time at the top makes no slow fall of a quick one.
 *
 * end  the last sample of hot gas without a rise in it. */
static struct kw_drag measure(const struct drag_search *s,
                              size_t from,
                              size_t *end)
{
    const struct kw_session *session = s->session;
    const double *rpm = s->rpm;
    struct kw_drag drag = {{from, from}, rpm[from], rpm[from], -INFINITY};
    double lowest_rpm = rpm[from];
    *end = from;
    for (size_t i = from; i < session->n_samples; i++) {
        if (isnan(rpm[i]))
            continue;
        if (!(s->depth[i] < HOT) || rpm[i] > lowest_rpm + RISES * s->top_rpm ||
            session->time_s[i] - session->time_s[*end] > HOLE_S)
            break;
        if (rpm[i] >= drag.from_rpm - RISES * s->top_rpm)
            drag.span.from = i;
        lowest_rpm = fmin(lowest_rpm, rpm[i]);
        drag.gas_c = fmax(drag.gas_c, session->gas_c[i]);
        *end = i;
    }
    drag.span.to = kw_sample_before(session, *end, LATE_S);
    drag.to_rpm = rpm[drag.span.to];
    return drag;
}

/* RPM that were not the engine's where the fall begins: a reading that is
 * doubled falls as well. */
static bool begins_lost(const struct drag_search *s, const struct kw_drag *drag)
{
    const double from_s = s->session->time_s[drag->span.from];
    for (size_t e = 0; s->events != NULL && e < s->events->n; e++) {
        const struct kw_event *event = &s->events->items[e];
        if (event->kind == KW_DROPOUT &&
            event->detail.dropout.cause == KW_CAUSE_LOOSE_CONNECTION &&
            event->start_s <= from_s + RPM_S && event->end_s >= from_s - RPM_S)
            return true;
    }
    return false;
}

static bool is_drag(const struct drag_search *s, const struct kw_drag *drag)
{
    const double *time_s = s->session->time_s;
    const double for_s = time_s[drag->span.to] - time_s[drag->span.from];
    const double fall_rpm = drag->from_rpm - drag->to_rpm;
    return for_s >= LASTS_S && fall_rpm >= FALL * s->top_rpm &&
           fall_rpm <= MOST_EACH_S * s->top_rpm * for_s &&
           !begins_lost(s, drag);
}

/* It turns as fast again, or the log ends too soon to tell. */
static bool works_again(const struct drag_search *s, const struct kw_drag *drag)
{
    const struct kw_session *session = s->session;
    const double end_s = session->time_s[session->n_samples - 1];
    for (size_t i = drag->span.to; i < session->n_samples; i++) {
        if (s->rpm[i] > WORKS_AGAIN * drag->from_rpm &&
            s->rpm[i] > drag->to_rpm)
            return true;
    }
    return end_s - session->time_s[drag->span.to] < GOES_ON_S;
}

/* What falls twice came back once: no piston. */
static void find_only_one(const struct drag_search *s, struct kw_drag *out)
{
    size_t n = 0;
    for (size_t i = 0; i + 1 < s->session->n_samples; i++) {
        if (!(s->rpm[i + 1] < s->rpm[i]))
            continue;
        size_t end;
        const struct kw_drag drag = measure(s, i, &end);
        if (is_drag(s, &drag)) {
            *out = drag;
            n++;
        }
        i = end;
    }
    if (n != 1 || works_again(s, out))
        *out = (struct kw_drag){.span = {0, 0}};
}

enum kw_status kw_find_drag(const struct kw_scene *scene,
                            double top_rpm,
                            struct kw_drag *out,
                            struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    *out = (struct kw_drag){.span = {0, 0}};
    if (!kw_has_gas_depth(scene))
        return KW_OK;
    double *rpm = kw_array_new(n, 2 * sizeof *rpm, error);
    if (rpm == NULL)
        return KW_NO_MEMORY;
    const struct drag_search s = {scene->session, rpm, rpm + n, top_rpm,
                                  scene->events};
    kw_smooth(scene->session, scene->session->rpm, RPM_S, rpm);
    const enum kw_status status =
        kw_find_gas_depth(scene, rpm, top_rpm, rpm + n, error);
    if (status == KW_OK)
        find_only_one(&s, out);
    free(rpm);
    return status;
}
