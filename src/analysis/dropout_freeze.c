/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A reading that stands still while the engine does not. A logger that lost its
 * pulse may repeat what it last read; when the signal is back, RPM jumps to
 * where the kart is by then. */
#include "analysis/dropout_signal.h"

#include "core/array.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* A frozen reading stands still at least so long, and so many times longer than
 * readings usually do in this log. */
static const double SHORTEST_FREEZE_S = 0.15;
static const double FREEZE_HOLDS = 3.0;
enum { FEWEST_FROZEN = 4 };

/* A reading that hardly moved before it stood still may have stood still with
 * the engine: held in a bend, or on the rev limiter. How far back it is looked,
 * and what share of the top end is moving: common practice, no source. */
static const double MOVING_WINDOW_S = 0.6;
static const double MOVING_SHARE = 0.02;

/* Confidence for a reading that stood and then leapt beyond what is possible.
 */
static const double SURE = 0.95;

/* Almost all readings stand still no longer. */
static const double USUAL_HOLD = 0.95;

struct search {
    const struct kw_session *session;
    const struct kw_rate_limits *limits;
    double usual_hold_s;
};

static double seconds(const struct search *search, size_t from, size_t to)
{
    return search->session->time_s[to] - search->session->time_s[from];
}

/* Equal to the bit: a logger that lost its pulse repeats what it last read. A
 * reading that is missing is equal to none and holds for one sample. */
static size_t end_of_hold(const double *rpm, size_t n, size_t from)
{
    size_t to = from + 1;
    while (to < n && rpm[to] >= rpm[from] && rpm[to] <= rpm[from])
        to++;
    return to;
}

/* How long readings usually stand still while the kart is driven. */
static double usual_hold_s(const struct search *search, double *scratch)
{
    const struct kw_session *session = search->session;
    size_t n = 0;
    for (size_t i = 0; i + 1 < session->n_samples;) {
        const size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (session->rpm[i] > search->limits->locked_rpm &&
            to < session->n_samples)
            scratch[n++] = seconds(search, i, to);
        i = to;
    }
    return kw_quantile(scratch, n, USUAL_HOLD, scratch);
}

/* How far RPM went in the moments before: a reading that was on its way
 * somewhere does not stop dead by itself. */
static bool moves_before(const struct search *search, size_t from)
{
    const double *rpm = search->session->rpm;
    size_t first = from;
    for (size_t i = from;
         i-- > 0 && seconds(search, i, from) <= MOVING_WINDOW_S;) {
        if (!isnan(rpm[i]))
            first = i;
    }
    return fabs(rpm[from] - rpm[first]) >=
           MOVING_SHARE * search->limits->top_rpm;
}

/* A hold from `from` to before `to` that ends in an impossible jump. */
static bool is_freeze(const struct search *search, size_t from, size_t to)
{
    const struct kw_session *session = search->session;
    const struct kw_rate_limits *limits = search->limits;
    const double held = seconds(search, from, to);
    return session->rpm[from] > limits->locked_rpm &&
           to - from >= FEWEST_FROZEN && held >= SHORTEST_FREEZE_S &&
           held >= FREEZE_HOLDS * search->usual_hold_s &&
           moves_before(search, from) &&
           kw_next_rpm(session, limits, to - 1) == to &&
           (kw_falls_too_fast(session, limits, to - 1, to) ||
            kw_rises_too_fast(session, limits, to - 1, to)) &&
           !kw_falls_too_fast(session, limits, from, to) &&
           !kw_rises_too_fast(session, limits, from, to);
}

/* Its depth is what was hidden: the jump at its end. */
static enum kw_status tell_freeze(const struct kw_scene *scene,
                                  size_t from,
                                  size_t to,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    struct kw_text text = {0};
    kw_text_add(&text, "RPM stood still at ");
    kw_text_add_whole(&text, session->rpm[from]);
    kw_text_add(&text, " for ");
    kw_text_add_number(&text, session->time_s[to] - session->time_s[from], 2);
    kw_text_add(&text, " s and then jumped to ");
    kw_text_add_whole(&text, session->rpm[to]);
    kw_text_add(&text, ", faster than the kart can.");
    struct kw_event event = {
        .start_s = session->time_s[from],
        .end_s = session->time_s[to],
        .lap = kw_lap_at(scene->laps, session->time_s[from]),
        .confidence = SURE,
        .detail.dropout.depth_rpm = fabs(session->rpm[to] - session->rpm[from]),
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

/* How long readings usually stand still is learned: some loggers write faster
 * than they read, and all their readings repeat. */
enum kw_status kw_find_frozen_signal(const struct kw_scene *scene,
                                     const struct kw_rate_limits *limits,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    struct search search = {.session = session, .limits = limits};
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    search.usual_hold_s = usual_hold_s(&search, scratch);
    free(scratch);
    if (isnan(search.usual_hold_s))
        return KW_OK;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i + 1 < session->n_samples && status == KW_OK;) {
        const size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (to < session->n_samples && is_freeze(&search, i, to))
            status = tell_freeze(scene, i, to, found, error);
        i = to;
    }
    return status;
}
