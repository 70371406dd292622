/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of a comparison: before is grey and dashed, after in the colour of
 * EGT, in every one of them. */
#ifndef KARTWRIGHT_REPORT_COMPARE_PLOTS_H
#define KARTWRIGHT_REPORT_COMPARE_PLOTS_H

#include "kartwright/report.h"
#include "report/plot.h"

/* Adds every plot that has something to show.
 *
 * returns  KW_OK; KW_NO_MEMORY, and *plots holds some that the caller frees. */
enum kw_status kw_comparison_plots(const struct kw_comparison_source *source,
                                   struct kw_plots *plots,
                                   struct kw_error *error);

/* One plot each; each adds nothing when there is nothing to show.
 *
 * heat    EGT against RPM under load, with the scatter of the laps.
 * course  EGT over the lap, and its difference below.
 * dots    lap by lap, the measures that matter most, with their intervals.
 * starts  clutch engagements over each other. */
typedef enum kw_status kw_comparison_plot(
    const struct kw_comparison_source *source,
    struct kw_plots *plots,
    struct kw_error *error);
kw_comparison_plot kw_plot_compared_heat;
kw_comparison_plot kw_plot_compared_course;
kw_comparison_plot kw_plot_compared_dots;
kw_comparison_plot kw_plot_compared_starts;

/* The small print of a plot: the first log of each side, "saturday.csv,
 * sunday.csv"; of names that do not fit the ends, which tell sessions apart. */
enum { KW_COMPARED_CREDIT = 33 };
void kw_compared_credit(const struct kw_comparison_source *source,
                        char credit[KW_COMPARED_CREDIT]);

#endif
