/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the heat model leaves over at each place of the lap: the tow down the
 * straight, a hill, the way this driver opens the throttle there. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_PLACE_H
#define KARTWRIGHT_ANALYSIS_HEAT_PLACE_H

#include "analysis/heat_grid.h"

/* Adds to level_c what the other laps show at the same place.
 *
 * grid     its n_laps laps; those outside are left as they are.
 * level_c  level_c[grid->n]: the model's level, NAN where not known.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_add_place(const struct kw_heat_grid *grid,
                                 size_t n_laps,
                                 double *level_c,
                                 struct kw_error *error);

#endif
