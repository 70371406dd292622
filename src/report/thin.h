/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thinning for plots: for each pixel column the lowest and the highest value,
 * so that a log of ten hours draws as quickly as one of ten minutes, and no
 * peak is lost. */
#ifndef KARTWRIGHT_REPORT_THIN_H
#define KARTWRIGHT_REPORT_THIN_H

#include "core/text.h"
#include "kartwright/session.h"

/* x, y        x rising where both are known; NAN is missing.
 * span        the samples.
 * x_from, x_to  what the plot's width shows.
 * columns     pixel columns of that width, > 0.
 * x_decimals, y_decimals  how they are printed. */
struct kw_curve {
    const double *x;
    const double *y;
    struct kw_span span;
    double x_from;
    double x_to;
    size_t columns;
    int x_decimals;
    int y_decimals;
};

/* Adds an empty line, at which a plotted line breaks, unless one is there
 * already: two would end gnuplot's block of data. */
void kw_thin_break(struct kw_text *data);

/* Adds lines "x y". An empty line, at which the plotted line breaks, stands
 * where values are missing over more than a pixel column and three samples, and
 * where x jumps back.
 * A span with fewer samples than columns is added as it is.
 *
 * returns  number of points added. */
size_t kw_thin_add(struct kw_text *data, const struct kw_curve *curve);

/* The samples from from_s (in) to to_s (out); empty where there is none. */
struct kw_span kw_span_between(const struct kw_session *session,
                               double from_s,
                               double to_s);

/* Lowest and highest of the known values; NAN, NAN where there is none. */
void kw_range_of(const double *values,
                 struct kw_span span,
                 double *lowest,
                 double *highest);

#endif
