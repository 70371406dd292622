/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mixture that was right when the engine went out, and grows leaner lap after
 * lap. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_CREEP_H
#define KARTWRIGHT_ANALYSIS_HEAT_CREEP_H

#include "analysis/heat_grid.h"

/* Looks for a slow rise of the heat that begins at some moment, on top of a
 * pipe that warms up, and does not come back: a filter that clogs, a vent that
 * shuts, a leak that opens. It has no step, so all of it would teach what is
 * right. What a day does to an exhaust is far less.
 *
 * grid     teaches[] is cleared from where the rise is plain on, where there is
 *          one.
 * level_c  level_c[grid->n]: what was expected without the past
 *          (KW_HEAT_NO_PAST), NAN where not known.
 * found    whether there is one.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_find_creep(struct kw_heat_grid *grid,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error);

#endif
