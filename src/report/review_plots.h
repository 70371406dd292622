/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of a review, each in a file of its own. */
#ifndef KARTWRIGHT_REPORT_REVIEW_PLOTS_H
#define KARTWRIGHT_REPORT_REVIEW_PLOTS_H

#include "kartwright/review.h"
#include "report/plot.h"

/* Adds every plot that this review has something to show in.
 *
 * returns  KW_OK; KW_NO_MEMORY, and *plots holds some that the caller frees. */
enum kw_status kw_review_plots(const struct kw_review *review,
                               struct kw_plots *plots,
                               struct kw_error *error);

/* One plot each; each adds nothing when there is nothing to show.
 *
 * session  RPM and EGT over time, laps and findings marked.
 * laps     RPM and EGT against the place in the lap, laps over each other.
 * heat     EGT against RPM under load, the expected band, the episodes.
 * trend    lap by lap: time, highest EGT, highest RPM.
 * dropouts the drop-outs that press most, close up.
 * clutch   the starts that slip longest, close up.
 * track    the path, coloured by EGT. */
typedef enum kw_status kw_review_plot(const struct kw_review *review,
                                      struct kw_plots *plots,
                                      struct kw_error *error);
kw_review_plot kw_plot_session;
kw_review_plot kw_plot_laps;
kw_review_plot kw_plot_heat;
kw_review_plot kw_plot_trend;
kw_review_plot kw_plot_dropouts;
kw_review_plot kw_plot_clutch;
kw_review_plot kw_plot_track;

#endif
