/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the exhaust stays colder than expected: what a rich mixture and a leak
 * at the header have in common, and what tells them apart. */
#ifndef KARTWRIGHT_ANALYSIS_COLD_STRETCH_H
#define KARTWRIGHT_ANALYSIS_COLD_STRETCH_H

#include "analysis/hot_stretch.h"
#include "analysis/mixture.h"

/* The pipe is cold for this long after the engine first works: common practice,
 * no source. */
#define KW_COLD_PIPE_S 100.0

/* Finds cold stretches that are long and strong and in which the engine revs as
 * usual.
 *
 * out      excess_c is how much colder, > 0; the caller frees out->items.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_cold_stretches(const struct kw_mixture *mixture,
                                      struct kw_hot_stretches *out,
                                      struct kw_error *error);

/* Whether it is a leak more likely than a rich mixture: the reading is low off
 * the throttle too, by much, and stays so to the end of the session. Air that
 * leaks in thins all gas, and no leak mends itself; a mixture is adjusted, or
 * clears. */
bool kw_is_thinned(const struct kw_mixture *mixture,
                   const struct kw_hot_stretch *stretch);

#endif
