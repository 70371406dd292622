/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mixture that was right when the engine went out, and too hot from a moment
 * in the first minutes on. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_ONSET_H
#define KARTWRIGHT_ANALYSIS_HEAT_ONSET_H

#include "analysis/heat_grid.h"

/* Looks for one sudden rise of the heat on top of a pipe that warms up, between
 * two pulls on the move, after which the engine pulls no better than before.
 * Most of the session may lie behind it, so that no majority tells what is
 * right; but nothing that is right makes an exhaust hotter from one bend to the
 * next.
 *
 * grid     teaches[] is cleared from the rise on, where there is one.
 * level_c  level_c[grid->n]: what was expected without the past
 *          (KW_HEAT_NO_PAST), NAN where not known.
 * found    whether there is one.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_find_onset(struct kw_heat_grid *grid,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error);

#endif
