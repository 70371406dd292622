/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of the logbook's trends. */
#ifndef KARTWRIGHT_REPORT_TRENDS_PLOTS_H
#define KARTWRIGHT_REPORT_TRENDS_PLOTS_H

#include "kartwright/report.h"
#include "report/plot.h"

/* One plot for each measure that two sessions or more tell.
 *
 * plots    growing; plots[i] shows trends->items[shown[i]].
 * shown    shown[source->trends->n], filled in.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_trends_plots(const struct kw_trends_source *source,
                               struct kw_plots *plots,
                               size_t *shown,
                               struct kw_error *error);

#endif
