/* SPDX-License-Identifier: GPL-3.0-or-later */
/* This session's heat against that of a session that is known to be good. */
#ifndef KARTWRIGHT_ANALYSIS_REFERENCE_HEAT_H
#define KARTWRIGHT_ANALYSIS_REFERENCE_HEAT_H

#include "analysis/heat_grid.h"

/* Matches in RPM, load and heat in the pipe; only where the reference has been
 * in that RPM.
 *
 * scene      its reference is not NULL.
 * grid       of scene->session.
 * excess_c   *excess_c[grid->n]: gas above what the reference gave; NULL where
 *            the reference tells nothing. The caller frees it with free().
 * scatter_c  one standard deviation of the reference about its own model.
 * returns    KW_OK; KW_NO_MEMORY. */
enum kw_status kw_compare_with_reference(const struct kw_scene *scene,
                                         const struct kw_heat_grid *grid,
                                         double **excess_c,
                                         double *scatter_c,
                                         struct kw_error *error);

#endif
