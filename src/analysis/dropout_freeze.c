/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A reading that stands still while the engine does not. A logger that lost its
 * pulse may repeat what it last read; when the signal is back, RPM jumps to
 * where the kart is by then. Or it does not, the kart being as fast again, and
 * only a speed beside it shows that the engine went on. */
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

/* The axle shows that the engine did not stand still: it meets the reading
 * before and after, and not between. A receiver's speed may come 0.2 s late, so
 * the reading has to stand for longer than that. Common practice, no source. */
static const double SHORTEST_BY_AXLE_S = 0.5;
/* Positions of a receiver jump about, and so do speeds that are made of them.
 * Common practice, no source. */
static const double SHORTEST_OFF_AXLE_S = 0.25;
/* Where the log ends with it nothing meets again: then for so much longer. */
static const double SHORTEST_TO_THE_END_S = 3.0;
/* A clutch that slips holds the engine while the axle is slower, but not at
 * this share of the top end. Common practice, no source. */
static const double NO_SLIP_SHARE = 0.75;

/* Confidence for a reading that stood and then leapt beyond what is possible.
 */
static const double SURE = 0.95;

/* Almost all readings stand still no longer. */
static const double USUAL_HOLD = 0.95;

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
static double usual_hold_s(const struct kw_rpm_search *search, double *scratch)
{
    const struct kw_session *session = search->session;
    size_t n = 0;
    for (size_t i = 0; i + 1 < session->n_samples;) {
        const size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (session->rpm[i] > search->limits->locked_rpm &&
            to < session->n_samples)
            scratch[n++] = kw_rpm_seconds(search, i, to);
        i = to;
    }
    return kw_quantile(scratch, n, USUAL_HOLD, scratch);
}

/* How far RPM went in the moments before: a reading that was on its way
 * somewhere does not stop dead by itself. */
static bool moves_before(const struct kw_rpm_search *search, size_t from)
{
    const double *rpm = search->session->rpm;
    size_t first = from;
    for (size_t i = from;
         i-- > 0 && kw_rpm_seconds(search, i, from) <= MOVING_WINDOW_S;) {
        if (!isnan(rpm[i]))
            first = i;
    }
    return fabs(rpm[from] - rpm[first]) >=
           MOVING_SHARE * search->limits->top_rpm;
}

/* The hold ends in an impossible jump, to where the kart can be. */
static bool jumps_free(const struct kw_rpm_search *search,
                       size_t from,
                       size_t to)
{
    return moves_before(search, from) && kw_rpm_next(search, to - 1) == to &&
           !kw_is_plausible(search, to - 1, to) &&
           kw_is_plausible(search, from, to);
}

/* The sample of a hold in which the axle, where it is known, is farthest from
 * the reading; above it, where a clutch that slips may hold the engine. */
static size_t farthest_of_axle(const struct kw_rpm_search *search,
                               size_t from,
                               size_t to)
{
    const double rpm = search->session->rpm[from];
    const bool may_slip = rpm <= NO_SLIP_SHARE * search->limits->top_rpm;
    size_t farthest = from;
    double most_rpm = 0.0;
    for (size_t i = from; i < to; i++) {
        const double above_rpm = search->axle_rpm[i] - rpm;
        const double off_rpm = may_slip ? above_rpm : fabs(above_rpm);
        if (off_rpm > most_rpm) {
            most_rpm = off_rpm;
            farthest = i;
        }
    }
    return farthest;
}

/* For how long the axle was off the reading: faster, or slower than a clutch
 * that slips lets it. */
static double seconds_off_axle(const struct kw_rpm_search *search,
                               size_t from,
                               size_t to)
{
    const double rpm = search->session->rpm[from];
    const bool may_slip = rpm <= NO_SLIP_SHARE * search->limits->top_rpm;
    double off_s = 0.0;
    for (size_t i = from; i < to; i++) {
        if (!isnan(search->axle_rpm[i]) && !kw_meets_axle(search, i, 1.0) &&
            (!may_slip || search->axle_rpm[i] > rpm))
            off_s += kw_rpm_seconds(search, i, i + 1);
    }
    return off_s;
}

/* And not for a moment only, as an odd speed is. */
static bool axle_leaves(const struct kw_rpm_search *search,
                        size_t from,
                        size_t to)
{
    return search->axle_rpm != NULL &&
           seconds_off_axle(search, from, to) >= SHORTEST_OFF_AXLE_S;
}

/* Meanwhile, and then it met the reading again. */
static bool axle_moves(const struct kw_rpm_search *search,
                       size_t from,
                       size_t to)
{
    return kw_rpm_seconds(search, from, to) >= SHORTEST_BY_AXLE_S &&
           kw_meets_axle(search, from, 1.0) && kw_meets_axle(search, to, 1.0) &&
           axle_leaves(search, from, to);
}

/* The log ends with the hold, so that nothing met again. Some loggers hang at
 * another reading than their last: then that one met. */
static bool hangs_to_the_end(const struct kw_rpm_search *search,
                             size_t from,
                             size_t to)
{
    const struct kw_session *session = search->session;
    return end_of_hold(session->rpm, session->n_samples, from) ==
               session->n_samples &&
           kw_rpm_seconds(search, from, to) >= SHORTEST_TO_THE_END_S &&
           (kw_meets_axle(search, from, 1.0) ||
            (from > 0 && kw_meets_axle(search, from - 1, 1.0))) &&
           axle_leaves(search, from, to);
}

/* A hold from `from` to before `to`, or to the log's last sample. */
static bool is_freeze(const struct kw_rpm_search *search,
                      double usual_s,
                      size_t from,
                      size_t to)
{
    const double held = kw_rpm_seconds(search, from, to);
    return search->session->rpm[from] > search->limits->locked_rpm &&
           to - from >= FEWEST_FROZEN && held >= SHORTEST_FREEZE_S &&
           held >= FREEZE_HOLDS * usual_s &&
           (jumps_free(search, from, to) || axle_moves(search, from, to) ||
            hangs_to_the_end(search, from, to));
}

/* In what the driver can see in the log: the jump at its end, or the speed
 * beside it; and what was hidden by it. */
static void say_what_happened(struct kw_text *text,
                              const struct kw_rpm_search *search,
                              const struct kw_span *hold,
                              double *hidden_rpm)
{
    const double *rpm = search->session->rpm;
    const bool jumps = jumps_free(search, hold->from, hold->to);
    *hidden_rpm =
        jumps
            ? rpm[hold->to]
            : search->axle_rpm[farthest_of_axle(search, hold->from, hold->to)];
    kw_text_add(text, "RPM stood still at ");
    kw_text_add_whole(text, rpm[hold->from]);
    kw_text_add(text, " for ");
    kw_text_add_number(text, kw_rpm_seconds(search, hold->from, hold->to), 2);
    kw_text_add(text, jumps ? " s and then jumped to "
                            : " s, while by the kart's speed it went to ");
    kw_text_add_whole(text, *hidden_rpm);
    kw_text_add(text, jumps ? ", faster than the kart can." : ".");
}

/* Its depth is what was hidden. */
static enum kw_status tell_freeze(const struct kw_scene *scene,
                                  const struct kw_rpm_search *search,
                                  const struct kw_span *hold,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    double hidden_rpm;
    struct kw_text text = {0};
    say_what_happened(&text, search, hold, &hidden_rpm);
    struct kw_event event = {
        .start_s = time_s[hold->from],
        .end_s = time_s[hold->to],
        .lap = kw_lap_at(scene->laps, time_s[hold->from]),
        .confidence = SURE,
        .detail.dropout.depth_rpm =
            fabs(hidden_rpm - scene->session->rpm[hold->from]),
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

/* How long readings usually stand still is learned: some loggers write faster
 * than they read, and all their readings repeat. */
enum kw_status kw_find_frozen_signal(const struct kw_scene *scene,
                                     const struct kw_rpm_search *search,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    const struct kw_session *session = search->session;
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double usual_s = usual_hold_s(search, scratch);
    free(scratch);
    if (isnan(usual_s))
        return KW_OK;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i + 1 < session->n_samples && status == KW_OK;) {
        size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (to == session->n_samples)
            to--;
        if (is_freeze(search, usual_s, i, to))
            status = tell_freeze(scene, search, &(struct kw_span){i, to}, found,
                                 error);
        i = to;
    }
    return status;
}
