/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drop-outs: of the signal or the spark first, which no driver can cause; then
 * of the fuel, in what is left.
 *
 * The two call for different evenings: a jump within a reading or two is a
 * wire, since a mass that turns cannot stop at once; an engine that falls
 * behind over a second with its exhaust hot is short of fuel. */
#include "analysis/detectors.h"

#include "analysis/dropout_fuel.h"
#include "analysis/dropout_signal.h"
#include "analysis/rate_limit.h"

#include <math.h>

/* Without a top end the engine never ran, and nothing can drop out. */
enum kw_status kw_find_dropouts(const struct kw_scene *scene,
                                struct kw_events *found,
                                struct kw_error *error)
{
    struct kw_rate_limits limits;
    enum kw_status status =
        kw_find_rate_limits(scene->session, scene->profile, &limits, error);
    if (status != KW_OK || isnan(limits.top_rpm))
        return status;
    status = kw_find_signal_dropouts(scene, &limits, found, error);
    if (status == KW_OK)
        status = kw_find_fuel_dropouts(scene, &limits, found, error);
    return status;
}
