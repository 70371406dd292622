/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Following the kart round the lap: which place of the pattern is driven now.
 */
#ifndef KARTWRIGHT_ANALYSIS_LAP_TRACK_H
#define KARTWRIGHT_ANALYSIS_LAP_TRACK_H

#include "analysis/lap_period.h"

/* Steps of the coarse pattern in one lap: about half a second each. */
enum { KW_LAP_STEPS = 120 };

/* Follows the pattern through the whole drive.
 *
 * grid     its step is one lap / KW_LAP_STEPS.
 * turns    turns[grid->n], filled in: laps done, counted from an arbitrary
 *          place of the track; never falls. It goes on evenly where the pace
 *          fits nothing (a slow lap, traffic), and jumps after a pit visit.
 * returns  KW_OK; KW_NO_MEMORY.
 * method   dynamic programming over the place in the lap (Viterbi 1967).
 * cost     O(n * KW_LAP_STEPS), one byte of memory for each such pair. */
enum kw_status kw_track_laps(const struct kw_lap_grid *grid,
                             double *turns,
                             struct kw_error *error);

#endif
