/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An exhaust that wanders by itself: through a leak at the header, with a loose
 * probe, or because no lag could be taken out of what it reads. */
#ifndef KARTWRIGHT_ANALYSIS_ERRATIC_HEAT_H
#define KARTWRIGHT_ANALYSIS_ERRATIC_HEAT_H

#include "analysis/scene.h"

/* How far above what is expected gas has to be to tell of the fuel, C: hunger
 * heats and never cools, so what whole pulls are colder by now and then they
 * are hotter by as well, fed or not.
 *
 * scene    with exhaust temperature and what is expected of it.
 * scratch  scratch[n_samples], overwritten.
 * returns  -INFINITY where the exhaust is steady, or the pulls are too few. */
double kw_erratic_heat(const struct kw_scene *scene, double *scratch);

#endif
