/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls, and how the exhaust climbs in them, as the witnesses of hunger see
 * them: smoothed, and without the lift that ends a pull. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_PULL_H
#define KARTWRIGHT_ANALYSIS_FUEL_PULL_H

#include "analysis/fuel_sag.h"

/* All [n_samples], NAN where not known.
 *
 * top_rpm      the engine's top end.
 * rpm, gas_c   smoothed; slope_rpm_s is how fast RPM rises.
 * best_rpm     of the best laps at the same place; not owned. */
struct kw_fuel_channels {
    const struct kw_scene *scene;
    double top_rpm;
    double *rpm;
    double *slope_rpm_s;
    const double *best_rpm;
    double *gas_c;
};

/* scene    with exhaust temperature; both it and best_rpm must outlive out.
 * out      freed with kw_fuel_channels_free(), after an error as well.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_fuel_channels_new(const struct kw_scene *scene,
                                    const struct kw_rate_limits *limits,
                                    const double *best_rpm,
                                    struct kw_fuel_channels *out,
                                    struct kw_error *error);
void kw_fuel_channels_free(struct kw_fuel_channels *channels);

/* The first pull from a sample on, whatever its load was taken for, without
 * the lift that ends it.
 *
 * at       moved behind it.
 * returns  false when there is none. */
bool kw_next_fuel_pull(const struct kw_fuel_channels *channels,
                       size_t *at,
                       struct kw_span *pull);

/* From the sample below which values sink furthest, to the one where they are
 * lowest, which is in it; looked for from a sample on and before another. The
 * two are the same where nothing sinks. */
struct kw_span kw_deepest_sink(const double *values, size_t from, size_t to);

/* RPM sinks by this share of the top end at least, and not as fast as after a
 * lift. */
bool kw_is_fuel_sink(const struct kw_fuel_channels *channels,
                     const struct kw_span *sink,
                     double least_share);

/* Looks for a sag in one pull.
 *
 * sag      filled in.
 * returns  false where the pull shows none. */
typedef bool kw_fuel_pull_witness(const struct kw_fuel_channels *channels,
                                  const struct kw_span *pull,
                                  struct kw_fuel_sag *sag);

/* Asks a witness about each pull of the session; fewer sags than `fewest` are
 * not believed, and none is added.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_search_fuel_pulls(const struct kw_fuel_channels *channels,
                                    kw_fuel_pull_witness *witness,
                                    size_t fewest,
                                    struct kw_fuel_sags *out,
                                    struct kw_error *error);

/* The most that the gas climbs beyond its trend from a sample on, and how far
 * it then is above what is expected of a full pull, C. What is not known is
 * NAN, or no climb. */
struct kw_fuel_climb {
    double most_c;
    double over_c;
};

/* from    the pull's first sample.
 * at, to  samples: from where, and to which, which is in it. */
struct kw_fuel_climb kw_measure_fuel_climb(
    const struct kw_fuel_channels *channels,
    size_t from,
    size_t at,
    size_t to);

#endif
