/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps held against each other at the same place of the track. */
#ifndef KARTWRIGHT_REPORT_LAP_PROFILE_H
#define KARTWRIGHT_REPORT_LAP_PROFILE_H

#include "kartwright/review.h"

/* Pieces that a lap is cut into, and laps that a plot can still show. */
enum { KW_LAP_PIECES = 100, KW_MOST_LAPS_SHOWN = 30 };

/* laps      indices in review->laps.items, n of them: flying, not spoilt; when
 *           there are too many, some spread evenly and the odd one.
 * middle_*  the median of all laps, piece by piece; NAN where not known.
 * odd       index in laps of the one that is further from the middle than laps
 *           are from each other here; n for none. */
struct kw_lap_profile {
    size_t n;
    size_t laps[KW_MOST_LAPS_SHOWN];
    double middle_rpm[KW_LAP_PIECES];
    double middle_egt_c[KW_LAP_PIECES];
    size_t odd;
};

/* review   with laps.place; n is 0 when there are fewer than two laps.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_profile_laps(const struct kw_review *review,
                               struct kw_lap_profile *out,
                               struct kw_error *error);

#endif
