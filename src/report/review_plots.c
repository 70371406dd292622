/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of a review, in the order in which the page shows them: the
 * whole first, then laps, then what each fault looks like close up, then the
 * track. */
#include "report/review_plots.h"

/* A plot that has nothing to show adds nothing: a page without GPS has no
 * track, and does not say so. */
enum kw_status kw_review_plots(const struct kw_review *review,
                               struct kw_plots *plots,
                               struct kw_error *error)
{
    static kw_review_plot *const all[] = {
        kw_plot_session,  kw_plot_laps,   kw_plot_heat, kw_plot_trend,
        kw_plot_dropouts, kw_plot_clutch, kw_plot_track};
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < sizeof all / sizeof all[0] && status == KW_OK; i++)
        status = all[i](review, plots, error);
    return status;
}
