/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Passings that the receiver slept through. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_LOST_H
#define KARTWRIGHT_ANALYSIS_LAP_LOST_H

#include "analysis/lap_passings.h"

/* Adds the passings that lie where the kart drove and its position is not
 * known, by the pattern of pace.
 *
 * axis      by which the kart drives there too.
 * passings  by position; rising before and after.
 * returns   KW_OK, also where nothing is lost or the pace has no pattern;
 *           KW_NO_MEMORY. */
enum kw_status kw_add_lost_passings(const struct kw_session *session,
                                    const struct kw_lap_axis *axis,
                                    struct kw_passings *passings,
                                    struct kw_error *error);

#endif
