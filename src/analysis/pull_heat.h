/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How hot a pull is when it begins. Hunger ends with each lift, so a pull that
 * wants fuel begins as cool as others and turns hot later; a mixture that is
 * wrong is wrong from the first moment. */
#ifndef KARTWRIGHT_ANALYSIS_PULL_HEAT_H
#define KARTWRIGHT_ANALYSIS_PULL_HEAT_H

#include "analysis/scene.h"

/* The first sample of the pull that holds a sample; the sample itself where
 * nothing pulls before it. */
size_t kw_pull_begin(const struct kw_scene *scene, size_t i);

/* Mean of the gas above what is expected, over from .. to - 1; NAN where
 * nothing is.
 *
 * scene  with expected_c. */
double kw_mean_excess_c(const struct kw_scene *scene, size_t from, size_t to);

/* The same for the first moments of a pull, once the gas has come through, and
 * before a sample. */
double kw_first_excess_c(const struct kw_scene *scene, size_t pull, size_t to);

/* The heat of from .. to - 1 is that of a fuel restriction that was told of
 * other pulls: it began late in one pull that began cool, and ended with it. */
bool kw_is_heat_of_hunger(const struct kw_scene *scene, size_t from, size_t to);

#endif
