/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The RPM at which this engine idles, as the session shows it. */
#ifndef KARTWRIGHT_ANALYSIS_IDLE_H
#define KARTWRIGHT_ANALYSIS_IDLE_H

#include "kartwright/session.h"

/* The lowest RPM at which the engine stays for some seconds while it runs by
 * itself.
 *
 * runs     stretches in which it runs; a starter turns it steadily too.
 * top_rpm  highest RPM of the session, > 0.
 * returns  NAN where it never stays: a log of flying laps alone.
 * cost     O(n). */
double kw_find_idle_rpm(const struct kw_session *session,
                        const struct kw_spans *runs,
                        double top_rpm);

#endif
