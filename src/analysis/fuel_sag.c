/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starved pulls. A driver who lifts, a slow corner or traffic lets the exhaust
 * cool; an engine that wants fuel falls behind with an exhaust as hot as in a
 * full pull, or hotter. So three things must come together: RPM that rises too
 * little for this engine at this RPM, RPM behind the good laps at this place,
 * and gas hotter than in an ordinary pull and than in the laps around, or,
 * where RPM sinks, no cooler. */
#include "analysis/fuel_sag.h"

#include "analysis/fuel_stretch.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

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
/* Of the heat, in spreads of what is expected, if that is more; and the share
 * of it that stands above the other moments under load near by. A fault of the
 * mixture heats whole laps, and a driver who is slow in one of them does not
 * starve. Common practice, no source. */
static const double HEAT_SPREADS = 0.5;
static const double LEAST_OWN_SHARE = 0.5;

/* Where RPM goes on rising the best laps gain more over the same stretch, by
 * this share of the top end: where they do not either the kart is held back by
 * a bend, and whether it is hot tells of the mixture alone. Common practice, no
 * source. */
static const double BEST_GAIN_SHARE = 0.005;

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

/* A lift between two bends, which is not cooler than expected where the driver
 * lifts on other laps too. Common practice, no source. */
/* The gas falls by so much while RPM sinks. */
static const double LIFT_COOLS_C = 12.0;
/* What takes longer is none: an engine that dies is cold in the end, too. */
static const double LONGEST_LIFT_S = 3.0;
/* Nor is what is so much hotter than expected. */
static const double PLAINLY_HOT_C = 25.0;

/* Slower and hotter than the faster laps at the same place, where the best of
 * them gain: what holds a kart back cools its exhaust. So long at least, and
 * shares of the top end: at such a loss, so far behind the good laps in the
 * mean (further back it starts or crawls), and rising no more; hotter by so
 * much, and by so much more than around. Common practice, no source. */
static const double SLOWER_S = 1.0;
static const double SLOWER_LOSS_SHARE = 0.04;
static const double SLOWER_SHARE = 0.03;
static const double MOST_SLOWER_SHARE = 0.3;
static const double SLOWER_RISE_SHARE = 0.12;
static const double HOTTER_C = 15.0;
static const double HOTTER_OWN_C = 5.0;

/* Fewer sags than this in a session must be plain ones, for a fault of the fuel
 * comes back: longer, with so much heat of their own, so far behind good laps
 * (share of the top end) and hotter than nine in ten pulls. Common practice, no
 * source. */
enum { FEWEST_SAGS = 3 };
static const double PLAIN_S = 1.2;
static const double PLAIN_OWN_C = 15.0;
static const double PLAIN_BEHIND_SHARE = 0.02;

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

/* The best laps gain more there, as far as any lap tells. */
static bool best_would_gain(const struct kw_fuel_search *search,
                            const struct kw_fuel_sag *sag)
{
    return !(kw_best_gain_more_rpm(search, sag) <
             BEST_GAIN_SHARE * search->limits->top_rpm);
}

/* Hotter at its end than nine in ten pulls, long, and not rising: enough for a
 * few alone, and for a log without laps. */
static bool is_plain(const struct kw_fuel_search *search,
                     const struct kw_fuel_sag *sag)
{
    const struct kw_session *session = search->scene->session;
    const double behind = kw_mean_behind_rpm(search, sag);
    const struct kw_hungry_part part = kw_hungry_part_of(search, &sag->span);
    return part.lasts_s >= PLAIN_S &&
           session->gas_c[sag->span.to - 1] > search->hot_pull_c &&
           part.rise_rpm <= 0.0 &&
           kw_fuel_heat_of(search, sag).own_c >= PLAIN_OWN_C &&
           !(behind < PLAIN_BEHIND_SHARE * search->limits->top_rpm) &&
           best_would_gain(search, sag);
}

/* A slow corner, traffic and a tired driver leave RPM behind too, with the heat
 * that goes with it; hunger heats. */
static bool is_hungry(const struct kw_fuel_search *search,
                      const struct kw_hungry_part *part,
                      const struct kw_fuel_heat *heat,
                      const struct hunger *hunger)
{
    const double top = search->limits->top_rpm;
    return part->lasts_s >= hunger->least_s &&
           part->lost_rpm >= hunger->least_loss_share * top &&
           heat->all_c >=
               fmax(hunger->least_heat_c, HEAT_SPREADS * heat->spread_c) &&
           part->rise_rpm <= hunger->most_rise_share * top;
}

/* It rises, but far behind where good laps are, and hot. */
static bool is_left_behind(const struct kw_fuel_search *search,
                           const struct kw_fuel_sag *sag,
                           const struct kw_fuel_heat *heat)
{
    return kw_fuel_stretch_s(search, sag) >= BEHIND_S &&
           sag->lost_rpm >= BEHIND_LOSS_SHARE * search->limits->top_rpm &&
           kw_mean_behind_rpm(search, sag) >=
               MEAN_BEHIND_SHARE * search->limits->top_rpm &&
           heat->own_c >=
               fmax(BEHIND_OWN_C, BEHIND_OWN_SPREADS * heat->spread_c);
}

/* Briefly the gas falls while RPM does, and is not plainly hot. What other laps
 * do counts only by what is expected. */
static bool is_lift(const struct kw_fuel_search *search,
                    const struct kw_fuel_sag *sag,
                    const struct kw_hungry_part *part,
                    const struct kw_fuel_heat *heat)
{
    const double *gas_c = search->scene->session->gas_c;
    return heat->all_c < PLAINLY_HOT_C &&
           kw_fuel_stretch_s(search, sag) < LONGEST_LIFT_S &&
           part->rise_rpm < -SINKS_SHARE * search->limits->top_rpm &&
           gas_c[sag->span.to - 1] - gas_c[sag->span.from] < -LIFT_COOLS_C;
}

/* It sinks, and does not cool. */
static bool sinks(const struct kw_fuel_search *search,
                  const struct kw_fuel_sag *sag,
                  const struct kw_hungry_part *part,
                  const struct kw_fuel_heat *heat)
{
    const double top = search->limits->top_rpm;
    return part->lasts_s >= SINKS_S &&
           part->lost_rpm >= SINKS_LOSS_SHARE * top &&
           kw_mean_behind_rpm(search, sag) >= SINKS_BEHIND_SHARE * top &&
           part->rise_rpm <= -SINKS_SHARE * top && heat->own_c >= -NOT_COOLER_C;
}

/* On a flying lap that nothing spoils: who rolls home with a warm pipe is
 * slower than on the laps before as well, and hotter. */
static bool is_on_a_good_lap(const struct kw_scene *scene, double time_s)
{
    const struct kw_lap *lap = kw_lap_holding(scene->laps, time_s);
    return lap != NULL && lap->kind == KW_LAP_FLYING && !lap->spoilt;
}

/* It is slower than the faster laps, and hotter. NAN makes it false. */
static bool is_slower_and_hotter(const struct kw_fuel_search *search,
                                 const struct kw_fuel_sag *sag,
                                 const struct kw_hungry_part *part)
{
    const double top = search->limits->top_rpm;
    const double behind = kw_mean_behind_rpm(search, sag) / top;
    const struct kw_fuel_heat heat = kw_fuel_heat_beside_best(search, sag);
    return part->lasts_s >= SLOWER_S &&
           part->lost_rpm >= SLOWER_LOSS_SHARE * top &&
           part->rise_rpm <= SLOWER_RISE_SHARE * top &&
           behind >= SLOWER_SHARE && behind <= MOST_SLOWER_SHARE &&
           heat.all_c >= HOTTER_C && heat.own_c >= HOTTER_OWN_C &&
           kw_mean_best_slope_rpm_s(search, sag) >= 0.0;
}

/* What counts where no lap shows what is usual at this place. */
static bool shows_without_laps(const struct kw_fuel_search *search,
                               const struct kw_fuel_sag *sag,
                               const struct kw_hungry_part *part,
                               const struct kw_fuel_heat *heat)
{
    return is_plain(search, sag) ||
           (part->lasts_s >= SINKS_HOT_S && heat->own_c >= PLAIN_OWN_C &&
            part->rise_rpm < -SINKS_HOT_SHARE * search->limits->top_rpm);
}

/* Three shapes of hunger whose heat shows: held flat at once, weak for longer,
 * or left behind while it rises. And two beside other laps: RPM that sinks, and
 * RPM behind with more heat than theirs. */
static bool is_sag(const struct kw_fuel_search *search,
                   const struct kw_fuel_sag *sag)
{
    const bool has_place = !isnan(search->usual_rpm[sag->span.from]);
    const double from_s = search->scene->session->time_s[sag->span.from];
    const struct kw_hungry_part part = kw_hungry_part_of(search, &sag->span);
    const struct kw_fuel_heat heat = kw_fuel_heat_of(search, sag);
    const bool is_slowed = best_would_gain(search, sag);
    if (heat.all_c < search->erratic_c || is_lift(search, sag, &part, &heat))
        return false;
    return ((is_hungry(search, &part, &heat, &held) ||
             (is_slowed && (is_hungry(search, &part, &heat, &weak) ||
                            is_left_behind(search, sag, &heat)))) &&
            heat.own_c >= LEAST_OWN_SHARE * heat.all_c &&
            (has_place || shows_without_laps(search, sag, &part, &heat))) ||
           (is_on_a_good_lap(search->scene, from_s) &&
            (sinks(search, sag, &part, &heat) ||
             (is_slowed && is_slower_and_hotter(search, sag, &part))));
}

/* ---- all of them --------------------------------------------------------- */

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
static void keep_plain(const struct kw_fuel_search *search,
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
static enum kw_status add_sag(const struct kw_fuel_search *search,
                              struct kw_fuel_sag sag,
                              struct kw_fuel_sags *out,
                              struct kw_error *error)
{
    sag.lost_rpm = fmax(sag.lost_rpm, kw_mean_behind_rpm(search, &sag));
    return kw_fuel_sags_add(out, &sag, error);
}

/* Heat of their own in the middle of the starved pulls; NAN while they are too
 * few to learn from. */
static enum kw_status learn_own_heat(const struct kw_fuel_search *search,
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
        each_c[k] = kw_fuel_heat_of(search, &known->items[k]).own_c;
    const size_t n = kw_finite_copy(each_c, known->n, each_c);
    *own_c = n < FEWEST_KNOWN ? NAN : kw_median(each_c, n, each_c);
    free(each_c);
    return KW_OK;
}

/* Like those that are known. NAN makes it none. */
static bool is_alike(const struct kw_fuel_search *search,
                     const struct kw_fuel_sag *sag,
                     double known_c)
{
    const double lost = fmax(sag->lost_rpm, kw_mean_behind_rpm(search, sag));
    const double top = search->limits->top_rpm;
    const struct kw_fuel_heat heat = kw_fuel_heat_of(search, sag);
    return best_would_gain(search, sag) && heat.all_c >= search->erratic_c &&
           kw_fuel_stretch_s(search, sag) >= ALIKE_S &&
           lost >= ALIKE_LOSS_SHARE * top &&
           kw_hungry_part_of(search, &sag->span).rise_rpm <=
               ALIKE_RISE_SHARE * top &&
           heat.own_c >= fmax(ALIKE_LEAST_C, ALIKE_HEAT_SHARE * known_c);
}

/* Sags that would not convince alone. */
static enum kw_status add_alike(const struct kw_fuel_search *search,
                                struct kw_fuel_sags *out,
                                struct kw_error *error)
{
    double known_c;
    enum kw_status status = learn_own_heat(search, out, &known_c, error);
    if (isnan(known_c))
        return status;
    struct kw_fuel_sag sag = {.confidence = SURE};
    while (status == KW_OK && kw_next_fuel_stretch(search, sag.span.to, &sag)) {
        if (!is_sag(search, &sag) && is_alike(search, &sag, known_c))
            status = add_sag(search, sag, out, error);
    }
    return status;
}

/* A fault of the fuel comes back in another lap; what all lies in one was a
 * spin, traffic or a yellow flag. Outside laps it cannot be told. */
static bool is_one_lap(const struct kw_scene *scene,
                       const struct kw_fuel_sags *sags)
{
    const double *time_s = scene->session->time_s;
    const size_t lap = kw_lap_at(scene->laps, time_s[sags->items[0].span.from]);
    for (size_t k = 1; k < sags->n; k++) {
        if (kw_lap_at(scene->laps, time_s[sags->items[k].span.from]) != lap)
            return false;
    }
    return lap > 0;
}

/* Whether a single sag is believed depends on how many there are. */
static enum kw_status search_session(const struct kw_fuel_search *search,
                                     struct kw_fuel_sags *out,
                                     struct kw_error *error)
{
    const size_t first = out->n;
    struct kw_fuel_sag sag = {.confidence = SURE};
    while (kw_next_fuel_stretch(search, sag.span.to, &sag)) {
        if (is_sag(search, &sag) && add_sag(search, sag, out, error) != KW_OK)
            return KW_NO_MEMORY;
    }
    if (out->n < FEWEST_SAGS || is_one_lap(search->scene, out))
        keep_plain(search, first, out);
    return add_alike(search, out, error);
}

/* First what the pulls of this session are like at each RPM and place, then
 * where one stays behind. */
enum kw_status kw_find_fuel_sags(const struct kw_scene *scene,
                                 const struct kw_rate_limits *limits,
                                 const double *best_rpm,
                                 struct kw_fuel_sags *out,
                                 struct kw_error *error)
{
    struct kw_fuel_search search;
    enum kw_status status =
        kw_fuel_search_new(scene, limits, best_rpm, &search, error);
    if (status == KW_OK)
        status = search_session(&search, out, error);
    kw_fuel_search_free(&search);
    return status;
}
