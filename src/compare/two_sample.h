/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two small samples held against each other: is there a difference, and how
 * large could it be? A sample is one value for each lap. */
#ifndef KARTWRIGHT_COMPARE_TWO_SAMPLE_H
#define KARTWRIGHT_COMPARE_TWO_SAMPLE_H

#include "kartwright/error.h"

#include <stdint.h>

/* values  values[n], one for each lap in the order of driving; none NAN. */
struct kw_sample {
    const double *values;
    size_t n;
};

/* mean_a, mean_b   of the two samples.
 * difference       mean_b - mean_a.
 * t, df            Welch's statistic and its degrees of freedom.
 * p                two-sided.
 * low, high        95 % interval of the difference.
 * Everything but the means is NAN with fewer than 2 values on a side. */
struct kw_two_sample {
    double mean_a;
    double mean_b;
    double difference;
    double t;
    double df;
    double p;
    double low;
    double high;
};

/* Welch's test with unequal variances.
 *
 * serial   how much one value tells about the next, 0 for independent values;
 *          below 1. A sample of n then counts as n (1 - serial) / (1 + serial)
 *          (Bayley and Hammersley 1946, first-order form, from memory).
 * floor    smallest standard deviation that is believed, in the values' unit:
 *          a rounded reading repeats itself.
 * source   Welch, Biometrika 34 (1947) 28; NIST/SEMATECH e-Handbook 1.3.5.3. */
struct kw_two_sample kw_welch(const struct kw_sample *a,
                              const struct kw_sample *b,
                              double serial,
                              double floor);

/* Fills in t, p and the interval from the difference and df.
 *
 * error  standard error of the difference, > 0. */
void kw_two_sample_settle(struct kw_two_sample *sample, double error);

/* First-order serial correlation within both samples, pooled about their own
 * means, corrected for its bias of about -1/n, and kept within 0 and 0.3: what
 * few laps can show.
 *
 * source  the coefficient as NIST StRD defines it; bias Kendall 1954, from
 *         memory. */
double kw_serial(const struct kw_sample *a, const struct kw_sample *b);

/* Two-sided permutation test on the difference of means.
 *
 * p        share of all rearrangements at least as far apart; all of them up to
 *          200,000, else 20,000 drawn from `seed`.
 * returns  KW_OK; KW_NO_MEMORY.
 * source   Efron & Tibshirani 1993, ch. 15. */
enum kw_status kw_permutation_p(const struct kw_sample *a,
                                const struct kw_sample *b,
                                uint64_t seed,
                                double *p,
                                struct kw_error *error);

/* Corrects p-values for their number: Hochberg's step-up, Biometrika 75 (1988)
 * 800. Where all n are below a level, all stay below it: measures that agree
 * confirm one another.
 *
 * p         p[n]; NAN stays NAN and does not count.
 * adjusted  adjusted[n]; may not be p. */
void kw_hochberg(const double *p, size_t n, double *adjusted);

#endif
