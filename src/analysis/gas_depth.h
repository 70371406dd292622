/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How cold the exhaust is beside what this session's lifts do to it. */
#ifndef KARTWRIGHT_ANALYSIS_GAS_DEPTH_H
#define KARTWRIGHT_ANALYSIS_GAS_DEPTH_H

#include "analysis/scene.h"

/* In the slowest bends an engine turns faster than this share of its top end
 * (common practice, no source). */
#define KW_DRIVEN_SHARE 0.36

/* Whether anything can be told of it: who only rolls about the yard or stands
 * lifts too seldom to learn from, and gas is as late as its probe where the lag
 * is not known. */
bool kw_has_gas_depth(const struct kw_scene *scene);

/* How far the gas is below where lifts leave it, as a part of how far they let
 * it fall: -1 under load, 0 after a lift, 1 where it fell twice as far.
 *
 * The pipe warms up, so both levels are those of a few laps around.
 *
 * scene    as above.
 * rpm      [n_samples], smoothed; NAN where not known.
 * top_rpm  of the session.
 * depth    [n_samples], smoothed over 0.3 s; NAN where it cannot be told.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_gas_depth(const struct kw_scene *scene,
                                 const double *rpm,
                                 double top_rpm,
                                 double *depth,
                                 struct kw_error *error);

#endif
