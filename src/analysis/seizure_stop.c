/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A driver who comes in lets the engine idle before he switches it off, and one
 * who spins stalls it at once. An engine that ran lean pull after pull, and
 * then falls through the speeds at which it would idle, was stopped by
 * something. */
#include "analysis/seizure_stop.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Numbers here are common practice, no source.
 *
 * It worked: from this share of the top end it falls, for so long. What is over
 * sooner was switched off or stalled; what takes longer rolled out. */
static const double WORKING = 0.5;
static const double SHORTEST_S = 2.0;
static const double LONGEST_S = 8.0;
/* On the way it never rises by more than this share of the top end, and nowhere
 * stays within the second for so long: it neither works again nor idles. */
static const double RISES = 0.02;
static const double STAYS = 0.03;
static const double STAYS_S = 0.8;
/* In the last of so many seconds before it, the pulls: too hot by five percent
 * of fuel at 10 C each, for so long, and more often than not. */
static const double BEFORE_S = 20.0;
static const double HOT_C = 50.0;
static const double HOT_S = 4.0;
static const double HOT_SHARE = 0.5;

/* From where RPM fell to a standstill. */
static size_t falls_from(const struct kw_session *session,
                         double top_rpm,
                         size_t stood)
{
    const double *rpm = session->rpm;
    size_t top = stood;
    for (size_t i = stood; i-- > 0;) {
        if (session->time_s[stood] - session->time_s[i] > 2.0 * LONGEST_S)
            break;
        if (isnan(rpm[i]))
            continue;
        if (top < stood && rpm[i] < rpm[top] - RISES * top_rpm)
            break;
        if (top == stood || rpm[i] > rpm[top])
            top = i;
    }
    return top;
}

/* It rests somewhere on its way down, as at its idle. */
static bool rests(const struct kw_session *session,
                  double top_rpm,
                  size_t from,
                  size_t to)
{
    size_t first = from;
    for (size_t i = from; i < to; i++) {
        /* One that is missing says nothing, and ends no stay. */
        if (isnan(session->rpm[i]))
            continue;
        while (first < i &&
               !(session->rpm[first] - session->rpm[i] < STAYS * top_rpm))
            first++;
        if (session->rpm[i] < WORKING * top_rpm &&
            session->time_s[i] - session->time_s[first] > STAYS_S)
            return true;
    }
    return false;
}

/* How the pulls before it were; false where they were not too hot.
 *
 * scratch  scratch[n_samples]. */
static bool was_lean(const struct kw_scene *scene,
                     struct kw_hot_stop *stop,
                     double *scratch)
{
    const struct kw_session *session = scene->session;
    const size_t from = kw_sample_before(session, stop->span.from, BEFORE_S);
    size_t hot = 0;
    size_t pulling = 0;
    for (size_t i = from; i < stop->span.from; i++) {
        const double excess_c = session->gas_c[i] - scene->expected_c[i];
        if (!kw_under_load(scene->load[i]) || isnan(excess_c))
            continue;
        pulling++;
        if (excess_c > HOT_C)
            scratch[hot++] = excess_c;
    }
    stop->hot_s = (double)hot / session->rate_hz;
    stop->excess_c = kw_median(scratch, hot, scratch);
    return stop->hot_s >= HOT_S && (double)hot > HOT_SHARE * (double)pulling;
}

enum kw_status kw_find_hot_stop(const struct kw_scene *scene,
                                double top_rpm,
                                struct kw_hot_stop *out,
                                struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const struct kw_spans *runs = &scene->running->spans;
    *out = (struct kw_hot_stop){.span = {0, 0}};
    if (scene->expected_c == NULL || runs->n == 0 ||
        runs->items[runs->n - 1].to >= session->n_samples)
        return KW_OK;
    const size_t stood = runs->items[runs->n - 1].to;
    struct kw_hot_stop stop = {
        .span = {falls_from(session, top_rpm, stood), stood}};
    stop.from_rpm = session->rpm[stop.span.from];
    const double fell_s =
        session->time_s[stood] - session->time_s[stop.span.from];
    if (!(stop.from_rpm >= WORKING * top_rpm) || fell_s < SHORTEST_S ||
        fell_s > LONGEST_S || rests(session, top_rpm, stop.span.from, stood))
        return KW_OK;
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    if (was_lean(scene, &stop, scratch))
        *out = stop;
    free(scratch);
    return KW_OK;
}
