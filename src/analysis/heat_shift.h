/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A fault that came in the middle of a session and stayed. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_SHIFT_H
#define KARTWRIGHT_ANALYSIS_HEAT_SHIFT_H

#include "analysis/heat_model.h"

/* Looks for one sudden step of the heat, in one third of the RPM range or in
 * all of it, and lets only the time before it teach: with half of the session
 * hot, or cold, no quantile tells which half is right, but an engine goes out
 * right and then something happens to it.
 *
 * grid     teaches[] is cleared after the step.
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
