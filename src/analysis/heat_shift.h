/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mixture that changed for a part of the session: which part is right. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_SHIFT_H
#define KARTWRIGHT_ANALYSIS_HEAT_SHIFT_H

#include "analysis/heat_model.h"

/* Looks for sudden steps of the heat, in one third of the RPM range or in all
 * of it, and lets only the level that is right teach: with a good part of the
 * session hot, or cold, no quantile tells which part is right. What held for a
 * few laps is the exception. The level that the engine went out with is right
 * when it held for a quarter of the session (and the pulls at the end of the
 * warm-up are not nearer to a hotter one), a later one when it held for 60 %.
 * Where both are, the cooler is taken, for to call it rich would send the owner
 * the dangerous way; a last level that is cold off the throttle too is a leak
 * and never right, unless the engine went out with it.
 *
 * grid     teaches[] is cleared on the levels that are not right.
 * past     how level_c was found: without the past a step has to be plainer.
 * level_c  level_c[grid->n]: what was expected so far, NAN where not known.
 * found    whether anything was cleared.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_heat_find_shift(struct kw_heat_grid *grid,
                                  enum kw_heat_past past,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error);

#endif
