/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls in which the exhaust turns upward at the moment at which RPM stops
 * rising. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_KINK_H
#define KARTWRIGHT_ANALYSIS_FUEL_KINK_H

#include "analysis/fuel_sag.h"

/* Finds pulls in which RPM rises, and from one moment on sinks, or hardly rises
 * where the best laps do, while the gas climbs by more than it did before. Such
 * a pull speaks for itself, so the search also sees a fault that every pull
 * has, from the first lap on. At most one for each pull, and none where there
 * are fewer than three in the session.
 *
 * scene    with exhaust temperature.
 * best_rpm  as for kw_find_fuel_sags().
 * out      sags are added.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_fuel_kinks(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error);

#endif
