/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which held pulls starve. A rise that ends at once was cut by a bowl that ran
 * empty, by a foot, by a limiter, by another kart or by a bend that scrubs.
 *
 * Two things tell hunger from these. The exhaust jumps above what is expected
 * just as RPM stops: a foot, traffic and a bend leave it or cool it. And where
 * nothing stands out because most pulls starve: the engine is held over and
 * over, until the lift, hot, at RPM that it passes easily at other times; or at
 * its top end with the gas climbing by itself, which a limiter does not do. */
#include "analysis/fuel_hold.h"

#include "analysis/erratic_heat.h"
#include "analysis/held_pull.h"
#include "analysis/load.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* RPM, as a share of the top end, at and above which drag or a limiter may hold
 * the engine. Limiters and governors of simulated and invented sessions held it
 * at 0.97 to 1.0 of the top end's 99th percentile. */
static const double CEILING_SHARE = 0.965;
static const double TOP_QUANTILE = 0.99;

/* A gain this small is none, and RPM that comes back by itself within the pull
 * was a bend that scrubs; shares of the top end, the first in a second. */
static const double NO_GAIN_SHARE_S = 0.015;
static const double MOST_GAINED_SHARE = 0.03;
static const double MOST_REGAINED_SHARE = 0.03;
/* Some fuel still comes: the engine goes on rising, but over the rest of the
 * pull at no more than this share of its gain before. Drag takes a gain away
 * over seconds, not within half a second. Common practice, no source. */
static const double MOST_CREEP_SHARE = 0.35;
/* Hunger lasts until the lift. An engine that gains this share of it again at
 * the end of the pull was held by a bend or by a foot; so was one that does so
 * before and then comes to its top end, where nothing is lost. */
static const double COMES_BACK_SHARE = 0.5;

/* One pull alone: it costs this share of the top end, and the gas jumps by this
 * much as RPM stops and stays above what is expected by that much, or by a
 * share of its spread. 10 C for each percent of fuel: common practice, no
 * source. */
static const double LEAST_LOST_SHARE = 0.01;
static const double JUMP_C = 15.0;
static const double JUMP_AT_CEILING_C = 25.0;
static const double LEAST_EXCESS_C = 20.0;
static const double EXCESS_SPREADS = 0.7;
/* A fed engine that falls behind with its exhaust cooler than nine in ten
 * readings under load, by more than this, was lifted off and not starved. */
static const double NOT_COOL_C = 10.0;

/* Many pulls that speak for each other: each held to less than this share of
 * its gain, for so long, warming, and at the end as hot as nine in ten readings
 * under load, or nearly. One that does not lose so much of its gain (share of
 * the top end in a second) has to warm by more: near the top speed of a
 * straight with the wind against it little is left to lose. */
enum { FEWEST_HELD = 4 };
static const double SHUT_SHARE = 0.2;
static const double LEAST_HELD_S = 0.9;
static const double LEAST_WARMING_C = 8.0;
static const double LOSES_SHARE_S = 0.033;
static const double SLIGHT_WARMING_C = 12.0;
static const double HOT_PULLS = 0.9;
static const double NEARLY_HOT_C = 5.0;

/* At the ceiling more is asked: a third of all holds, the gas still so much
 * warmer at the end in half of them, and not always at the same RPM (share of
 * the top end between the first and last tenth) as a limiter is. */
static const double SHARE_AT_CEILING = 1.0 / 3.0;
static const double CLIMBING_C = 22.0;
static const double LIMITER_SHARE = 0.012;
/* Where most pulls starve, a hold that cools more than this was a lift; one in
 * which RPM sinks may cool by so much more for each share of the top end, with
 * less gas going through. */
static const double MOST_COOLING_C = 10.0;
static const double COOLING_EACH_TOP_C = 150.0;
/* No limiter and no drag makes RPM sink by this share of the top end. */
static const double SINKS_SHARE = 0.03;

/* How sure, by judgement. */
static const double SURE = 0.9;

/* The held pulls of the session, and what they are judged by. */
struct judge {
    const struct kw_scene *scene;
    struct kw_held_pulls held;
    double top_rpm;
    double hot_c;
    double erratic_c;   /* see kw_erratic_heat() */
    bool starves_below; /* the whole session, below the ceiling */
    bool starves_at_ceiling;
};

/* At the top of the range RPM stops rising anyway: the limiter, the pipe, the
 * gearing. */
static bool is_at_ceiling(const struct judge *j,
                          const struct kw_held_pull *held)
{
    return held->rpm >= CEILING_SHARE * j->top_rpm;
}

/* How long the hold lasted. */
static double seconds_of(const struct judge *j, const struct kw_held_pull *held)
{
    const double *time_s = j->scene->session->time_s;
    return time_s[held->span.to - 1] - time_s[held->span.from];
}

/* RPM that stays where it is until the lift. */
static bool stays(const struct judge *j, const struct kw_held_pull *held)
{
    return held->most_gained_rpm < MOST_GAINED_SHARE * j->top_rpm &&
           held->regained_rpm < MOST_REGAINED_SHARE * j->top_rpm;
}

/* RPM that rises on, but far more slowly than before. */
static bool creeps(const struct judge *j, const struct kw_held_pull *held)
{
    return held->most_gained_rpm <
           MOST_CREEP_SHARE * held->before_rpm_s * seconds_of(j, held);
}

/* What the gain would have come to, but no more than the top end. */
static double lost_rpm(const struct judge *j, const struct kw_held_pull *held)
{
    const double *rpm = j->scene->session->rpm;
    const double reached = held->rpm + held->before_rpm_s * seconds_of(j, held);
    double last = held->rpm;
    for (size_t i = held->span.from; i < held->span.to; i++)
        last = isnan(rpm[i]) ? last : rpm[i];
    return fmax(fmin(reached, fmax(j->top_rpm, held->rpm)) - last, 0.0);
}

/* The exhaust alone proves it, where RPM did not come as far as it ever does:
 * a governor and the pipe's top end cost nothing. */
static bool jumps(const struct judge *j, const struct kw_held_pull *held)
{
    const double spread_c = j->scene->expected_spread_c[held->span.from];
    const double jump_c = is_at_ceiling(j, held) ? JUMP_AT_CEILING_C : JUMP_C;
    return stays(j, held) &&
           lost_rpm(j, held) > LEAST_LOST_SHARE * j->top_rpm &&
           held->after_rpm_s < NO_GAIN_SHARE_S * j->top_rpm &&
           held->hottest_c > j->hot_c - NOT_COOL_C &&
           held->warming_c > -MOST_COOLING_C &&
           held->excess_c >= j->erratic_c &&
           held->excess_c - held->excess_before_c > jump_c &&
           held->excess_c > fmax(LEAST_EXCESS_C, EXCESS_SPREADS * spread_c);
}

/* Shut off while it warms: one of many. */
static bool is_shut(const struct judge *j, const struct kw_held_pull *held)
{
    const double loses_rpm_s = held->before_rpm_s - held->after_rpm_s;
    const double least_c = loses_rpm_s >= LOSES_SHARE_S * j->top_rpm
                               ? LEAST_WARMING_C
                               : SLIGHT_WARMING_C;
    return stays(j, held) &&
           held->after_rpm_s < SHUT_SHARE * held->before_rpm_s &&
           seconds_of(j, held) > LEAST_HELD_S && held->warming_c > least_c &&
           held->hottest_c > j->hot_c - NEARLY_HOT_C;
}

/* Looks at all holds together. */
static enum kw_status judge_session(struct judge *j, struct kw_error *error)
{
    size_t n_below = 0;
    size_t n = 0;
    double *rpm = kw_array_new(j->held.n, 3 * sizeof *rpm, error);
    if (rpm == NULL)
        return KW_NO_MEMORY;
    double *warmer_c = rpm + j->held.n;
    double *scratch = warmer_c + j->held.n;
    for (size_t k = 0; k < j->held.n; k++) {
        const struct kw_held_pull *held = &j->held.items[k];
        if (!is_shut(j, held))
            continue;
        if (!is_at_ceiling(j, held)) {
            n_below++;
            continue;
        }
        rpm[n] = held->rpm;
        warmer_c[n++] = held->warmer_at_end_c;
    }
    j->starves_below = n_below >= FEWEST_HELD;
    if (n >= FEWEST_HELD && (double)n >= SHARE_AT_CEILING * (double)j->held.n) {
        const double low_rpm = kw_quantile(rpm, n, 0.1, scratch);
        const double high_rpm = kw_quantile(rpm, n, 0.9, scratch);
        j->starves_at_ceiling =
            high_rpm - low_rpm > LIMITER_SHARE * j->top_rpm &&
            kw_median(warmer_c, n, scratch) > CLIMBING_C;
    }
    free(rpm);
    return KW_OK;
}

/* RPM that sinks from where it was held to the lift, and not for want of heat:
 * at the ceiling as well as below. */
static bool sinks(const struct judge *j, const struct kw_held_pull *held)
{
    const double sunk = held->sunk_rpm / j->top_rpm;
    return stays(j, held) && sunk > SINKS_SHARE &&
           seconds_of(j, held) > LEAST_HELD_S &&
           held->warming_c > -MOST_COOLING_C - COOLING_EACH_TOP_C * sunk;
}

/* A foot or a bend held it, and let it go again before the pull was over. */
static bool was_let_go(const struct judge *j, const struct kw_held_pull *held)
{
    const double back_rpm_s = COMES_BACK_SHARE * held->before_rpm_s;
    return held->last_rpm_s >= back_rpm_s ||
           (held->again_rpm_s >= back_rpm_s && lost_rpm(j, held) <= 0.0);
}

/* In a session that starves, each hold until the lift is believed unless the
 * gas falls, and so is each rise that all but ends; elsewhere the exhaust has
 * to prove it. */
static bool is_starved(const struct judge *j, const struct kw_held_pull *held)
{
    const bool common =
        j->starves_at_ceiling || (j->starves_below && !is_at_ceiling(j, held));
    return jumps(j, held) || (j->starves_below && sinks(j, held)) ||
           (common && (stays(j, held) || creeps(j, held)) &&
            !was_let_go(j, held) && held->warming_c > -MOST_COOLING_C);
}

/* A reading that jumps is no end of a rise. */
static bool is_told(const struct judge *j,
                    const struct kw_held_pull *held,
                    const struct kw_events *told)
{
    static const double NEAR_S = 1.0;
    const double *time_s = j->scene->session->time_s;
    for (size_t e = 0; e < told->n; e++) {
        if (told->items[e].start_s < time_s[held->span.to - 1] + NEAR_S &&
            told->items[e].end_s > time_s[held->span.from] - NEAR_S)
            return true;
    }
    return false;
}

/* What was told as a loose connection is no hunger. */
static enum kw_status add_starved(const struct judge *j,
                                  const struct kw_events *told,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t k = 0; status == KW_OK && k < j->held.n; k++) {
        const struct kw_held_pull *held = &j->held.items[k];
        if (!is_starved(j, held) || is_told(j, held, told))
            continue;
        const struct kw_fuel_sag sag = {held->span, lost_rpm(j, held), SURE};
        status = kw_fuel_sags_add(out, &sag, error);
    }
    return status;
}

/* What holds are judged by: the top end, and gas as hot as pulls make it. */
static enum kw_status learn_pulls(struct judge *j, struct kw_error *error)
{
    const struct kw_scene *scene = j->scene;
    const struct kw_session *session = scene->session;
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    j->top_rpm =
        kw_pulls_quantile(scene->pulls, session->rpm, TOP_QUANTILE, scratch);
    j->hot_c =
        kw_pulls_quantile(scene->pulls, session->gas_c, HOT_PULLS, scratch);
    j->erratic_c = kw_erratic_heat(scene, scratch);
    free(scratch);
    return KW_OK;
}

/* First what pulls of this session are like, then whether its holds are those
 * of a starved engine. */
enum kw_status kw_find_fuel_holds(const struct kw_scene *scene,
                                  const struct kw_events *told,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error)
{
    struct judge j = {.scene = scene};
    enum kw_status status = learn_pulls(&j, error);
    if (status == KW_OK)
        status = kw_find_held_pulls(scene, j.top_rpm, &j.held, error);
    if (status == KW_OK)
        status = judge_session(&j, error);
    if (status == KW_OK)
        status = add_starved(&j, told, out, error);
    free(j.held.items);
    return status;
}
