/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pair of jumps, away and back, and what was read between. */
#ifndef KARTWRIGHT_ANALYSIS_ABSENCE_H
#define KARTWRIGHT_ANALYSIS_ABSENCE_H

#include "analysis/rpm_jump.h"

/* before  the last good reading
 * first   the first that is off
 * gone    where the jump away ends
 * leaves  the last reading before the jump back
 * back    the first good one behind it
 * up      away is upwards. */
struct kw_absence {
    size_t before;
    size_t first;
    size_t gone;
    size_t leaves;
    size_t back;
    bool up;
};

/* Are the readings between so far off that no engine could give them: nothing,
 * half or twice of what is right, or a part of it for a moment? */
bool kw_is_telling(const struct kw_rpm_search *search,
                   const struct kw_absence *absence);

/* Was there nothing until the jump back? */
bool kw_was_nothing(const struct kw_rpm_search *search,
                    const struct kw_absence *absence);

/* Does it come to rest where the engine idles? */
bool kw_reaches_idle(const struct kw_rpm_search *search,
                     const struct kw_absence *absence);

#endif
