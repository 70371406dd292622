/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far pulls are from what is expected when they begin, to either side: by
 * then none wants fuel. Cost: O(samples). */
#include "analysis/erratic_heat.h"

#include "analysis/pull_heat.h"
#include "core/robust.h"

#include <math.h>
#include <stdbool.h>

/* Pulls so long count, if there are so many: one in ten is a few of them. */
static const double LEAST_PULL_S = 1.5;
enum { FEWEST_PULLS = 20 };

/* One pull in ten is colder than expected by so much and one in ten hotter, one
 * in four by so much: twice and once what air and tow make of a healthy one.
 * Where pulls starve, or a jet is wrong for part of the time, most of the
 * others are as expected. Common practice, no source. */
static const double TAIL = 0.1;
static const double TAIL_C = 22.0;
static const double QUARTER = 0.25;
static const double QUARTER_C = 10.0;

/* Heat has to be so many times what one pull in ten is colder by: a stretch of
 * a pull wanders further than the mean of it. Common practice, no source. */
static const double TIMES = 2.5;

/* So far to either side. */
static bool spreads(double *excess_c, size_t n, double fraction, double least_c)
{
    return kw_quantile(excess_c, n, fraction, excess_c) < -least_c &&
           kw_quantile(excess_c, n, 1.0 - fraction, excess_c) > least_c;
}

double kw_erratic_heat(const struct kw_scene *scene, double *scratch)
{
    const double *time_s = scene->session->time_s;
    size_t n = 0;
    for (size_t k = 0; k < scene->pulls->n; k++) {
        const struct kw_span *span = &scene->pulls->items[k].span;
        const double first_c = kw_first_excess_c(scene, span->from, span->to);
        if (!isnan(first_c) &&
            time_s[span->to - 1] - time_s[span->from] >= LEAST_PULL_S)
            scratch[n++] = first_c;
    }
    if (n < FEWEST_PULLS || !spreads(scratch, n, TAIL, TAIL_C) ||
        !spreads(scratch, n, QUARTER, QUARTER_C))
        return -INFINITY;
    return -TIMES * kw_quantile(scratch, n, TAIL, scratch);
}
