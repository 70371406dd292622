/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A few sags that are unlike all others of their session. */
#ifndef KARTWRIGHT_ANALYSIS_FUEL_UNLIKE_H
#define KARTWRIGHT_ANALYSIS_FUEL_UNLIKE_H

#include "analysis/fuel_sag.h"

/* Leaves out one or two sags that are hardly hot where many others are: one
 * fault heats alike, and traffic and a yellow flag heat nothing.
 *
 * hotter_c  hotter_c[sags->n]: how much hotter than an ordinary pull each is,
 *           NAN where that is not known; shortened with the sags.
 * scratch   room for as many. */
void kw_drop_unlike_sags(struct kw_fuel_sags *sags,
                         double *hotter_c,
                         double *scratch);

#endif
