/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps of two sessions held against each other at the same time of driving. */
#include "compare/lap_test.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdbool.h>

/* A line through fewer laps follows their scatter. */
enum { FEWEST_FOR_DRIFT = 7 };

/* One side about its own means.
 *
 * time_s     mean time.
 * sum_tt, sum_tv  sums of squares and products of time and value. */
struct moments {
    double mean;
    double time_s;
    double sum_tt;
    double sum_tv;
};

static struct moments moments_of(const struct kw_lap_sample *side)
{
    struct moments m = {gsl_stats_mean(side->values, 1, side->n),
                        gsl_stats_mean(side->times_s, 1, side->n), 0.0, 0.0};
    for (size_t i = 0; i < side->n; i++) {
        const double dt = side->times_s[i] - m.time_s;
        m.sum_tt += dt * dt;
        m.sum_tv += dt * (side->values[i] - m.mean);
    }
    return m;
}

/* Variance of the mean of n values that resemble each other. */
static double of_mean(double variance, size_t n, double serial)
{
    return variance / fmax((double)n * (1.0 - serial) / (1.0 + serial), 1.0);
}

/* Sum of squares of what the drift leaves of one side, and the values without
 * it. */
static double leave(const struct kw_lap_sample *side,
                    const struct moments *m,
                    double drift,
                    double *left)
{
    double sum = 0.0;
    for (size_t i = 0; i < side->n; i++) {
        left[i] =
            side->values[i] - m->mean - drift * (side->times_s[i] - m->time_s);
        sum += left[i] * left[i];
    }
    return sum;
}

static void conclude(struct kw_two_sample *result, double error)
{
    result->t = result->difference / error;
    result->p = 2.0 * gsl_cdf_tdist_Q(fabs(result->t), result->df);
    const double reach = gsl_cdf_tdist_Pinv(0.975, result->df) * error;
    result->low = result->difference - reach;
    result->high = result->difference + reach;
}

/* Three parts of the error: the two means and the drift over the time between
 * them. */
static struct kw_two_sample without_drift(const struct kw_lap_sample *a,
                                          const struct kw_lap_sample *b,
                                          double floor,
                                          double *scratch)
{
    const struct moments m_a = moments_of(a);
    const struct moments m_b = moments_of(b);
    const double sum_tt = m_a.sum_tt + m_b.sum_tt;
    const double drift = (m_a.sum_tv + m_b.sum_tv) / sum_tt;
    const double apart_s = m_b.time_s - m_a.time_s;
    const double ss_a = leave(a, &m_a, drift, scratch);
    const double ss_b = leave(b, &m_b, drift, scratch + a->n);
    const double serial = kw_serial(scratch, a->n, scratch + a->n, b->n);
    /* The drift's one degree of freedom comes from both sides, from each as
     * much as it had to say about it. */
    const double df_a = (double)(a->n - 1) - m_a.sum_tt / sum_tt;
    const double df_b = (double)(b->n - 1) - m_b.sum_tt / sum_tt;
    const double least = floor * floor;
    const double df_all = df_a + df_b;
    const double s_all = fmax((ss_a + ss_b) / df_all, least);
    const double v_a = of_mean(fmax(ss_a / df_a, least), a->n, serial);
    const double v_b = of_mean(fmax(ss_b / df_b, least), b->n, serial);
    const double v_t =
        apart_s * apart_s * s_all / sum_tt * (1.0 + serial) / (1.0 - serial);
    /* Both means as they would be in the middle of all laps. */
    const double share_b = (double)b->n / (double)(a->n + b->n);
    struct kw_two_sample result = {
        .mean_a = m_a.mean + drift * apart_s * share_b,
        .mean_b = m_b.mean - drift * apart_s * (1.0 - share_b)};
    const double variance = v_a + v_b + v_t;
    result.difference = result.mean_b - result.mean_a;
    result.df = variance * variance /
                (v_a * v_a / df_a + v_b * v_b / df_b + v_t * v_t / df_all);
    conclude(&result, sqrt(variance));
    return result;
}

struct kw_two_sample kw_test_laps(const struct kw_lap_sample *before,
                                  const struct kw_lap_sample *after,
                                  double floor,
                                  double *scratch)
{
    const bool few = before->n < 3 || after->n < 3 ||
                     before->n + after->n < FEWEST_FOR_DRIFT;
    const bool still =
        few || !(moments_of(before).sum_tt + moments_of(after).sum_tt > 0.0);
    if (!still)
        return without_drift(before, after, floor, scratch);
    const double serial =
        kw_serial(before->values, before->n, after->values, after->n);
    return kw_welch(before->values, before->n, after->values, after->n, serial,
                    floor);
}
