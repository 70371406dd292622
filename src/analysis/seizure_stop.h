/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The engine ran lean, and then it died on the move. */
#ifndef KARTWRIGHT_ANALYSIS_SEIZURE_STOP_H
#define KARTWRIGHT_ANALYSIS_SEIZURE_STOP_H

#include "analysis/scene.h"

/* span      samples, from where RPM began to fall to where the engine stood; to
 *           is 0 where there is none.
 * hot_s     so long the pulls before it were too hot,
 * excess_c  by so much in the middle. */
struct kw_hot_stop {
    struct kw_span span;
    double from_rpm;
    double hot_s;
    double excess_c;
};

/* The end of the last run, where it comes out of such heat and the engine falls
 * from work to a standstill without idling in between.
 *
 * scene    anything; without an expected heat there is none.
 * top_rpm  of the session.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_hot_stop(const struct kw_scene *scene,
                                double top_rpm,
                                struct kw_hot_stop *out,
                                struct kw_error *error);

#endif
