/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drop-outs of the fuel: a pull in which RPM sags or stops rising as the
 * exhaust gets hotter. */
#ifndef KARTWRIGHT_ANALYSIS_DROPOUT_FUEL_H
#define KARTWRIGHT_ANALYSIS_DROPOUT_FUEL_H

#include "analysis/rate_limit.h"

/* Finds pulls that starve, one drop-out for each; none without exhaust
 * temperature, for then nothing tells a starved engine from a lifted foot.
 *
 * found    drop-outs with cause fuel_restriction, by start.
 * returns  KW_OK; KW_NO_MEMORY.
 * limits   where every pull is held at the top end, a limiter looks alike: then
 *          the gas has to climb well, or nothing is found. */
enum kw_status kw_find_fuel_dropouts(const struct kw_scene *scene,
                                     const struct kw_rate_limits *limits,
                                     struct kw_events *found,
                                     struct kw_error *error);

#endif
