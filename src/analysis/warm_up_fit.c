/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/warm_up_fit.h"

#include "signal/least_squares.h"

#include <math.h>

enum { LEVEL, WARM_UP, BESIDE };

/* Of one time constant.
 *
 * returns  false where the pipe would cool down as it works. */
static bool fit(const struct kw_warm_up_search *search,
                const struct kw_pull_means *s,
                double from,
                double warm_up_s,
                struct kw_warm_up_fit *out)
{
    static const double ridge[KW_WARM_UP_TERMS] = {1e-9, 1e-3, 1e-9};
    struct kw_least_squares sums;
    double coefficients[KW_WARM_UP_TERMS];
    kw_least_squares_start(&sums, KW_WARM_UP_TERMS);
    for (size_t i = 0; i < s->n; i++) {
        const double since_s = s->end_s[i] - s->end_s[0];
        const double row[KW_WARM_UP_TERMS] = {
            [LEVEL] = 1.0,
            [WARM_UP] = isinf(warm_up_s) ? 0.0 : exp(-since_s / warm_up_s),
            [BESIDE] = search->beside(s, i, from),
        };
        kw_least_squares_add(&sums, row, s->mean_c[i], 1.0);
    }
    if (!kw_least_squares_solve(&sums, ridge, coefficients) ||
        coefficients[WARM_UP] > 0.0)
        return false;
    out->size = coefficients[BESIDE];
    out->left = kw_least_squares_residual(&sums, coefficients);
    return true;
}

struct kw_warm_up_fit kw_fit_warm_up(const struct kw_warm_up_search *search,
                                     const struct kw_pull_means *means,
                                     double from)
{
    struct kw_warm_up_fit best = {0.0, INFINITY};
    for (size_t k = 0; k < search->n_warm_ups; k++) {
        struct kw_warm_up_fit one = best;
        if (fit(search, means, from, search->warm_up_s[k], &one) &&
            one.left < best.left)
            best = one;
    }
    return best;
}
