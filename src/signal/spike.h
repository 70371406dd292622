/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings that stand apart from their neighbours for a moment. */
#ifndef KARTWRIGHT_SIGNAL_SPIKE_H
#define KARTWRIGHT_SIGNAL_SPIKE_H

#include "kartwright/error.h"

#include <stdbool.h>
#include <stddef.h>

/* What counts as a spike.
 *
 * half   how many readings before and after one are asked, 1 or more: runs of
 *        up to so many odd readings are spikes. Less is used where there are
 *        few readings.
 * above  how far a spike stands above their median at least, in the channel's
 *        unit, and how far
 * below  one below it. Both are the caller's, from what the quantity can do:
 *        the spread of the neighbours alone would be 0 where readings
 *        repeat. */
struct kw_spike_rule {
    size_t half;
    double above;
    double below;
};

/* Marks what lies beyond its limit from the moving median (GSL's) of
 * the readings around it. A run longer than `half` is the majority where it
 * stands and is left alone, and so is a change that is there to stay.
 *
 * values   values[n], all finite.
 * odd      odd[n], all false; true is written for what stands apart.
 * returns  KW_OK; KW_NO_MEMORY.
 * cost     O(n), and O(log half) more for each reading near a jump. */
enum kw_status kw_mark_spikes(const double *values,
                              size_t n,
                              const struct kw_spike_rule *rule,
                              bool *odd,
                              struct kw_error *error);

/* The three that follow learn from some 50,000 readings, in stretches spread
 * evenly over a longer channel. */

/* Noise of one reading (standard deviation), from second differences, which a
 * steady climb does not enter: median |d2| over 0.6745 times the root of 6.
 *
 * values   values[n], NAN where missing.
 * scratch  scratch[n].
 * returns  NAN with fewer than three readings in a row; 0 for a signal whose
 *          readings mostly repeat. */
double kw_noise_sd(const double *values, size_t n, double *scratch);

/* The step between two readings that a logger writes: the size that the
 * smallest changes of it have.
 *
 * returns  NAN when nothing changes. */
double kw_resolution(const double *values, size_t n, double *scratch);

/* Usual time between two changes of a channel, in samples: 1 where each reading
 * is fresh, more for a sensor slower than the logger.
 *
 * returns  NAN when nothing changes. */
double kw_update_samples(const double *values, size_t n, double *scratch);

#endif
