/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One figure for the heat of each pull: what steps of the mixture are looked
 * for in. */
#ifndef KARTWRIGHT_ANALYSIS_PULL_MEANS_H
#define KARTWRIGHT_ANALYSIS_PULL_MEANS_H

#include "analysis/heat_grid.h"

/* All of the range of RPM, then its thirds: a wrong main jet shows at the top
 * only and a pilot jet at the bottom only. */
enum { KW_PULL_REGIONS = 4 };

/* Bins of RPM, wide enough to hold a second of a pull and narrow enough for the
 * heat to be the same in all of one (common practice, no source).
 *
 * returns  KW_RPM_BINS for what lies outside. */
enum { KW_RPM_BINS = 48 };
size_t kw_rpm_bin(double rpm);

/* Pulls in the order of time, seen between two RPM only.
 *
 * mean_c   gas above what was expected, mean over the settled cells.
 * start_s, end_s  first of those cells, and the end of the pull.
 * low_rpm, high_rpm  of the session under load. */
struct kw_pull_means {
    double *mean_c;
    double *start_s;
    double *end_s;
    size_t n;
    double low_rpm;
    double high_rpm;
    double *numbers; /* owns the arrays */
};

/* Room for the pulls of a grid; the caller frees it with
 * kw_pull_means_free().
 *
 * returns  KW_OK; KW_NO_MEMORY, and *out is empty. */
enum kw_status kw_pull_means_new(const struct kw_heat_grid *grid,
                                 struct kw_pull_means *out,
                                 struct kw_error *error);
void kw_pull_means_free(struct kw_pull_means *means);

/* Fills in the pulls of one region.
 *
 * region    0 .. KW_PULL_REGIONS - 1, see there.
 * level_c   level_c[grid->n]: what was expected, NAN where not known.
 * worked_s  cells of an engine that has worked for less do not count. */
void kw_pull_means_collect(const struct kw_heat_grid *grid,
                           const double *level_c,
                           size_t region,
                           double worked_s,
                           struct kw_pull_means *means);

#endif
