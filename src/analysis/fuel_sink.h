/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls in which RPM sinks while the exhaust climbs. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_SINK_H
#define KARTWRIGHT_ANALYSIS_FUEL_SINK_H

#include "analysis/fuel_sag.h"

/* Finds long pulls that lose RPM for a second and more, not as fast as after a
 * lift, where the best laps do not, and whose gas climbs from that moment on
 * more than it did before. A few laps that are fed are enough, so it shows a
 * fault that nearly all pulls have; not one that all have, which a bend that
 * scrubs looks like. At most one for each pull, and none where there is only
 * one in the session.
 *
 * scene    with exhaust temperature.
 * best_rpm  as for kw_find_fuel_sags().
 * out      sags are added.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_fuel_sinks(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error);

#endif
