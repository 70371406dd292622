/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast a channel changes. */
#ifndef KARTWRIGHT_SIGNAL_SLOPE_H
#define KARTWRIGHT_SIGNAL_SLOPE_H

#include "kartwright/session.h"

/* Slope of the least-squares line through the samples around each one: with
 * even steps, the first-derivative weights of Savitzky and Golay (1964) of
 * order 1 and 2, but right with jitter and missing samples too.
 *
 * session   its clock and gaps: a window ends at a gap.
 * values    values[n_samples], NAN where missing.
 * window_s  width of the window, centred; widened to three usual steps where
 *           the log is slow.
 * out       out[n_samples], in the channel's unit each second; NAN where
 *           fewer than two samples are in the window. May not be `values`.
 * cost      O(n), whatever the window. */
void kw_slope(const struct kw_session *session,
              const double *values,
              double window_s,
              double *out);

/* Mean over the same window, by the same rules; NAN where nothing is in it. */
void kw_smooth(const struct kw_session *session,
               const double *values,
               double window_s,
               double *out);

#endif
