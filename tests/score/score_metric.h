/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures over many results: gross sums, medians, bootstrap intervals. */
#ifndef SCORE_METRIC_H
#define SCORE_METRIC_H

#include "score_result.h"

enum score_metric {
    SCORE_LAPS_EXACT,
    SCORE_LAPS_STRICT,
    SCORE_BOUNDARY_P95_S,
    SCORE_LEAN_SE,
    SCORE_LEAN_PP,
    SCORE_LEAN_SE_ANY, /* any overlap counts, one finding may serve several */
    SCORE_LEAN_PP_ANY,
    SCORE_LEAN_SE_PARTS, /* stretches of a fault that is hot for so long */
    SCORE_LEAN_START_S,
    SCORE_LEAN_END_S,
    SCORE_CLUTCH_SE,
    SCORE_CLUTCH_PP,
    SCORE_CLUTCH_DURATION_S,
    SCORE_DROPOUT_SE,
    SCORE_DROPOUT_PP,
    SCORE_DROPOUT_SE_ANY,
    SCORE_DROPOUT_PP_ANY,
    SCORE_DROPOUT_CAUSE,
    SCORE_FALSE_PER_H
};

/* Some of the results, by pointer. */
struct score_sample {
    const struct score_result **items;
    size_t n;
};

/* NAN when there is nothing to judge by. */
double score_metric(enum score_metric metric,
                    const struct score_sample *sample);

/* How many events, laps or sessions the figure stands on. */
size_t score_metric_n(enum score_metric metric,
                      const struct score_sample *sample);

struct score_interval {
    double value, low, high;
};

/* Percentile bootstrap over sessions (Efron and Tibshirani 1993), 95 %. */
struct score_interval score_bootstrap(enum score_metric metric,
                                      const struct score_sample *sample,
                                      unsigned long seed);

#endif
