/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A spark that cuts out and comes back. RPM falls as it does after a lift, so
 * it tells nothing. The exhaust does: an engine that is shut goes on burning
 * what little it gets, one without a spark pumps its cold mixture past the
 * probe, and the reading falls faster than after any lift. How fast depends on
 * the probe, so the session's own lifts are the measure. */
#include "analysis/dropout_signal.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Windows: long beside the noise of a reading, short beside a cut. Common
 * practice, no source. */
static const double EGT_S = 0.4;
static const double RPM_S = 0.3;

/* In the slowest bends the engine turns faster than this share of its top end
 * (common practice, no source). */
static const double DRIVEN_SHARE = 0.36;

/* What the exhaust does after a lift: the fastest fall in each minute of
 * driving, a lap and more, and of these one that not many cuts can spoil
 * (common practice, no source). */
static const double PIECE_S = 60.0;
static const double LIFTS_QUANTILE = 0.35;
enum { FEWEST_PIECES = 2 };

/* A cut cools so many times as fast, and is over when it cools no faster than
 * a lift. Without a spark the gas falls by some 500 C, after a lift by 100 to
 * 250 C (common practice, no source). */
static const double TIMES_A_LIFT = 1.75;
static const double SHORTEST_S = 0.25;
/* One reading may be a bad one, and a slow probe makes a line of it. */
enum { FEWEST_READINGS = 2 };

/* The engine did fall off, but rolled and was not braked: shares of the top
 * end, in all and each second. Brakes take 0.2 to 0.35 of it (common practice,
 * no source). RPM turns over this long at most before the exhaust falls, and it
 * turns up this long at most behind that. */
static const double LEAST_LOSS = 0.015;
static const double ROLLING_EACH_S = 0.14;
static const double TURNS_WITHIN_S = 0.6;
static const double FIRES_WITHIN_S = 1.0;

/* Then it fires again: the exhaust comes back by this share of its fall within
 * so long. A bad reading of the probe is back sooner than a probe can be.
 * Common practice, no source. */
static const double COMES_BACK = 0.25;
static const double COMES_BACK_S = 3.0;
static const double AT_ONCE = 0.5;
static const double AT_ONCE_S = 0.25;

/* A throttle that is shut (share of its travel) lets the exhaust cool; under
 * one that is held open it cools neither as fast as after a lift, nor for long
 * by half as fast. Common practice, no source. */
static const double SHUT = 0.3;
static const double OPEN = 0.8;
static const double TIMES_UNDER_OPEN = 1.2;
static const double AS_A_LIFT_UNDER_OPEN = 0.5;

/* How sure, by judgement: far from a lift, and near to one. */
static const double FAR_FROM_A_LIFT = 2.2;
static const double SURE = 0.9;
static const double NEAR = 0.75;

/* rpm, egt_c_s  [n_samples]: smoothed, and how fast the exhaust warms up.
 * lift_c_s      how fast it cools after a lift, > 0. */
struct spark_search {
    const struct kw_scene *scene;
    const struct kw_rate_limits *limits;
    double *rpm;
    double *egt_c_s;
    double lift_c_s;
};

/* While the exhaust falls, from .. to - 1; RPM turns over at top and is lowest
 * at bottom. */
struct cut {
    size_t from;
    size_t to;
    size_t top;
    size_t bottom;
    double fall_c;
    double fastest_c_s;
};

/* Fast enough for a kart that is driven, and the probe reads. */
static bool is_driven(const struct spark_search *s, size_t i)
{
    return s->rpm[i] > DRIVEN_SHARE * s->limits->top_rpm &&
           !isnan(s->egt_c_s[i]);
}

/* The fastest fall of each piece of driving; a short one at the end counts with
 * none.
 *
 * returns  NAN where there are too few. */
static double learn_lift_c_s(const struct spark_search *s, double *pieces)
{
    const struct kw_session *session = s->scene->session;
    const size_t each = (size_t)fmax(1.0, PIECE_S * session->rate_hz);
    size_t n_pieces = 0;
    size_t n = 0;
    double fastest_c_s = 0.0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!is_driven(s, i))
            continue;
        fastest_c_s = fmax(fastest_c_s, -s->egt_c_s[i]);
        if (++n == each) {
            pieces[n_pieces++] = fastest_c_s;
            fastest_c_s = 0.0;
            n = 0;
        }
    }
    return n_pieces < FEWEST_PIECES
               ? NAN
               : kw_quantile(pieces, n_pieces, LIFTS_QUANTILE, pieces);
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

/* The stretch in which the exhaust falls faster than after a lift, around a
 * sample where it falls much faster. */
static struct cut measure(const struct spark_search *s, size_t at)
{
    const struct kw_session *session = s->scene->session;
    const double as_a_lift = is_held(s, at) ? AS_A_LIFT_UNDER_OPEN : 1.0;
    const double over_c_s = -as_a_lift * s->lift_c_s;
    struct cut cut = {.from = at, .to = at + 1};
    while (cut.from > 0 && s->egt_c_s[cut.from - 1] < over_c_s)
        cut.from--;
    while (cut.to < session->n_samples && s->egt_c_s[cut.to] < over_c_s)
        cut.to++;
    for (size_t i = cut.from; i < cut.to; i++)
        cut.fastest_c_s = fmax(cut.fastest_c_s, -s->egt_c_s[i]);
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

/* The kart rolled on, on a locked clutch, and lost a little speed. */
static bool rolls(const struct spark_search *s, const struct cut *cut)
{
    const struct kw_session *session = s->scene->session;
    const double top_rpm = s->limits->top_rpm;
    const double loss_rpm = s->rpm[cut->top] - s->rpm[cut->bottom];
    const double for_s =
        session->time_s[cut->bottom] - session->time_s[cut->top];
    const size_t last = last_within(session, cut->to - 1, TURNS_WITHIN_S);
    for (size_t i = cut->top; i <= last; i++) {
        if (!(s->rpm[i] > DRIVEN_SHARE * top_rpm))
            return false;
    }
    return loss_rpm >= LEAST_LOSS * top_rpm &&
           loss_rpm <= ROLLING_EACH_S * top_rpm * for_s;
}

/* The highest reading of the probe from the end of the fall on, for so long,
 * over the one at its end: as a share of the fall. */
static double share_back(const struct spark_search *s,
                         const struct cut *cut,
                         double within_s)
{
    const struct kw_session *session = s->scene->session;
    const size_t last = last_within(session, cut->to - 1, within_s);
    double highest_c = session->egt_c[cut->to - 1];
    for (size_t i = cut->to; i <= last; i++)
        highest_c = fmax(highest_c, session->egt_c[i]);
    return (highest_c - session->egt_c[cut->to - 1]) / cut->fall_c;
}

/* Where it cools no faster than a lift may let it, the throttle is held open
 * all the while; nowhere it is shut. */
static bool throttle_agrees(const struct spark_search *s, const struct cut *cut)
{
    const double *throttle = s->scene->session->throttle;
    const bool asks = cut->fastest_c_s < TIMES_A_LIFT * s->lift_c_s;
    for (size_t i = cut->from; throttle != NULL && i < cut->to; i++) {
        if (throttle[i] < SHUT || (asks && !is_held(s, i)))
            return false;
    }
    return true;
}

static bool is_cut(const struct spark_search *s, const struct cut *cut)
{
    return is_long_enough(s, cut) && rolls(s, cut) &&
           share_back(s, cut, COMES_BACK_S) >= COMES_BACK &&
           share_back(s, cut, AT_ONCE_S) < AT_ONCE && throttle_agrees(s, cut);
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
    const double times = cut->fastest_c_s / s->lift_c_s;
    struct kw_text text = {0};
    kw_text_add(&text, "RPM fell from ");
    kw_text_add_whole(&text, s->rpm[cut->top]);
    kw_text_add(&text, " to ");
    kw_text_add_whole(&text, s->rpm[cut->bottom]);
    kw_text_add(&text, " and the exhaust cooled by ");
    kw_text_add_whole(&text, cut->fall_c);
    kw_text_add(&text, " C, ");
    kw_text_add_number(&text, times, 1);
    kw_text_add(&text, " times as fast as after a lift");
    kw_text_add(&text,
                times < TIMES_A_LIFT ? ", with the throttle held open" : "");
    kw_text_add(&text, ": no spark.");
    struct kw_event event = {
        .start_s = session->time_s[cut->top < cut->from ? cut->top : cut->from],
        .end_s = session->time_s[last_of(s, cut)],
        .confidence = times >= FAR_FROM_A_LIFT ? SURE : NEAR,
        .detail.dropout.depth_rpm = s->rpm[cut->top] - s->rpm[cut->bottom],
    };
    event.lap = kw_lap_at(s->scene->laps, event.start_s);
    return kw_add_loose_connection(&event, &text, found, error);
}

static enum kw_status search_cuts(const struct spark_search *s,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < s->scene->session->n_samples && status == KW_OK;
         i++) {
        const double times = is_held(s, i) ? TIMES_UNDER_OPEN : TIMES_A_LIFT;
        if (!is_driven(s, i) || !(-s->egt_c_s[i] >= times * s->lift_c_s))
            continue;
        const struct cut cut = measure(s, i);
        if (is_cut(s, &cut))
            status = tell(s, &cut, found, error);
        i = cut.to - 1;
    }
    return status;
}

enum kw_status kw_find_spark_cuts(const struct kw_scene *scene,
                                  const struct kw_rpm_search *search,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    if (session->egt_c == NULL)
        return KW_OK;
    struct spark_search s = {
        .scene = scene,
        .limits = search->limits,
        .rpm = kw_array_new_nan(session->n_samples, error),
        .egt_c_s = kw_array_new_nan(session->n_samples, error),
    };
    double *pieces = kw_array_new_nan(session->n_samples, error);
    enum kw_status status = KW_NO_MEMORY;
    if (s.rpm != NULL && s.egt_c_s != NULL && pieces != NULL) {
        kw_smooth(session, session->rpm, RPM_S, s.rpm);
        kw_slope(session, session->egt_c, EGT_S, s.egt_c_s);
        s.lift_c_s = learn_lift_c_s(&s, pieces);
        status = s.lift_c_s > 0.0 ? search_cuts(&s, found, error) : KW_OK;
    }
    free(pieces);
    free(s.egt_c_s);
    free(s.rpm);
    return status;
}
