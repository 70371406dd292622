/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starved pulls. A driver who lifts, a slow corner or traffic lets the exhaust
 * cool; an engine that wants fuel falls behind with an exhaust as hot as in a
 * full pull, or hotter. Four witnesses are heard: a rise that ends at once
 * (fuel_hold.c), RPM that sinks while the gas climbs (fuel_sink.c), gas that
 * turns upward as RPM turns over (fuel_kink.c) and a stretch behind the good
 * pulls and laps (fuel_sag.c). What they say of one pull is one drop-out, and a
 * few that are unlike all others are none (fuel_unlike.c). */
#include "analysis/dropout_fuel.h"

#include "analysis/fuel_hold.h"
#include "analysis/fuel_kink.h"
#include "analysis/fuel_sink.h"
#include "analysis/fuel_unlike.h"
#include "analysis/load.h"
#include "analysis/pull_heat.h"
#include "analysis/usual_pace.h"
#include "core/array.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* Sags of one pull are one drop-out (contract). Where the load cannot be told
 * from RPM that falls, pauses shorter than this are within one pull: an engine
 * that hunts for fuel coughs more than once. */
static const double LONGEST_PAUSE_S = 1.2;

/* ---- one for each pull --------------------------------------------------- */

/* They were found apart: in order they can be merged. */
static int by_start(const void *a, const void *b)
{
    const size_t x = ((const struct kw_fuel_sag *)a)->span.from;
    const size_t y = ((const struct kw_fuel_sag *)b)->span.from;
    return (x > y) - (x < y);
}

/* Whether some pull holds both samples. */
static bool is_one_pull(const struct kw_pulls *pulls, size_t from, size_t to)
{
    for (size_t k = 0; k < pulls->n; k++) {
        if (pulls->items[k].span.from <= from && to < pulls->items[k].span.to)
            return true;
    }
    return false;
}

/* Sags of one pull are one drop-out (contract). */
static bool belong_together(const struct kw_scene *scene,
                            const struct kw_fuel_sag *a,
                            const struct kw_fuel_sag *b)
{
    const double *time_s = scene->session->time_s;
    return time_s[b->span.from] - time_s[a->span.to - 1] <= LONGEST_PAUSE_S ||
           is_one_pull(scene->pulls, a->span.to - 1, b->span.from);
}

/* The two see the same loss, so the larger one stands and not the sum. */
static void merge(const struct kw_scene *scene, struct kw_fuel_sags *sags)
{
    size_t n = 0;
    if (sags->n > 1)
        qsort(sags->items, sags->n, sizeof *sags->items, by_start);
    for (size_t k = 0; k < sags->n; k++) {
        const struct kw_fuel_sag *sag = &sags->items[k];
        struct kw_fuel_sag *last = n > 0 ? &sags->items[n - 1] : NULL;
        if (last == NULL || !belong_together(scene, last, sag)) {
            sags->items[n++] = *sag;
            continue;
        }
        last->span.to =
            sag->span.to > last->span.to ? sag->span.to : last->span.to;
        last->lost_rpm = fmax(last->lost_rpm, sag->lost_rpm);
        last->confidence = fmax(last->confidence, sag->confidence);
    }
    sags->n = n;
}

/* ---- what else holds RPM ------------------------------------------------- */

/* A drop-out returns (contract). An engine that stands so soon after it sagged
 * did not: whether it seized is for another detector. */
static const double STANDS_SOON_S = 2.0;

/* Whether the run ends with the sag, or soon after it. */
static bool engine_stops(const struct kw_scene *scene,
                         const struct kw_fuel_sag *sag)
{
    const double *time_s = scene->session->time_s;
    const struct kw_spans *runs = &scene->running->spans;
    for (size_t r = 0; r < runs->n; r++) {
        const size_t to = runs->items[r].to;
        if (to >= sag->span.to && to < scene->session->n_samples &&
            time_s[to] - time_s[sag->span.to - 1] < STANDS_SOON_S)
            return true;
    }
    return false;
}

/* A clutch that slips holds the engine while the kart gathers speed. */
static bool is_a_start(const struct kw_scene *scene,
                       const struct kw_fuel_sag *sag)
{
    const double *time_s = scene->session->time_s;
    for (size_t e = 0; scene->events != NULL && e < scene->events->n; e++) {
        const struct kw_event *event = &scene->events->items[e];
        if (event->kind == KW_CLUTCH_ENGAGEMENT &&
            event->start_s < time_s[sag->span.to - 1] &&
            event->end_s > time_s[sag->span.from])
            return true;
    }
    return false;
}

/* Where this much of a sag is a drop-out already, its RPM were not the
 * engine's; nor were they where they did not move by a digit for so long
 * (common practice, no source). */
static const double LOST_SHARE = 0.5;
static const double FROZEN_S = 4.0;

/* No engine keeps its speed to the last digit. */
static bool is_frozen(const struct kw_session *session,
                      const struct kw_span *span)
{
    double lowest = INFINITY;
    double highest = -INFINITY;
    for (size_t i = span->from; i < span->to; i++) {
        lowest = fmin(lowest, session->rpm[i]);
        highest = fmax(highest, session->rpm[i]);
    }
    return !(highest > lowest) &&
           session->time_s[span->to - 1] - session->time_s[span->from] >=
               FROZEN_S;
}

/* A reading that vanished or froze tells nothing of the fuel. */
static bool is_lost(const struct kw_scene *scene,
                    const struct kw_events *found,
                    const struct kw_fuel_sag *sag)
{
    const double from_s = scene->session->time_s[sag->span.from];
    const double to_s = scene->session->time_s[sag->span.to - 1];
    double lost_s = 0.0;
    for (size_t e = 0; e < found->n; e++) {
        const struct kw_event *event = &found->items[e];
        if (event->kind == KW_DROPOUT &&
            event->detail.dropout.cause != KW_CAUSE_FUEL_RESTRICTION)
            lost_s += fmax(
                fmin(event->end_s, to_s) - fmax(event->start_s, from_s), 0.0);
    }
    return lost_s > LOST_SHARE * (to_s - from_s) ||
           is_frozen(scene->session, &sag->span);
}

/* An engine that wants fuel is fed again by each lift, so its pulls begin as
 * cool as others. One that is hot from its first moment, by so much and by
 * nearly as much as later on, has the wrong mixture and is weak for that: lean,
 * and for another detector. 2.5 % of fuel at 10 C for each (common practice, no
 * source). */
static const double FIRST_HOT_C = 25.0;
static const double FIRST_HOT_SHARE = 0.6;
/* And it goes on gathering speed, by this share of where it begins: one that
 * stops rising wants fuel, whatever the mixture is. */
static const double STILL_GAINS_SHARE = 0.1;

static bool begins_hot(const struct kw_scene *scene,
                       const struct kw_fuel_sag *sag)
{
    const struct kw_span *span = &sag->span;
    const double *rpm = scene->session->rpm;
    const size_t middle = span->from + (span->to - span->from) / 2;
    const double first_c =
        kw_first_excess_c(scene, kw_pull_begin(scene, middle), span->to);
    const double all_c = kw_mean_excess_c(scene, span->from, span->to);
    return rpm[span->to - 1] >= (1.0 + STILL_GAINS_SHARE) * rpm[span->from] &&
           first_c >= fmax(FIRST_HOT_C, FIRST_HOT_SHARE * all_c);
}

/* ---- telling it ---------------------------------------------------------- */

/* Gas of the sag at its hottest, but for a fifth of the readings: a spike is
 * no heat. */
static double hot_c(const struct kw_session *session,
                    const struct kw_span *span,
                    double *scratch)
{
    const size_t n = kw_finite_copy(&session->gas_c[span->from],
                                    span->to - span->from, scratch);
    return kw_quantile(scratch, n, 0.8, scratch);
}

/* Less is not worth a number: where most pulls starve, so does the middle one.
 * It may even be cooler than that, for less gas goes through while RPM sinks,
 * but by less than after a lift. */
static const double LEAST_HOTTER_C = 5.0;
/* Over the sag; as after a lift, and with too little fuel left to burn, it
 * cools by more (common practice, no source). */
static const double COOLED_C = 30.0;

/* RPM that passes both ends of a sag by more than this share went up and came
 * back; less is noise. */
static const double CAME_BACK_SHARE = 0.01;

/* From .. to, and over its highest where it came back from there. */
static void say_way(struct kw_text *text,
                    const double *rpm,
                    size_t first,
                    size_t last)
{
    double highest = rpm[first];
    for (size_t i = first; i <= last; i++)
        highest = fmax(highest, rpm[i]);
    kw_text_add(text, "RPM went from ");
    kw_text_add_whole(text, rpm[first]);
    kw_text_add(text, " to ");
    if (highest > (1.0 + CAME_BACK_SHARE) * fmax(rpm[first], rpm[last])) {
        kw_text_add_whole(text, highest);
        kw_text_add(text, " and back to ");
    }
    kw_text_add_whole(text, rpm[last]);
}

/* In the numbers that the driver can find in the plot. */
static void say_what_happened(struct kw_text *text,
                              const struct kw_session *session,
                              const struct kw_span *span,
                              double hotter_c)
{
    /* Readings may be missing at the ends where the throttle told the load. */
    size_t first = span->from;
    size_t last = span->to - 1;
    while (first < last && isnan(session->rpm[first]))
        first++;
    while (last > first && isnan(session->rpm[last]))
        last--;
    say_way(text, session->rpm, first, last);
    kw_text_add(text, " in ");
    kw_text_add_number(
        text, session->time_s[span->to - 1] - session->time_s[span->from], 1);
    kw_text_add(text, " s, where an engine that gets its fuel gains more, ");
    if (hotter_c < LEAST_HOTTER_C) {
        const double warmed_c = session->gas_c[last] - session->gas_c[first];
        kw_text_add(text, warmed_c < -COOLED_C
                              ? "and the exhaust, hot at first, cooled: too "
                                "little was left to burn."
                              : "and the exhaust did not cool as after a "
                                "lift.");
        return;
    }
    kw_text_add(text, "with the exhaust ");
    kw_text_add_number(text, hotter_c, 0);
    kw_text_add(text, " C hotter than in an ordinary pull.");
}

/* To be seen to before the race: hunger is lean, and a lean engine that is
 * driven on seizes. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_fuel_sag *sag,
                           double hotter_c,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    struct kw_text text = {0};
    say_what_happened(&text, scene->session, &sag->span, hotter_c);
    struct kw_event event = {
        .kind = KW_DROPOUT,
        .start_s = time_s[sag->span.from],
        .end_s = time_s[sag->span.to - 1],
        .lap = kw_lap_at(scene->laps, time_s[sag->span.from]),
        .severity = KW_BEFORE_NEXT_RACE,
        .confidence = sag->confidence,
    };
    event.detail.dropout.depth_rpm = sag->lost_rpm;
    event.detail.dropout.cause = KW_CAUSE_FUEL_RESTRICTION;
    return kw_events_tell(found, &event, &text, error);
}

/* All sags of the session, one for each pull. */
static enum kw_status hear_witnesses(const struct kw_scene *scene,
                                     const struct kw_rate_limits *limits,
                                     const struct kw_events *found,
                                     struct kw_fuel_sags *sags,
                                     struct kw_error *error)
{
    double *best_rpm =
        kw_array_new(scene->session->n_samples, sizeof *best_rpm, error);
    if (best_rpm == NULL)
        return KW_NO_MEMORY;
    enum kw_status status =
        kw_find_usual_pace(scene, KW_BEST_LAPS, best_rpm, error);
    if (status == KW_OK)
        status = kw_find_fuel_holds(scene, found, sags, error);
    if (status == KW_OK)
        status = kw_find_fuel_sinks(scene, limits, best_rpm, sags, error);
    if (status == KW_OK)
        status = kw_find_fuel_kinks(scene, limits, best_rpm, sags, error);
    if (status == KW_OK)
        status = kw_find_fuel_sags(scene, limits, best_rpm, sags, error);
    if (status == KW_OK)
        merge(scene, sags);
    free(best_rpm);
    return status;
}

/* What another detector explains, or nothing does, is left out. */
static void keep_own(const struct kw_scene *scene,
                     const struct kw_events *found,
                     struct kw_fuel_sags *sags)
{
    size_t kept = 0;
    for (size_t k = 0; k < sags->n; k++) {
        const struct kw_fuel_sag sag = sags->items[k];
        if (!engine_stops(scene, &sag) && !is_a_start(scene, &sag) &&
            !is_lost(scene, found, &sag) && !begins_hot(scene, &sag))
            sags->items[kept++] = sag;
    }
    sags->n = kept;
}

/* scratch  room for two values for each sample. */
static enum kw_status tell_all(const struct kw_scene *scene,
                               struct kw_fuel_sags *sags,
                               double *scratch,
                               struct kw_events *found,
                               struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    double *hotter_c = scratch + session->n_samples;
    const double pull_c =
        kw_pulls_quantile(scene->pulls, session->gas_c, 0.5, scratch);
    for (size_t k = 0; k < sags->n; k++)
        hotter_c[k] = hot_c(session, &sags->items[k].span, scratch) - pull_c;
    kw_drop_unlike_sags(sags, hotter_c, scratch);
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < sags->n; k++)
        status = tell(scene, &sags->items[k], hotter_c[k], found, error);
    return status;
}

/* Without EGT nothing tells hunger from a driver who lifts, so nothing is
 * said. */
enum kw_status kw_find_fuel_dropouts(const struct kw_scene *scene,
                                     const struct kw_rate_limits *limits,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    if (scene->session->gas_c == NULL || scene->expected_c == NULL ||
        scene->pulls->n == 0)
        return KW_OK;
    double *scratch =
        kw_array_new(2 * scene->session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    struct kw_fuel_sags sags = {0};
    enum kw_status status = hear_witnesses(scene, limits, found, &sags, error);
    if (status == KW_OK) {
        keep_own(scene, found, &sags);
        status = tell_all(scene, &sags, scratch, found, error);
    }
    free(sags.items);
    free(scratch);
    return status;
}
