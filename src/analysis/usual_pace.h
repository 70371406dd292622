/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What RPM good laps have at each place of the track, and what heat. */
#ifndef KARTWRIGHT_ANALYSIS_USUAL_PACE_H
#define KARTWRIGHT_ANALYSIS_USUAL_PACE_H

#include "analysis/scene.h"

/* Good laps are better than most, because up to two thirds of them may have the
 * fault that is looked for; the best show what the track allows. */
#define KW_GOOD_LAPS 0.7
#define KW_BEST_LAPS 0.9

/* Compares each sample with the other laps at the same place.
 *
 * better_than  share of the laps that is slower there.
 * usual_rpm  usual_rpm[n_samples], filled in: what the better laps have there,
 *            a lap that starves not counting for more than its share; NAN
 *            outside laps and with fewer than four of them.
 * returns    KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_usual_pace(const struct kw_scene *scene,
                                  double better_than,
                                  double *usual_rpm,
                                  struct kw_error *error);

/* Gas in the middle of the laps that are among the faster at a place
 * (KW_GOOD_LAPS): an engine that is slower there than on them, and hotter, is
 * no driver who takes it easy.
 *
 * heat_c   heat_c[n_samples], filled in; NAN as above, and where no gas is
 *          known.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_fast_heat(const struct kw_scene *scene,
                                 double *heat_c,
                                 struct kw_error *error);

#endif
