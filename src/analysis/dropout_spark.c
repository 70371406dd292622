/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A spark that cuts out and comes back. RPM falls as it does after a lift, so
 * it tells nothing. The exhaust does: an engine that is shut goes on burning
 * what little it gets, one without a spark pumps its cold mixture past the
 * probe. The probe's lag taken out, the gas falls well below where this
 * session's lifts leave it. */
#include "analysis/dropout_signal.h"

#include "analysis/gas_depth.h"
#include "core/array.h"
#include "signal/gas.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Long beside the noise of a reading, short beside a cut. Common practice, no
 * source. */
static const double RPM_S = 0.3;

/* How deep a cut is (see kw_find_gas_depth()), and where it begins and is over.
 * Without a spark the gas falls by some 500 C, after a lift by 100 to 250 C
 * (common practice, no source). */
static const double DEEP = 0.9;
static const double EDGE = 0.4;
static const double SHORTEST_S = 0.25;
/* One reading may be a bad one, and a slow probe makes a line of it (common
 * practice, no source). */
enum { FEWEST_READINGS = 2 };

/* The engine did fall off, but rolled and was not braked: shares of the top
 * end, in all and each second. Brakes take 0.2 to 0.35 of it (common practice,
 * no source). RPM turns over this long at most before the exhaust falls, and it
 * turns up this long at most behind that. */
static const double LEAST_LOSS = 0.015;
static const double MOST_LOSS = 0.25;
static const double ROLLING_EACH_S = 0.17;
static const double TURNS_WITHIN_S = 0.6;
static const double FIRES_WITHIN_S = 1.0;

/* The engine pulled until then, and fires again: within so long before and
 * behind, the gas is so far above where lifts leave it (as a part of how far
 * they let it fall), or, where the cut is far from a lift, at least so far.
 * Common practice, no source. */
static const double PULLED_S = 1.0;
static const double FIRES_S = 2.0;
static const double BURNS = 0.7;
static const double FAR_FROM_A_LIFT = 1.2;
static const double BURNS_A_LITTLE = 0.1;

/* A bad reading of the probe is back sooner than a probe can be: by this share
 * of its fall within so long. Common practice, no source. */
static const double AT_ONCE = 0.5;
static const double AT_ONCE_S = 0.25;

/* A throttle that is shut (share of its travel) lets the exhaust cool; under
 * one that is held open it cools neither so far as after a lift, nor by half as
 * much for long. Common practice, no source. */
static const double SHUT = 0.3;
static const double OPEN = 0.8;
static const double DEEP_UNDER_OPEN = 0.2;
static const double EDGE_UNDER_OPEN = -0.5;

/* How sure, by judgement: far from a lift, and near to one. */
static const double SURE = 0.9;
static const double NEAR = 0.75;

/* rpm, depth  [n_samples]: smoothed, and how deep the gas is (see DEEP). */
struct spark_search {
    const struct kw_scene *scene;
    const struct kw_rate_limits *limits;
    double *rpm;
    double *depth;
};

/* While the gas is cold, from .. to - 1; RPM turns over at top and is lowest at
 * bottom. fall_c is what the probe showed of it. */
struct cut {
    size_t from;
    size_t to;
    size_t top;
    size_t bottom;
    double fall_c;
    double deepest;
};

/* Fast enough for a kart that is driven. */
static bool is_driven(const struct spark_search *s, size_t i)
{
    return s->rpm[i] > KW_DRIVEN_SHARE * s->limits->top_rpm;
}

/* The last sample within so long behind another. */
static size_t last_within(const struct kw_session *session,
                          size_t i,
                          double ahead_s)
{
    const double to_s = session->time_s[i] + ahead_s;
    while (i + 1 < session->n_samples && session->time_s[i + 1] <= to_s)
        i++;
    return i;
}

static bool is_held(const struct spark_search *s, size_t i)
{
    const double *throttle = s->scene->session->throttle;
    return throttle != NULL && throttle[i] >= OPEN;
}

/* The stretch in which the gas is colder than after a lift, around a sample
 * where it is much colder; it begins no sooner than at first. */
static struct cut measure(const struct spark_search *s, size_t first, size_t at)
{
    const struct kw_session *session = s->scene->session;
    const double edge = is_held(s, at) ? EDGE_UNDER_OPEN : EDGE;
    struct cut cut = {.from = at, .to = at + 1};
    while (cut.from > first && s->depth[cut.from - 1] > edge)
        cut.from--;
    while (cut.to < session->n_samples && s->depth[cut.to] > edge)
        cut.to++;
    for (size_t i = cut.from; i < cut.to; i++)
        cut.deepest = fmax(cut.deepest, s->depth[i]);
    cut.fall_c = session->egt_c[cut.from] - session->egt_c[cut.to - 1];
    cut.top = cut.from;
    for (size_t i = kw_sample_before(session, cut.from, TURNS_WITHIN_S);
         i < cut.to; i++) {
        if (s->rpm[i] > s->rpm[cut.top])
            cut.top = i;
    }
    cut.bottom = cut.top;
    for (size_t i = cut.top; i < cut.to; i++) {
        if (s->rpm[i] < s->rpm[cut.bottom])
            cut.bottom = i;
    }
    return cut;
}

/* How many readings fell, each below the one before. */
static size_t count_falls(const struct kw_session *session,
                          const struct cut *cut)
{
    const double *egt_c = session->egt_raw_c;
    double last_c = NAN;
    size_t n = 0;
    for (size_t i = cut->from; i < cut->to; i++) {
        n += egt_c[i] < last_c ? 1 : 0;
        last_c = isnan(egt_c[i]) ? last_c : egt_c[i];
    }
    return n;
}

/* The exhaust fell for as long as a cut lasts, by what a probe can show. */
static bool is_long_enough(const struct spark_search *s, const struct cut *cut)
{
    const struct kw_session *session = s->scene->session;
    const double for_s =
        session->time_s[cut->to - 1] - session->time_s[cut->from];
    return for_s >= SHORTEST_S && count_falls(session, cut) >= FEWEST_READINGS;
}

static double loss_rpm(const struct spark_search *s, const struct cut *cut)
{
    return s->rpm[cut->top] - s->rpm[cut->bottom];
}

/* RPM fell faster than a kart that rolls. */
static bool is_braked(const struct spark_search *s, const struct cut *cut)
{
    const struct kw_session *session = s->scene->session;
    const double top_rpm = s->limits->top_rpm;
    const double for_s =
        session->time_s[cut->bottom] - session->time_s[cut->top];
    return loss_rpm(s, cut) > MOST_LOSS * top_rpm ||
           loss_rpm(s, cut) > ROLLING_EACH_S * top_rpm * for_s;
}

/* The kart rolled on, on a locked clutch, and lost a little speed. */
static bool rolls(const struct spark_search *s, const struct cut *cut)
{
    const size_t last =
        last_within(s->scene->session, cut->to - 1, TURNS_WITHIN_S);
    for (size_t i = cut->top; i <= last; i++) {
        if (!is_driven(s, i))
            return false;
    }
    return loss_rpm(s, cut) >= LEAST_LOSS * s->limits->top_rpm &&
           !is_braked(s, cut);
}

/* How far the gas is above where lifts leave it at most, from .. to. */
static double burns(const struct spark_search *s, size_t from, size_t to)
{
    double most = -INFINITY;
    for (size_t i = from; i <= to; i++)
        most = fmax(most, -s->depth[i]);
    return most;
}

/* It pulled, and fires again. */
static bool burns_around(const struct spark_search *s, const struct cut *cut)
{
    const struct kw_session *session = s->scene->session;
    const double least =
        cut->deepest >= FAR_FROM_A_LIFT ? BURNS_A_LITTLE : BURNS;
    return burns(s, kw_sample_before(session, cut->from, PULLED_S),
                 cut->from) >= least &&
           burns(s, cut->to - 1, last_within(session, cut->to - 1, FIRES_S)) >=
               least;
}

/* The probe reads higher again before it can have warmed up. */
static bool is_back_at_once(const struct spark_search *s, const struct cut *cut)
{
    const struct kw_session *session = s->scene->session;
    const double at_once_s = fmax(AT_ONCE_S, kw_egt_refresh_s(session));
    const size_t last = last_within(session, cut->to - 1, at_once_s);
    double highest_c = session->egt_c[cut->to - 1];
    for (size_t i = cut->to; i <= last; i++)
        highest_c = fmax(highest_c, session->egt_c[i]);
    return highest_c - session->egt_c[cut->to - 1] >= AT_ONCE * cut->fall_c;
}

/* Where it cools no further than a lift may let it, the throttle is held open
 * all the while; nowhere it is shut. */
static bool throttle_agrees(const struct spark_search *s, const struct cut *cut)
{
    const double *throttle = s->scene->session->throttle;
    const bool asks = cut->deepest < DEEP;
    for (size_t i = cut->from; throttle != NULL && i < cut->to; i++) {
        if (throttle[i] < SHUT || (asks && !is_held(s, i)))
            return false;
    }
    return true;
}

static bool is_cut(const struct spark_search *s, const struct cut *cut)
{
    return is_long_enough(s, cut) && rolls(s, cut) && burns_around(s, cut) &&
           !is_back_at_once(s, cut) && throttle_agrees(s, cut);
}

/* The last sample without a spark. In a long cut the probe is nearly as cold as
 * the gas and falls no faster than after a lift: RPM turns up when the engine
 * fires. Where it does not, it is braked by then. */
static size_t last_of(const struct spark_search *s, const struct cut *cut)
{
    const size_t last =
        last_within(s->scene->session, cut->to - 1, FIRES_WITHIN_S);
    size_t lowest = cut->to - 1;
    for (size_t i = cut->to; i <= last; i++) {
        if (s->rpm[i] < s->rpm[lowest])
            lowest = i;
    }
    return lowest < last ? lowest : cut->to - 1;
}

static enum kw_status tell(const struct spark_search *s,
                           const struct cut *cut,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_session *session = s->scene->session;
    struct kw_text text = {0};
    kw_text_add(&text, "RPM fell from ");
    kw_text_add_whole(&text, s->rpm[cut->top]);
    kw_text_add(&text, " to ");
    kw_text_add_whole(&text, s->rpm[cut->bottom]);
    kw_text_add(&text, " and the exhaust cooled ");
    kw_text_add_number(&text, 1.0 + cut->deepest, 1);
    kw_text_add(&text, " times as far as after a lift");
    kw_text_add(&text,
                cut->deepest < DEEP ? ", with the throttle held open" : "");
    kw_text_add(&text, ": no spark.");
    struct kw_event event = {
        .start_s = session->time_s[cut->top < cut->from ? cut->top : cut->from],
        .end_s = session->time_s[last_of(s, cut)],
        .confidence = cut->deepest >= FAR_FROM_A_LIFT ? SURE : NEAR,
        .detail.dropout.depth_rpm = loss_rpm(s, cut),
    };
    event.lap = kw_lap_at(s->scene->laps, event.start_s);
    return kw_add_loose_connection(&event, &text, found, error);
}

/* The first dip of the gas at or after a sample that is deep enough for a cut.
 *
 * returns  false where there is none. */
static bool next_dip(const struct spark_search *s,
                     size_t first,
                     struct cut *dip)
{
    for (size_t i = first; i < s->scene->session->n_samples; i++) {
        const double deep = is_held(s, i) ? DEEP_UNDER_OPEN : DEEP;
        if (is_driven(s, i) && s->depth[i] >= deep) {
            *dip = measure(s, first, i);
            return true;
        }
    }
    return false;
}

/* A lift before a bend that reaches as deep as a cut, by RPM that were read. */
static bool is_deep_lift(const struct spark_search *s,
                         const struct cut *dip,
                         const struct kw_events *found)
{
    const double *time_s = s->scene->session->time_s;
    for (size_t e = 0; e < found->n; e++) {
        if (found->items[e].start_s < time_s[dip->to - 1] &&
            found->items[e].end_s > time_s[dip->top])
            return false;
    }
    return dip->deepest >= DEEP && is_long_enough(s, dip) && is_braked(s, dip);
}

/* Where as many lifts reach as deep it is an exhaust or a probe that wanders.
 */
static bool are_more_than_lifts(const struct spark_search *s,
                                const struct kw_events *found)
{
    struct cut dip = {.to = 0};
    size_t n_cuts = 0;
    size_t n_lifts = 0;
    while (next_dip(s, dip.to, &dip)) {
        n_cuts += is_cut(s, &dip) ? 1 : 0;
        n_lifts += is_deep_lift(s, &dip, found) ? 1 : 0;
    }
    return n_cuts > n_lifts;
}

static enum kw_status tell_cuts(const struct spark_search *s,
                                struct kw_events *found,
                                struct kw_error *error)
{
    enum kw_status status = KW_OK;
    struct cut dip = {.to = 0};
    while (status == KW_OK && next_dip(s, dip.to, &dip)) {
        if (is_cut(s, &dip))
            status = tell(s, &dip, found, error);
    }
    return status;
}

enum kw_status kw_find_spark_cuts(const struct kw_scene *scene,
                                  const struct kw_rpm_search *search,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    if (!kw_has_gas_depth(scene))
        return KW_OK;
    double *rpm = kw_array_new(session->n_samples, 2 * sizeof *rpm, error);
    if (rpm == NULL)
        return KW_NO_MEMORY;
    const struct spark_search s = {scene, search->limits, rpm,
                                   rpm + session->n_samples};
    kw_smooth(session, session->rpm, RPM_S, s.rpm);
    enum kw_status status = kw_find_gas_depth(
        scene, s.rpm, search->limits->top_rpm, s.depth, error);
    if (status == KW_OK && are_more_than_lifts(&s, found))
        status = tell_cuts(&s, found, error);
    free(rpm);
    return status;
}
