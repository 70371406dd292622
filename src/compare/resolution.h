/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How finely the loggers of the two sides read. */
#ifndef KARTWRIGHT_COMPARE_RESOLUTION_H
#define KARTWRIGHT_COMPARE_RESOLUTION_H

#include "compare/measures.h"

/* Fills in row_s, lap_step_s, rpm_step and egt_step_c of *source from its
 * sessions: of each the coarsest; and whether the two sides have loggers of one
 * kind.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_resolution(struct kw_measure_source *source,
                                  struct kw_error *error);

#endif
