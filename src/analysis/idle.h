/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The RPM at which this engine idles, as the session shows it. */
#ifndef KARTWRIGHT_ANALYSIS_IDLE_H
#define KARTWRIGHT_ANALYSIS_IDLE_H

#include "kartwright/session.h"

/* rpm        lowest RPM at which the engine stays for some seconds while it
 * runs by itself; NAN where it never stays: a log of flying laps alone.
 * later_rpm  a higher one at which it stays for much longer, if the lower was a
 *            starter or a cold engine; else NAN. It may be the hold of a clutch
 *            as well. */
struct kw_idle {
    double rpm;
    double later_rpm;
};

/* Idle as the session shows it.
 *
 * runs     stretches in which it runs; a starter turns it steadily too.
 * top_rpm  highest RPM of the session, > 0.
 * cost     O(n). */
struct kw_idle kw_find_idle(const struct kw_session *session,
                            const struct kw_spans *runs,
                            double top_rpm);

#endif
