/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the exhaust passes the owner's own limit. */
#ifndef KARTWRIGHT_ANALYSIS_LIMIT_STRETCH_H
#define KARTWRIGHT_ANALYSIS_LIMIT_STRETCH_H

#include "analysis/hot_stretch.h"

/* limit_c  NAN where none was stated: nothing is found then.
 * out      excess_c is the mean above the limit; the caller frees out->items.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_limit_stretches(const struct kw_heat_grid *grid,
                                       double limit_c,
                                       struct kw_hot_stretches *out,
                                       struct kw_error *error);

#endif
