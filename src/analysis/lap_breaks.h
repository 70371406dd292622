/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps of a course that the pace does not ask for. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_BREAKS_H
#define KARTWRIGHT_ANALYSIS_LAP_BREAKS_H

#include "analysis/lap_course.h"
#include "analysis/lap_period.h"

/* Takes away the jumps of a course beside which its bends come by as evenly as
 * on any lap: the way of a kart that is driven slowly is as long as ever.
 *
 * grid     one cell of the pattern each step.
 * course   with its pattern (pace) and its lap; way is changed.
 * returns  whether there was one to take away.
 * cost     O(n) for each jump. */
bool kw_mend_breaks(const struct kw_lap_grid *grid,
                    struct kw_lap_course *course);

/* true where the way from the node before is no twelfth of a lap: a visit of
 * the pits, or a pattern that was lost. */
bool kw_is_break(const struct kw_lap_course *course, size_t node);

#endif
