/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statistics that a few wild values cannot bend: median, quantile, scaled MAD.
 *
 * All skip NAN and infinities and give NAN when nothing is left. They work in a
 * scratch array of the caller's, so that a loop of them allocates once. Cost:
 * O(n) for the median and quantiles (selection, not sorting).
 */
#ifndef KARTWRIGHT_CORE_ROBUST_H
#define KARTWRIGHT_CORE_ROBUST_H

#include <stddef.h>

/* A normal distribution passes its mean by so many standard deviations one time
 * in ten: Phi^-1(9/10). */
#define KW_NORMAL_TENTH 1.281552

/* Turns a median absolute deviation into the standard deviation of a normal
 * distribution: 1 / Phi^-1(3/4); 1.4826 in the GSL manual (filter, MAD scale).
 */
#define KW_MAD_TO_SD 1.482602218505602

/* The finite ones of values[n], copied to the front of scratch[n].
 *
 * returns  how many. */
size_t kw_finite_copy(const double *values, size_t n, double *scratch);

/* Median of values[n]; the mean of the two middle ones for an even count.
 *
 * scratch  scratch[n], overwritten; may be values itself. */
double kw_median(const double *values, size_t n, double *scratch);

/* The value below which a fraction (0 to 1) of values[n] lies, interpolated
 * between the two neighbours as GSL's gsl_stats_quantile_from_sorted_data does.
 *
 * scratch  scratch[n], overwritten; may be values itself. */
double kw_quantile(const double *values,
                   size_t n,
                   double fraction,
                   double *scratch);

/* The same from some 50,000 values spread evenly, for a level that a long log
 * need not be read in full for: its error is that of a sample of such a size.
 *
 * scratch  as above. */
double kw_quantile_of_sample(const double *values,
                             size_t n,
                             double fraction,
                             double *scratch);

/* Standard deviation estimated from the median absolute deviation about the
 * median, but never below `floor`: the MAD of a signal with a coarse resolution
 * can be 0.
 *
 * scratch  scratch[n], overwritten; may be values itself. */
double kw_mad_sd(const double *values, size_t n, double floor, double *scratch);

/* The value that splits the weight of values[n] in half (lower weighted
 * median). Pairs with a NAN or a weight that is not positive are skipped.
 *
 * scratch  scratch[2 * n], overwritten. */
double kw_weighted_median(const double *values,
                          const double *weights,
                          size_t n,
                          double *scratch);

#endif
