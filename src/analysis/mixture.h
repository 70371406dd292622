/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the findings of too lean and too rich share: the excess of heat in
 * cells, the events that explain it already, RPM regions, words. */
#ifndef KARTWRIGHT_ANALYSIS_MIXTURE_H
#define KARTWRIGHT_ANALYSIS_MIXTURE_H

#include "analysis/heat_grid.h"
#include "core/text.h"

/* grid      of the session.
 * excess_c  excess_c[grid.n]: gas above what was expected under load; NAN where
 *           that is not known or another finding explains it.
 * scatter_c one standard deviation of healthy readings, as expected.
 * low_rpm, high_rpm  the range of RPM in which the session was under load. */
struct kw_mixture {
    struct kw_heat_grid grid;
    double *excess_c;
    double scatter_c;
    double low_rpm;
    double high_rpm;
};

/* out      the caller frees it with kw_mixture_free(). Empty, with grid.n = 0,
 *          where the log has no usable EGT or load.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_mixture_new(const struct kw_scene *scene,
                              struct kw_mixture *out,
                              struct kw_error *error);
void kw_mixture_free(struct kw_mixture *mixture);

/* true where an event that explains heat (a fuel restriction, a seizure, a
 * probe fault, a start) touches a stretch of time. */
bool kw_heat_is_explained(const struct kw_events *events,
                          double start_s,
                          double end_s);

/* Mean RPM under load over the cells from .. to - 1; NAN where there is none.
 */
double kw_mixture_rpm(const struct kw_mixture *mixture, size_t from, size_t to);

/* The third of the session's range under load that an RPM lies in. */
enum kw_rpm_region kw_mixture_region(const struct kw_mixture *mixture,
                                     double rpm);

/* Adds "13,500 RPM", rounded to 100. */
void kw_add_rpm(struct kw_text *text, double rpm);

#endif
