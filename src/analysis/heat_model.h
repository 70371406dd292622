/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gas temperature as a function of RPM, load and what came before. */
#ifndef KARTWRIGHT_ANALYSIS_HEAT_MODEL_H
#define KARTWRIGHT_ANALYSIS_HEAT_MODEL_H

#include "analysis/heat_grid.h"

enum { KW_HEAT_KNOTS = 6, KW_HEAT_TERMS = KW_HEAT_KNOTS + 6 + KW_N_HEATS };

/* One sum of terms: straight pieces between knots of RPM; the slope of RPM;
 * how long the load has been on; heat in the pipe; warm-up.
 *
 * known         the session had enough of it.
 * scatter_c     one standard deviation of the settled cells about it, from the
 *               cool side, so that lean stretches do not widen it. */
struct kw_heat_sum {
    bool known;
    double knot_rpm;
    double knot_step_rpm;
    double centre_c;
    double coefficients[KW_HEAT_TERMS];
    double scatter_c;
};

/* loaded, lifted  one for each. */
struct kw_heat_model {
    struct kw_heat_sum loaded;
    struct kw_heat_sum lifted;
};

/* Fits both sums to the grid, so that a little less than half of the readings
 * lie below (quantile regression, Koenker and Bassett 1978, by iteration on
 * weights): a lean engine only adds heat, and while less than half of the
 * session is lean, this level is not moved by it.
 *
 * past     how the past may enter: KW_HEAT_NO_PAST keeps warm-up and heat in
 *          the pipe out, so that nothing can hide a fault that came and stayed.
 * returns  KW_OK; KW_NO_MEMORY. Not known is no error. */
enum kw_heat_past { KW_HEAT_NO_PAST, KW_HEAT_WITH_PAST };

enum kw_status kw_heat_model_fit(const struct kw_heat_grid *grid,
                                 enum kw_heat_past past,
                                 struct kw_heat_model *out,
                                 struct kw_error *error);

/* The level that the model was fitted to; NAN where it is not known. */
double kw_heat_model_at(const struct kw_heat_model *model,
                        const struct kw_heat_grid *grid,
                        size_t cell);

/* The share of healthy readings below the fitted level, and how many standard
 * deviations the middle of a normal distribution lies above it. */
#define KW_HEAT_SHARE_BELOW 0.45
#define KW_HEAT_MIDDLE_ABOVE 0.125661

/* Standard deviation from the cool half of residuals about the fitted level.
 *
 * scratch  scratch[n], overwritten; may be residuals itself. */
double kw_heat_scatter_c(const double *residuals, size_t n, double *scratch);

#endif
