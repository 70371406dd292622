/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What RPM gains in a second when the engine is fed, at each RPM. */
#ifndef KARTWRIGHT_ANALYSIS_USUAL_GAIN_H
#define KARTWRIGHT_ANALYSIS_USUAL_GAIN_H

#include "analysis/scene.h"

enum { KW_GAIN_BINS = 24 };

/* bin_rpm  width of a bin.
 * rpm_s    what the better pulls give in each bin; NAN where few passed. */
struct kw_usual_gain {
    double bin_rpm;
    double rpm_s[KW_GAIN_BINS];
};

/* Learns it from the session's own pulls.
 *
 * slope_rpm_s  slope_rpm_s[n_samples]: how fast RPM rises; NAN where not known.
 * top_rpm      of the session.
 * scratch      scratch[n_samples], overwritten. */
struct kw_usual_gain kw_learn_usual_gain(const struct kw_scene *scene,
                                         const double *slope_rpm_s,
                                         double top_rpm,
                                         double *scratch);

/* The gain at an RPM; NAN where nothing was learnt. */
double kw_usual_gain_at(const struct kw_usual_gain *gain, double rpm);

#endif
