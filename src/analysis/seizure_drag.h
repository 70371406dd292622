/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The piston drags: RPM falls against an open throttle, and stays away. */
#ifndef KARTWRIGHT_ANALYSIS_SEIZURE_DRAG_H
#define KARTWRIGHT_ANALYSIS_SEIZURE_DRAG_H

#include "analysis/scene.h"

/* span      samples, both in it, from where RPM began to fall to 0.6 s before
 *           the gas cooled; to is 0 where there is none.
 * from_rpm, to_rpm  at its ends.
 * gas_c     the hottest in it. */
struct kw_drag {
    struct kw_span span;
    double from_rpm;
    double to_rpm;
    double gas_c;
};

/* The one fall of RPM in the session during which the gas stayed as hot as
 * under load, and after which the engine never worked again.
 *
 * scene    anything; without what kw_has_gas_depth() asks for there is none.
 * top_rpm  of the session.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_drag(const struct kw_scene *scene,
                            double top_rpm,
                            struct kw_drag *out,
                            struct kw_error *error);

#endif
