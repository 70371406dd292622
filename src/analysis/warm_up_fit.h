/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A warm-up and one thing more, fitted together to the means of pulls: side by
 * side they part, for a pipe warms up as exp(-t/T), ever slower, and a fault
 * does not. */
#ifndef KARTWRIGHT_ANALYSIS_WARM_UP_FIT_H
#define KARTWRIGHT_ANALYSIS_WARM_UP_FIT_H

#include "analysis/pull_means.h"

/* What is looked for beside the warm-up: its value in each pull, as it would be
 * if it began at `from` and were of size 1. */
typedef double kw_beside_warm_up(const struct kw_pull_means *means,
                                 size_t pull,
                                 double from);

/* What is tried.
 *
 * beside       what is looked for.
 * warm_up_s    warm_up_s[n_warm_ups]: time constants; INFINITY for a session
 *              that began warm. */
struct kw_warm_up_search {
    kw_beside_warm_up *beside;
    const double *warm_up_s;
    size_t n_warm_ups;
};

/* Level, warm-up and what is beside: so many are fitted. */
enum { KW_WARM_UP_TERMS = 3 };

/* size  of what was looked for.
 * left  sum of squares about the fit; INFINITY where nothing fitted. */
struct kw_warm_up_fit {
    double size;
    double left;
};

/* With the warm-up that leaves least. One in which the pipe would cool down as
 * it works is none. */
struct kw_warm_up_fit kw_fit_warm_up(const struct kw_warm_up_search *search,
                                     const struct kw_pull_means *means,
                                     double from);

#endif
