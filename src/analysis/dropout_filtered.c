/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Losses that the logger itself hides. A signal that was half for 0.3 s never
 * reads half behind a filter of 0.2 s, and has no edges; with the filter taken
 * out it has both. So it is where a logger draws lines between readings: an
 * edge is one of them, and no steeper than brakes are from row to row. What is
 * then found is held to more than the rest: an engine that idles or is revved
 * on a stand gets edges too. */
#include "analysis/dropout_signal.h"

#include "analysis/logger_filter.h"
#include "analysis/logger_ramp.h"
#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* Behind its end RPM is where the kart is within so long, and as long before it
 * was. Common practice, no source. */
static const double LANDS_S = 0.3;

/* And it was off by this share of where the kart was: half, nothing or twice is
 * more, and what a clutch that is let go or a wheel that hops takes is less.
 * Common practice, no source. */
static const double LEAST_OFF = 0.4;

/* From a time (in) to another (out). */
static double highest_rpm_within(const struct kw_session *session,
                                 double from_s,
                                 double to_s)
{
    double highest_rpm = 0.0;
    for (size_t i = 0; i < session->n_samples && session->time_s[i] < to_s;
         i++) {
        if (session->time_s[i] >= from_s)
            highest_rpm = fmax(highest_rpm, session->rpm[i]);
    }
    return highest_rpm;
}

/* Far off, from a kart that drives to one; by RPM without the filter, behind
 * which it may not be back between two losses. */
static bool is_loss(const struct kw_session *session,
                    double locked_rpm,
                    const struct kw_event *event)
{
    const double before_rpm =
        highest_rpm_within(session, event->start_s - LANDS_S, event->start_s);
    const double behind_rpm =
        highest_rpm_within(session, event->end_s, event->end_s + LANDS_S);
    return before_rpm > locked_rpm && behind_rpm > locked_rpm &&
           event->detail.dropout.depth_rpm >
               LEAST_OFF * fmin(before_rpm, behind_rpm);
}

/* Seen without the filter's help, and told. */
static bool is_known(const struct kw_events *found,
                     size_t n_known,
                     const struct kw_event *event)
{
    for (size_t i = 0; i < n_known; i++) {
        if (event->start_s <= found->items[i].end_s &&
            event->end_s >= found->items[i].start_s)
            return true;
    }
    return false;
}

/* Copies what counts into found. */
static enum kw_status take_over(const struct kw_session *session,
                                double locked_rpm,
                                const struct kw_events *hidden,
                                struct kw_events *found,
                                struct kw_error *error)
{
    const size_t n_known = found->n;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < hidden->n && status == KW_OK; i++) {
        const struct kw_event *event = &hidden->items[i];
        if (!is_loss(session, locked_rpm, event) ||
            is_known(found, n_known, event))
            continue;
        /* The reader looks for it in the plot, which shows less. */
        struct kw_text text = {0};
        kw_text_add(&text, event->evidence);
        kw_text_add(&text, " So it was before the logger smoothed it: the log "
                           "shows less.");
        status = kw_events_tell(found, event, &text, error);
    }
    return status;
}

/* With the filter taken out RPM is as unsteady as the filter made it steady:
 * what is too fast is learned anew. */
static enum kw_status find_behind(const struct kw_scene *scene,
                                  const struct kw_rpm_search *search,
                                  const struct kw_session *session,
                                  struct kw_events *hidden,
                                  struct kw_error *error)
{
    struct kw_rate_limits limits;
    enum kw_status status =
        kw_find_rate_limits(session, scene->profile, &limits, error);
    if (status != KW_OK || isnan(limits.top_rpm))
        return status;
    struct kw_scene unfiltered = *scene;
    struct kw_rpm_search behind = *search;
    unfiltered.session = session;
    behind.session = session;
    behind.limits = &limits;
    status = kw_find_signal_dropouts(&unfiltered, &behind, hidden, error);
    if (status == KW_OK)
        status = kw_find_scattered_signal(&unfiltered, &behind, hidden, error);
    return status;
}

/* What the logger read, where it is seen to have made something else of it: a
 * filter, or lines. A filter's edges may look like a few lines, but no line
 * goes on as a filter does. */
static enum kw_status undo_logger(const struct kw_rpm_search *search,
                                  double *rpm,
                                  bool *is_undone,
                                  struct kw_error *error)
{
    double lag_s = NAN;
    double line_s = NAN;
    enum kw_status status = kw_undo_logger_filter(
        search->session, search->limits->top_rpm, rpm, &lag_s, error);
    if (status == KW_OK && isnan(lag_s))
        status = kw_undo_logger_ramp(search->session, rpm, &line_s, error);
    *is_undone = !isnan(lag_s) || !isnan(line_s);
    return status;
}

enum kw_status kw_find_filtered_dropouts(const struct kw_scene *scene,
                                         const struct kw_rpm_search *search,
                                         struct kw_events *found,
                                         struct kw_error *error)
{
    if (!search->is_driven)
        return KW_OK;
    struct kw_session session = *search->session;
    double *rpm = kw_array_new(session.n_samples, sizeof *rpm, error);
    if (rpm == NULL)
        return KW_NO_MEMORY;
    bool is_undone = false;
    struct kw_events hidden = {0};
    enum kw_status status = undo_logger(search, rpm, &is_undone, error);
    session.rpm = rpm;
    if (status == KW_OK && is_undone)
        status = find_behind(scene, search, &session, &hidden, error);
    if (status == KW_OK)
        status = take_over(&session, search->limits->locked_rpm, &hidden, found,
                           error);
    kw_events_free(&hidden);
    free(rpm);
    return status;
}
