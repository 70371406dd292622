/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which RPM rises too little for this engine at this RPM, or is
 * behind the good laps at this place and hot; what the good laps have there is
 * the measure of both. */
#include "analysis/fuel_stretch.h"

#include "analysis/erratic_heat.h"
#include "analysis/load.h"
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

/* Below this share of the top end the clutch may slip, which looks alike: RPM
 * stands while the kart gains. Common practice, no source. */
static const double LOCKED_SHARE = 0.45;

/* Gas this much hotter than the middle of all pulls: a driver at half throttle
 * stays behind as well, but cooler. Common practice, no source. */
static const double LEAST_OVER_C = 10.0;

/* Pauses within one sag: sags of one pull are one drop-out (contract), and an
 * engine that hunts for fuel coughs more than once. A bend in between ends it
 * sooner. Common practice, no source. */
static const double LONGEST_PAUSE_S = 1.2;
static const double LONGEST_BEND_S = 0.5;

/* Other moments under load so near by tell what heat lies around a sag (common
 * practice, no source). */
static const double NEAR_S = 20.0;

/* The hottest pulls: one in ten. */
static const double HOT_PULLS = 0.9;

/* What this engine gains at this RPM when it is fed. */
static double usual_gain(const struct kw_fuel_search *search, double rpm)
{
    return kw_usual_gain_at(&search->gain, rpm);
}

/* How far RPM is behind the good laps here; NAN where no laps tell. */
static double behind_rpm(const struct kw_fuel_search *search, size_t i)
{
    return search->usual_rpm[i] - search->scene->session->rpm[i];
}

/* RPM that hardly rises where this engine usually gains. */
static bool gains_too_little(const struct kw_fuel_search *search, size_t i)
{
    const double gain = usual_gain(search, search->scene->session->rpm[i]);
    const double behind = behind_rpm(search, i);
    return gain > LEAST_GAIN_SHARE_S * search->limits->top_rpm &&
           search->slope_rpm_s[i] < STARVED_SHARE * gain &&
           (isnan(behind) || behind > BEHIND_SHARE * search->limits->top_rpm);
}

/* Near the top end every pull gains little: there the good laps tell, and heat
 * beyond what is expected here. */
static bool is_behind_and_hot(const struct kw_fuel_search *search, size_t i)
{
    const struct kw_scene *scene = search->scene;
    const double heat = scene->session->gas_c[i] - scene->expected_c[i];
    return behind_rpm(search, i) > FAR_BEHIND_SHARE * search->limits->top_rpm &&
           heat >
               fmax(LEAST_HEAT_C, HEAT_SPREADS * scene->expected_spread_c[i]);
}

/* A bend for which the best laps slow down as well. */
static bool is_before_a_bend(const struct kw_fuel_search *search, size_t i)
{
    return search->best_slope_rpm_s[i] <
           -SLOWS_SHARE_S * search->limits->top_rpm;
}

/* All three together (see above), moment by moment; how long it goes on is
 * judged later. NAN anywhere makes a comparison false: not known is not
 * starved. */
static bool is_starved(const struct kw_fuel_search *search, size_t i)
{
    const struct kw_session *session = search->scene->session;
    const double top = search->limits->top_rpm;
    return session->rpm[i] > LOCKED_SHARE * top &&
           search->slope_rpm_s[i] > -BRAKED_SHARE_S * top &&
           session->gas_c[i] > search->pull_c + LEAST_OVER_C &&
           !is_before_a_bend(search, i) &&
           (gains_too_little(search, i) || is_behind_and_hot(search, i));
}

/* The lost RPM only ever counts up to where most is lost. */
struct kw_hungry_part kw_hungry_part_of(const struct kw_fuel_search *search,
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
    return (struct kw_hungry_part){most_rpm, time_s[worst] - time_s[span->from],
                                   session->rpm[worst] -
                                       session->rpm[span->from]};
}

/* The first starved stretch from sample `at` on, pauses bridged, but no bend.
 *
 * returns  false when there is none. */
bool kw_next_fuel_stretch(const struct kw_fuel_search *search,
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
    sag->lost_rpm = kw_hungry_part_of(search, &sag->span).lost_rpm;
    return true;
}

/* First to last starved reading: a stretch of one reading lasts nothing. */
double kw_fuel_stretch_s(const struct kw_fuel_search *search,
                         const struct kw_fuel_sag *sag)
{
    const double *time_s = search->scene->session->time_s;
    return time_s[sag->span.to - 1] - time_s[sag->span.from];
}

/* Mean over a stretch of how far values are above others; NAN where not known.
 */
static double mean_above(const struct kw_span *span,
                         const double *values,
                         const double *others)
{
    double sum = 0.0;
    double n = 0.0;
    for (size_t i = span->from; i < span->to; i++) {
        const double above = values[i] - others[i];
        if (isnan(above))
            continue;
        sum += above;
        n += 1.0;
    }
    return n > 0.0 ? sum / n : NAN;
}

/* Mean of a channel over a stretch, likewise. */
static double mean_over(const struct kw_span *span, const double *values)
{
    double sum = 0.0;
    double n = 0.0;
    for (size_t i = span->from; i < span->to; i++) {
        if (isnan(values[i]))
            continue;
        sum += values[i];
        n += 1.0;
    }
    return n > 0.0 ? sum / n : NAN;
}

/* Gas above what is usual, in the middle of the other moments under load around
 * a stretch; NAN where there are none. */
static double heat_around(const struct kw_fuel_search *search,
                          const struct kw_fuel_sag *sag,
                          const double *usual_c)
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
        const double more = scene->session->gas_c[i] - usual_c[i];
        if (kw_under_load(scene->load[i]) && !isnan(more) &&
            !is_starved(search, i))
            search->scratch[n++] = more;
    }
    return kw_median(search->scratch, n, search->scratch);
}

/* Heat that lies around the stretch as well is a lean session, no hunger: it is
 * taken off. */
static struct kw_fuel_heat heat_above(const struct kw_fuel_search *search,
                                      const struct kw_fuel_sag *sag,
                                      const double *usual_c)
{
    struct kw_fuel_heat heat = {.spread_c = NAN};
    heat.all_c = mean_above(&sag->span, search->scene->session->gas_c, usual_c);
    heat.own_c = heat.all_c - fmax(heat_around(search, sag, usual_c), 0.0);
    return heat;
}

struct kw_fuel_heat kw_fuel_heat_of(const struct kw_fuel_search *search,
                                    const struct kw_fuel_sag *sag)
{
    struct kw_fuel_heat heat =
        heat_above(search, sag, search->scene->expected_c);
    heat.spread_c = mean_over(&sag->span, search->scene->expected_spread_c);
    return heat;
}

/* What is expected is learnt from all laps; where a third of them starve it is
 * theirs in part, while the faster laps are never those. */
struct kw_fuel_heat kw_fuel_heat_beside_best(
    const struct kw_fuel_search *search,
    const struct kw_fuel_sag *sag)
{
    return heat_above(search, sag, search->best_gas_c);
}

double kw_mean_behind_rpm(const struct kw_fuel_search *search,
                          const struct kw_fuel_sag *sag)
{
    return mean_above(&sag->span, search->usual_rpm,
                      search->scene->session->rpm);
}

double kw_mean_best_slope_rpm_s(const struct kw_fuel_search *search,
                                const struct kw_fuel_sag *sag)
{
    return mean_over(&sag->span, search->best_slope_rpm_s);
}

double kw_best_gain_more_rpm(const struct kw_fuel_search *search,
                             const struct kw_fuel_sag *sag)
{
    const double *rpm = search->scene->session->rpm;
    return kw_mean_best_slope_rpm_s(search, sag) *
               kw_fuel_stretch_s(search, sag) -
           (rpm[sag->span.to - 1] - rpm[sag->span.from]);
}

/* How hot pulls are, and how far from what is expected of them. */
static void learn_heat(struct kw_fuel_search *search)
{
    const struct kw_pulls *pulls = search->scene->pulls;
    const double *gas_c = search->scene->session->gas_c;
    search->hot_pull_c =
        kw_pulls_quantile(pulls, gas_c, HOT_PULLS, search->scratch);
    search->pull_c = kw_pulls_quantile(pulls, gas_c, 0.5, search->scratch);
    search->erratic_c = kw_erratic_heat(search->scene, search->scratch);
}

enum kw_status kw_fuel_search_new(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_search *out,
                                  struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    *out = (struct kw_fuel_search){.scene = scene, .limits = limits};
    out->scratch = kw_array_new(n, sizeof *out->scratch, error);
    out->slope_rpm_s = kw_array_new_nan(n, error);
    out->usual_rpm = kw_array_new_nan(n, error);
    out->best_slope_rpm_s = kw_array_new_nan(n, error);
    out->best_gas_c = kw_array_new_nan(n, error);
    if (out->scratch == NULL || out->slope_rpm_s == NULL ||
        out->usual_rpm == NULL || out->best_slope_rpm_s == NULL ||
        out->best_gas_c == NULL)
        return KW_NO_MEMORY;
    kw_slope(scene->session, scene->session->rpm, SLOPE_WINDOW_S,
             out->slope_rpm_s);
    kw_slope(scene->session, best_rpm, SLOPE_WINDOW_S, out->best_slope_rpm_s);
    out->gain = kw_learn_usual_gain(scene, out->slope_rpm_s, limits->top_rpm,
                                    out->scratch);
    learn_heat(out);
    enum kw_status status =
        kw_find_usual_pace(scene, KW_GOOD_LAPS, out->usual_rpm, error);
    if (status == KW_OK)
        status = kw_find_fast_heat(scene, out->best_gas_c, error);
    return status;
}

void kw_fuel_search_free(struct kw_fuel_search *search)
{
    free(search->scratch);
    free(search->slope_rpm_s);
    free(search->usual_rpm);
    free(search->best_slope_rpm_s);
    free(search->best_gas_c);
    *search = (struct kw_fuel_search){0};
}
