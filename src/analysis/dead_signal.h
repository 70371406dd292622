/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM that vanished for longer than a jump back can be told by: dead, where the
 * kart's speed shows that the engine drove on. */
#ifndef KARTWRIGHT_ANALYSIS_DEAD_SIGNAL_H
#define KARTWRIGHT_ANALYSIS_DEAD_SIGNAL_H

#include "analysis/absence.h"

/* Is the absence that of a signal only: gone at once from driving RPM to
 * nothing, while the axle still speeds up or keeps its top pace?
 *
 * absence  leaves and back are not read; back is set where the answer is true:
 *          where RPM came back, or where the kart last moved or the log ended
 *          without it.
 * returns  false also where the axle is not known: an engine that was switched
 *          off looks alike then.
 * cost     O(n) of the absence. */
bool kw_is_dead_signal(const struct kw_rpm_search *search,
                       struct kw_absence *absence);

#endif
