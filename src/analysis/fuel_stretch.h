/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which the engine seems to want fuel: where they are, what they
 * cost and how hot they are. Which of them are sags is for fuel_sag.c. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_STRETCH_H
#define KARTWRIGHT_ANALYSIS_FUEL_STRETCH_H

#include "analysis/fuel_sag.h"
#include "analysis/usual_gain.h"

/* What is known of the session's pulls. Arrays have n_samples entries, NAN
 * where nothing is known.
 *
 * slope_rpm_s       how fast RPM rises.
 * usual_rpm         of the good laps at the same place.
 * best_slope_rpm_s  how fast it rises on the best laps there.
 * best_gas_c        gas of the faster laps there.
 * scratch           room.
 * gain              what the engine gains at each RPM when it is fed.
 * pull_c, hot_pull_c  gas in the middle of all pulls, and in the hottest.
 * erratic_c         heat that an exhaust which wanders reaches by itself; see
 *                   kw_erratic_heat(). */
struct kw_fuel_search {
    const struct kw_scene *scene;
    const struct kw_rate_limits *limits;
    double *slope_rpm_s;
    double *usual_rpm;
    double *best_slope_rpm_s;
    double *best_gas_c;
    double *scratch;
    struct kw_usual_gain gain;
    double pull_c;
    double hot_pull_c;
    double erratic_c;
};

/* best_rpm  as for kw_find_fuel_sags().
 * out       to be freed with kw_fuel_search_free(), also after a failure.
 * returns   KW_OK; KW_NO_MEMORY. */
enum kw_status kw_fuel_search_new(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_search *out,
                                  struct kw_error *error);
void kw_fuel_search_free(struct kw_fuel_search *search);

/* The first such stretch from sample `at` on, pauses bridged, but no bend.
 *
 * sag      span and lost_rpm are filled in.
 * returns  false when there is none. */
bool kw_next_fuel_stretch(const struct kw_fuel_search *search,
                          size_t at,
                          struct kw_fuel_sag *sag);

/* First to last starved reading: a stretch of one reading lasts nothing. */
double kw_fuel_stretch_s(const struct kw_fuel_search *search,
                         const struct kw_fuel_sag *sag);

/* The hungry part of a stretch, from its start to where most is lost. What
 * follows is an engine that is fed again and catches up.
 *
 * lost_rpm  RPM that good pulls would have gained in the same time and this one
 *           did not: the integral of the missing gain. It is the depth that is
 *           told.
 * lasts_s   how long it lasts.
 * rise_rpm  how far RPM rises in it; below zero where it sinks. */
struct kw_hungry_part {
    double lost_rpm;
    double lasts_s;
    double rise_rpm;
};

struct kw_hungry_part kw_hungry_part_of(const struct kw_fuel_search *search,
                                        const struct kw_span *span);

/* Mean of how far RPM is behind the good laps, of how fast it rises on the
 * best ones, and how much more those gain over the stretch; NAN where none
 * tell. */
double kw_mean_behind_rpm(const struct kw_fuel_search *search,
                          const struct kw_fuel_sag *sag);
double kw_best_gain_more_rpm(const struct kw_fuel_search *search,
                             const struct kw_fuel_sag *sag);
double kw_mean_best_slope_rpm_s(const struct kw_fuel_search *search,
                                const struct kw_fuel_sag *sag);

/* Heat of a stretch: mean of all of it, of the spread of what was expected, and
 * what of it came with the stretch and went with it. NAN where not known. */
struct kw_fuel_heat {
    double all_c;
    double spread_c;
    double own_c;
};

/* Beyond what is expected there. */
struct kw_fuel_heat kw_fuel_heat_of(const struct kw_fuel_search *search,
                                    const struct kw_fuel_sag *sag);

/* Beyond what the faster laps have there; without a spread. */
struct kw_fuel_heat kw_fuel_heat_beside_best(
    const struct kw_fuel_search *search,
    const struct kw_fuel_sag *sag);

#endif
