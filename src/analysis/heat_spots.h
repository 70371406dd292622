/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Places of the track that turned hot on some lap and stayed so, while the
 * rest of the lap stayed as it was. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_SPOTS_H
#define KARTWRIGHT_ANALYSIS_HEAT_SPOTS_H

#include "analysis/heat_grid.h"

/* Looks for fuel that no longer reaches the engine behind some bends or down
 * some straights: a tank that runs low, a line that is pinched when the kart
 * leans. The other places are the witness that neither the warm-up nor the day
 * did it; once such laps are as many as the good ones, the usual heat of such a
 * place would be learned from both.
 *
 * grid     teaches[] is cleared on the later laps at those places.
 * laps     with their places.
 * level_c  level_c[grid->n]: what was expected, NAN where not known.
 * found    whether there are any.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_find_spots(struct kw_heat_grid *grid,
                                  const struct kw_laps *laps,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error);

#endif
