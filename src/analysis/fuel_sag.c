/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starved pulls. A driver who lifts, a slow corner or traffic lets the exhaust
 * cool; an engine that wants fuel falls behind with an exhaust as hot as in a
 * full pull, or hotter. So three things must come together: RPM that rises too
 * little for this engine at this RPM, RPM behind the good laps at this place,
 * and gas hotter than in an ordinary pull and than in the laps around, or,
 * where RPM sinks, no cooler. */
#include "analysis/fuel_sag.h"

#include "analysis/load.h"
#include "analysis/usual_gain.h"
#include "analysis/usual_pace.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Window over which RPM's gain is measured: short beside a sag, long beside the
 * noise of a reading. */
static const double SLOPE_WINDOW_S = 0.5;

/* Starved: less than this share of the usual gain, where there usually is one
 * (at the top end drag stops RPM anyway), but no fall as under braking. Shares
 * of the top end in a second; common practice, no source. */
static const double STARVED_SHARE = 0.5;
static const double LEAST_GAIN_SHARE_S = 0.03;
static const double BRAKED_SHARE_S = 0.15;

/* Nobody starves where even the best laps slow down by more than this share of
 * the top end in a second, as for a bend: who brakes a little early falls
 * behind there. Common practice, no source. */
static const double SLOWS_SHARE_S = 0.04;

/* RPM this far behind the good laps at the same place, as shares of the top
 * end: with a gain that is too small, and with heat alone, which proves less
 * and so has to cost more. Common practice, no source. */
static const double BEHIND_SHARE = 0.01;
static const double FAR_BEHIND_SHARE = 0.025;

/* Heat beyond what is expected, in C and in spreads of the expectation,
 * whichever is more: 15 C is one to two percent of fuel (10 C each; common
 * practice, no source), more than air and tow change within a session. */
static const double LEAST_HEAT_C = 15.0;
static const double HEAT_SPREADS = 1.0;
static const double SAG_HEAT_SPREADS = 0.5;

/* Below this share of the top end the clutch may slip, which looks alike: RPM
 * stands while the kart gains. Common practice, no source. */
static const double LOCKED_SHARE = 0.45;

/* Gas this much hotter than the middle of all pulls: a driver at half throttle
 * stays behind as well, but cooler. Common practice, no source. */
static const double LEAST_OVER_C = 10.0;

/* What makes a sag, for an engine that is held where it is and for one that
 * still gains a little: how long it lasts, what it costs of the top end, how
 * much it heats, and how much RPM may still rise. Common practice, no
 * source. */
struct hunger {
    double least_s;
    double least_loss_share;
    double least_heat_c;
    double most_rise_share;
};
static const struct hunger held = {0.8, 0.05, 8.0, 0.03};
static const struct hunger weak = {1.0, 0.03, 15.0, 0.08};

/* Pauses within one sag: sags of one pull are one drop-out (contract), and an
 * engine that hunts for fuel coughs more than once. A bend in between ends it
 * sooner. Common practice, no source. */
static const double LONGEST_PAUSE_S = 1.2;
static const double LONGEST_BEND_S = 0.5;

/* Where RPM goes on rising, but far behind the good laps and with heat that
 * stands out: so long at least, at such a loss, behind by this share of the top
 * end in the mean, and with own heat (see below) in C and in spreads. Only many
 * of these are believed. Common practice, no source. */
static const double BEHIND_S = 1.0;
static const double BEHIND_LOSS_SHARE = 0.02;
static const double MEAN_BEHIND_SHARE = 0.03;
static const double BEHIND_OWN_C = 20.0;
static const double BEHIND_OWN_SPREADS = 1.5;

/* RPM that sinks under load needs no heat of its own to be seen, only no
 * cooling such as follows a lift: a probe that is slow, or read once a second,
 * shows a short sag's heat when it is over. So long at least, and shares of the
 * top end: at such a loss, so far behind the good laps in the mean, and sinking
 * so far; and no more than this cooler. Common practice, no source. */
static const double SINKS_S = 1.2;
static const double SINKS_LOSS_SHARE = 0.07;
static const double SINKS_BEHIND_SHARE = 0.04;
static const double SINKS_SHARE = 0.03;
static const double NOT_COOLER_C = 3.0;

/* The heat belongs to the sag: this share of it stands above the other moments
 * under load that near by. A fault of the mixture heats whole laps, and a
 * driver who is slow in one of them does not starve. Common practice, no
 * source. */
static const double NEAR_S = 20.0;
static const double LEAST_OWN_SHARE = 0.5;

/* Fewer sags than this in a session must be plain ones, for a fault of the fuel
 * comes back: longer, with so much heat of their own, so far behind good laps
 * (share of the top end) and hotter than nine in ten pulls. Common practice, no
 * source. */
enum { FEWEST_SAGS = 3 };
static const double PLAIN_S = 1.2;
static const double PLAIN_OWN_C = 15.0;
static const double PLAIN_BEHIND_SHARE = 0.02;
static const double HOT_PULLS = 0.9;

/* Without laps to compare with, several that are not so hot: RPM that sinks for
 * so long, by this share of the top end, with as much heat of their own. A gear
 * shift is over sooner, and a bend that scrubs heats nothing. Common practice,
 * no source. */
static const double SINKS_HOT_S = 2.0;
static const double SINKS_HOT_SHARE = 0.01;

/* A session with so many starved pulls starves in the others that look like
 * them: behind or short of gain by this share of the top end for so long, with
 * this share of their heat, and no full pull. Common practice, no source. */
enum { FEWEST_KNOWN = 4 };
static const double ALIKE_S = 1.0;
static const double ALIKE_LOSS_SHARE = 0.02;
static const double ALIKE_HEAT_SHARE = 0.7;
static const double ALIKE_LEAST_C = 8.0;
static const double ALIKE_RISE_SHARE = 0.12;

/* How sure, by judgement: many sags speak for each other, one or two stand
 * alone. */
static const double SURE = 0.9;
static const double FEW_CONFIDENCE = 0.65;

/* What the sags are found with.
 *
 * scratch  scratch[n_samples].
 * pull_c, hot_pull_c  gas in the middle of all pulls, and in the hottest. */
struct search {
    const struct kw_scene *scene;
    const struct kw_rate_limits *limits;
    double *slope_rpm_s;
    double *usual_rpm;
    double *best_slope_rpm_s;
    double *scratch;
    struct kw_usual_gain gain;
    double pull_c;
    double hot_pull_c;
};

/* What this engine gains at this RPM when it is fed. */
static double usual_gain(const struct search *search, double rpm)
{
    return kw_usual_gain_at(&search->gain, rpm);
}

/* ---- sags --------------------------------------------------------------- */

/* How far RPM is behind the good laps here; NAN where no laps tell. */
static double behind_rpm(const struct search *search, size_t i)
{
    return search->usual_rpm[i] - search->scene->session->rpm[i];
}

/* RPM that hardly rises where this engine usually gains. */
static bool gains_too_little(const struct search *search, size_t i)
{
    const double gain = usual_gain(search, search->scene->session->rpm[i]);
    const double behind = behind_rpm(search, i);
    return gain > LEAST_GAIN_SHARE_S * search->limits->top_rpm &&
           search->slope_rpm_s[i] < STARVED_SHARE * gain &&
           (isnan(behind) || behind > BEHIND_SHARE * search->limits->top_rpm);
}

/* Near the top end every pull gains little: there the good laps tell, and heat
 * beyond what is expected here. */
static bool is_behind_and_hot(const struct search *search, size_t i)
{
    const struct kw_scene *scene = search->scene;
    const double heat = scene->session->gas_c[i] - scene->expected_c[i];
    return behind_rpm(search, i) > FAR_BEHIND_SHARE * search->limits->top_rpm &&
           heat >
               fmax(LEAST_HEAT_C, HEAT_SPREADS * scene->expected_spread_c[i]);
}

/* A bend for which the best laps slow down as well. */
static bool is_before_a_bend(const struct search *search, size_t i)
{
    return search->best_slope_rpm_s[i] <
           -SLOWS_SHARE_S * search->limits->top_rpm;
}

/* All three together (see above), moment by moment; how long it goes on is
 * judged later. NAN anywhere makes a comparison false: not known is not
 * starved. */
static bool is_starved(const struct search *search, size_t i)
{
    const struct kw_session *session = search->scene->session;
    const double top = search->limits->top_rpm;
    return session->rpm[i] > LOCKED_SHARE * top &&
           search->slope_rpm_s[i] > -BRAKED_SHARE_S * top &&
           session->gas_c[i] > search->pull_c + LEAST_OVER_C &&
           !is_before_a_bend(search, i) &&
           (gains_too_little(search, i) || is_behind_and_hot(search, i));
}

/* The hungry part of a stretch, from its start to where most is lost. What
 * follows is an engine that is fed again and catches up.
 *
 * lost_rpm  RPM that good pulls would have gained in the same time and this one
 *           did not: the integral of the missing gain. It is the depth that is
 *           told.
 * lasts_s   how long it lasts.
 * rise_rpm  how far RPM rises in it; below zero where it sinks. */
struct hungry_part {
    double lost_rpm;
    double lasts_s;
    double rise_rpm;
};

static struct hungry_part hungry_part_of(const struct search *search,
                                         const struct kw_span *span)
{
    const struct kw_session *session = search->scene->session;
    const double *time_s = session->time_s;
    double lost_rpm = 0.0;
    double most_rpm = 0.0;
    size_t worst = span->from;
    for (size_t i = span->from; i + 1 < span->to; i++) {
        const double short_of =
            usual_gain(search, session->rpm[i]) - search->slope_rpm_s[i];
        if (!isnan(short_of))
            lost_rpm += short_of * (time_s[i + 1] - time_s[i]);
        if (lost_rpm > most_rpm) {
            most_rpm = lost_rpm;
            worst = i + 1;
        }
    }
    return (struct hungry_part){most_rpm, time_s[worst] - time_s[span->from],
                                session->rpm[worst] - session->rpm[span->from]};
}

/* The first starved stretch from sample `at` on, pauses bridged, but no bend.
 *
 * returns  false when there is none. */
static bool next_sag(const struct search *search,
                     size_t at,
                     struct kw_fuel_sag *sag)
{
    const struct kw_session *session = search->scene->session;
    while (at < session->n_samples && !is_starved(search, at))
        at++;
    if (at == session->n_samples)
        return false;
    sag->span.from = at;
    sag->span.to = at + 1;
    for (size_t i = at + 1; i < session->n_samples; i++) {
        if (is_starved(search, i))
            sag->span.to = i + 1;
        else if (session->time_s[i] - session->time_s[sag->span.to - 1] >
                 (is_before_a_bend(search, i) ? LONGEST_BEND_S
                                              : LONGEST_PAUSE_S))
            break;
    }
    sag->lost_rpm = hungry_part_of(search, &sag->span).lost_rpm;
    return true;
}

/* First to last starved reading: a stretch of one reading lasts nothing. */
static double seconds_of(const struct search *search,
                         const struct kw_fuel_sag *sag)
{
    const double *time_s = search->scene->session->time_s;
    return time_s[sag->span.to - 1] - time_s[sag->span.from];
}

/* Mean of gas less expected gas over the sag, and of the spread. */
static double heat_of(const struct search *search,
                      const struct kw_fuel_sag *sag,
                      double *spread_c)
{
    const struct kw_scene *scene = search->scene;
    double heat = 0.0;
    double spread = 0.0;
    double n = 0.0;
    for (size_t i = sag->span.from; i < sag->span.to; i++) {
        const double more = scene->session->gas_c[i] - scene->expected_c[i];
        if (isnan(more))
            continue;
        heat += more;
        spread += scene->expected_spread_c[i];
        n += 1.0;
    }
    *spread_c = spread / n;
    return n > 0.0 ? heat / n : NAN;
}

/* Gas less expected gas in the middle of the other moments under load around a
 * sag; NAN where there are none. */
static double heat_around(const struct search *search,
                          const struct kw_fuel_sag *sag)
{
    const struct kw_scene *scene = search->scene;
    const double *time_s = scene->session->time_s;
    const double from_s = time_s[sag->span.from] - NEAR_S;
    const double to_s = time_s[sag->span.to - 1] + NEAR_S;
    size_t i = sag->span.from;
    while (i > 0 && time_s[i - 1] >= from_s)
        i--;
    size_t n = 0;
    for (; i < scene->session->n_samples && time_s[i] <= to_s; i++) {
        const double more = scene->session->gas_c[i] - scene->expected_c[i];
        if (kw_under_load(scene->load[i]) && !isnan(more) &&
            !is_starved(search, i))
            search->scratch[n++] = more;
    }
    return kw_median(search->scratch, n, search->scratch);
}

/* Mean of how far RPM is behind the good laps; NAN where none tell. */
static double mean_behind_rpm(const struct search *search,
                              const struct kw_fuel_sag *sag)
{
    double sum_rpm = 0.0;
    double n = 0.0;
    for (size_t i = sag->span.from; i < sag->span.to; i++) {
        const double behind = behind_rpm(search, i);
        if (isnan(behind))
            continue;
        sum_rpm += behind;
        n += 1.0;
    }
    return n > 0.0 ? sum_rpm / n : NAN;
}

/* Heat of a sag: all of it, the spread of what was expected, and what of it
 * came with the sag and went with it. */
struct heat {
    double all_c;
    double spread_c;
    double own_c;
};

/* Heat that lies around the sag as well is a lean session, no hunger: it is
 * taken off. */
static struct heat measure_heat(const struct search *search,
                                const struct kw_fuel_sag *sag)
{
    struct heat heat;
    heat.all_c = heat_of(search, sag, &heat.spread_c);
    heat.own_c = heat.all_c - fmax(heat_around(search, sag), 0.0);
    return heat;
}

/* Hotter at its end than nine in ten pulls, long, and not rising: enough for a
 * few alone, and for a log without laps. */
static bool is_plain(const struct search *search, const struct kw_fuel_sag *sag)
{
    const struct kw_session *session = search->scene->session;
    const double behind = mean_behind_rpm(search, sag);
    const struct hungry_part part = hungry_part_of(search, &sag->span);
    return part.lasts_s >= PLAIN_S &&
           session->gas_c[sag->span.to - 1] > search->hot_pull_c &&
           part.rise_rpm <= 0.0 &&
           measure_heat(search, sag).own_c >= PLAIN_OWN_C &&
           !(behind < PLAIN_BEHIND_SHARE * search->limits->top_rpm);
}

/* A slow corner, traffic and a tired driver leave RPM behind too, with the heat
 * that goes with it; hunger heats. */
static bool is_hungry(const struct search *search,
                      const struct hungry_part *part,
                      const struct heat *heat,
                      const struct hunger *hunger)
{
    const double top = search->limits->top_rpm;
    return part->lasts_s >= hunger->least_s &&
           part->lost_rpm >= hunger->least_loss_share * top &&
           heat->all_c >=
               fmax(hunger->least_heat_c, SAG_HEAT_SPREADS * heat->spread_c) &&
           part->rise_rpm <= hunger->most_rise_share * top;
}

/* It rises, but far behind where good laps are, and hot. */
static bool is_left_behind(const struct search *search,
                           const struct kw_fuel_sag *sag,
                           const struct heat *heat)
{
    return seconds_of(search, sag) >= BEHIND_S &&
           sag->lost_rpm >= BEHIND_LOSS_SHARE * search->limits->top_rpm &&
           mean_behind_rpm(search, sag) >=
               MEAN_BEHIND_SHARE * search->limits->top_rpm &&
           heat->own_c >=
               fmax(BEHIND_OWN_C, BEHIND_OWN_SPREADS * heat->spread_c);
}

/* It sinks, and does not cool. */
static bool sinks(const struct search *search,
                  const struct kw_fuel_sag *sag,
                  const struct hungry_part *part,
                  const struct heat *heat)
{
    const double top = search->limits->top_rpm;
    return part->lasts_s >= SINKS_S &&
           part->lost_rpm >= SINKS_LOSS_SHARE * top &&
           mean_behind_rpm(search, sag) >= SINKS_BEHIND_SHARE * top &&
           part->rise_rpm <= -SINKS_SHARE * top && heat->own_c >= -NOT_COOLER_C;
}

/* What counts where no lap shows what is usual at this place. */
static bool shows_without_laps(const struct search *search,
                               const struct kw_fuel_sag *sag,
                               const struct hungry_part *part,
                               const struct heat *heat)
{
    return is_plain(search, sag) ||
           (part->lasts_s >= SINKS_HOT_S && heat->own_c >= PLAIN_OWN_C &&
            part->rise_rpm < -SINKS_HOT_SHARE * search->limits->top_rpm);
}

/* Three shapes of hunger whose heat shows: held flat at once, weak for longer,
 * or left behind while it rises. And one in which RPM sinks. */
static bool is_sag(const struct search *search, const struct kw_fuel_sag *sag)
{
    const bool has_place = !isnan(behind_rpm(search, sag->span.from));
    const struct hungry_part part = hungry_part_of(search, &sag->span);
    const struct heat heat = measure_heat(search, sag);
    return ((is_hungry(search, &part, &heat, &held) ||
             is_hungry(search, &part, &heat, &weak) ||
             is_left_behind(search, sag, &heat)) &&
            heat.own_c >= LEAST_OWN_SHARE * heat.all_c &&
            (has_place || shows_without_laps(search, sag, &part, &heat))) ||
           sinks(search, sag, &part, &heat);
}

/* ---- all of them -------------------------------------------------------- */

enum kw_status kw_fuel_sags_add(struct kw_fuel_sags *sags,
                                const struct kw_fuel_sag *sag,
                                struct kw_error *error)
{
    if (kw_array_reserve(&sags->items, &sags->capacity, sags->n + 1,
                         sizeof *sags->items, error) != KW_OK)
        return KW_NO_MEMORY;
    sags->items[sags->n++] = *sag;
    return KW_OK;
}

/* Of the sags from `first` on only the plain ones stay, and are less sure. */
static void keep_plain(const struct search *search,
                       size_t first,
                       struct kw_fuel_sags *sags)
{
    size_t kept = first;
    for (size_t k = first; k < sags->n; k++) {
        if (!is_plain(search, &sags->items[k]))
            continue;
        sags->items[kept] = sags->items[k];
        sags->items[kept++].confidence = FEW_CONFIDENCE;
    }
    sags->n = kept;
}

/* Adds a sag with what it cost; the pace counts where laps show it. */
static enum kw_status add_sag(const struct search *search,
                              struct kw_fuel_sag sag,
                              struct kw_fuel_sags *out,
                              struct kw_error *error)
{
    sag.lost_rpm = fmax(sag.lost_rpm, mean_behind_rpm(search, &sag));
    return kw_fuel_sags_add(out, &sag, error);
}

/* Heat of their own in the middle of the starved pulls; NAN while they are too
 * few to learn from. */
static enum kw_status learn_own_heat(const struct search *search,
                                     const struct kw_fuel_sags *known,
                                     double *own_c,
                                     struct kw_error *error)
{
    *own_c = NAN;
    if (known->n < FEWEST_KNOWN)
        return KW_OK;
    double *each_c = kw_array_new(known->n, sizeof *each_c, error);
    if (each_c == NULL)
        return KW_NO_MEMORY;
    for (size_t k = 0; k < known->n; k++)
        each_c[k] = measure_heat(search, &known->items[k]).own_c;
    const size_t n = kw_finite_copy(each_c, known->n, each_c);
    *own_c = n < FEWEST_KNOWN ? NAN : kw_median(each_c, n, each_c);
    free(each_c);
    return KW_OK;
}

/* Like those that are known. NAN makes it none. */
static bool is_alike(const struct search *search,
                     const struct kw_fuel_sag *sag,
                     double known_c)
{
    const double lost = fmax(sag->lost_rpm, mean_behind_rpm(search, sag));
    const double top = search->limits->top_rpm;
    return seconds_of(search, sag) >= ALIKE_S &&
           lost >= ALIKE_LOSS_SHARE * top &&
           hungry_part_of(search, &sag->span).rise_rpm <=
               ALIKE_RISE_SHARE * top &&
           measure_heat(search, sag).own_c >=
               fmax(ALIKE_LEAST_C, ALIKE_HEAT_SHARE * known_c);
}

/* Sags that would not convince alone. */
static enum kw_status add_alike(const struct search *search,
                                struct kw_fuel_sags *out,
                                struct kw_error *error)
{
    double known_c;
    enum kw_status status = learn_own_heat(search, out, &known_c, error);
    if (isnan(known_c))
        return status;
    struct kw_fuel_sag sag = {.confidence = SURE};
    while (status == KW_OK && next_sag(search, sag.span.to, &sag)) {
        if (!is_sag(search, &sag) && is_alike(search, &sag, known_c))
            status = add_sag(search, sag, out, error);
    }
    return status;
}

/* Whether a single sag is believed depends on how many there are. */
static enum kw_status search_session(const struct search *search,
                                     struct kw_fuel_sags *out,
                                     struct kw_error *error)
{
    const size_t first = out->n;
    struct kw_fuel_sag sag = {.confidence = SURE};
    while (next_sag(search, sag.span.to, &sag)) {
        if (is_sag(search, &sag) && add_sag(search, sag, out, error) != KW_OK)
            return KW_NO_MEMORY;
    }
    if (out->n < FEWEST_SAGS)
        keep_plain(search, first, out);
    return add_alike(search, out, error);
}

/* How hot pulls are. */
static void learn_heat(struct search *search)
{
    const struct kw_pulls *pulls = search->scene->pulls;
    const double *gas_c = search->scene->session->gas_c;
    search->hot_pull_c =
        kw_pulls_quantile(pulls, gas_c, HOT_PULLS, search->scratch);
    search->pull_c = kw_pulls_quantile(pulls, gas_c, 0.5, search->scratch);
}

/* First what the pulls of this session are like at each RPM and place, then
 * where one stays behind. */
enum kw_status kw_find_fuel_sags(const struct kw_scene *scene,
                                 const struct kw_rate_limits *limits,
                                 const double *best_rpm,
                                 struct kw_fuel_sags *out,
                                 struct kw_error *error)
{
    struct search search = {.scene = scene, .limits = limits};
    const size_t n = scene->session->n_samples;
    search.scratch = kw_array_new(n, sizeof *search.scratch, error);
    search.slope_rpm_s = kw_array_new_nan(n, error);
    search.usual_rpm = kw_array_new_nan(n, error);
    search.best_slope_rpm_s = kw_array_new_nan(n, error);
    enum kw_status status = KW_NO_MEMORY;
    if (search.scratch != NULL && search.slope_rpm_s != NULL &&
        search.usual_rpm != NULL && search.best_slope_rpm_s != NULL) {
        kw_slope(scene->session, scene->session->rpm, SLOPE_WINDOW_S,
                 search.slope_rpm_s);
        search.gain = kw_learn_usual_gain(scene, search.slope_rpm_s,
                                          limits->top_rpm, search.scratch);
        learn_heat(&search);
        status =
            kw_find_usual_pace(scene, KW_GOOD_LAPS, search.usual_rpm, error);
    }
    if (status == KW_OK) {
        kw_slope(scene->session, best_rpm, SLOPE_WINDOW_S,
                 search.best_slope_rpm_s);
        status = search_session(&search, out, error);
    }
    free(search.scratch);
    free(search.slope_rpm_s);
    free(search.usual_rpm);
    free(search.best_slope_rpm_s);
    return status;
}
