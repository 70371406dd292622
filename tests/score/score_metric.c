/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures over many results, see score_metric.h. */
#include "score_metric.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_rng.h>

enum { DRAWS = 300 };

/* Laps by a pattern or a line are asked for below these rates too, but their
 * boundaries are only judged from here on. */
static const double LEAST_HZ_WITH_PLACE = 10.0;
static const double LEAST_HZ_WITH_RPM = 20.0;

/* A metric is a share (right of n) or a quantile of values. */
struct gathered {
    double right, n;
    double *values;
    size_t n_values, room;
};

static void add_value(struct gathered *sum, double value)
{
    if (sum->n_values == sum->room) {
        sum->room = 2 * sum->room + 64;
        double *more = realloc(sum->values, sum->room * sizeof *more);
        if (more == NULL) {
            fprintf(stderr, "kartwright-score: out of memory\n");
            exit(EXIT_FAILURE);
        }
        sum->values = more;
    }
    sum->values[sum->n_values++] = value;
}

static bool boundaries_count(const struct score_labels *labels)
{
    const char *channels = labels->channels;
    if (strcmp(channels, "column") == 0)
        return false;
    if (strcmp(channels, "rpm_egt") == 0)
        return labels->rate_hz >= LEAST_HZ_WITH_RPM;
    return labels->rate_hz >= LEAST_HZ_WITH_PLACE &&
           labels->fix_hz >= LEAST_HZ_WITH_PLACE;
}

static void gather_laps(enum score_metric metric,
                        const struct score_result *result,
                        struct gathered *sum)
{
    if (metric == SCORE_BOUNDARY_P95_S) {
        if (!boundaries_count(result->labels))
            return;
        for (size_t i = 0; i < result->laps.n_errors; i++)
            add_value(sum, result->laps.error_s[i]);
        return;
    }
    sum->n += 1.0;
    if (metric == SCORE_LAPS_EXACT ? result->laps.exact
                                   : result->laps.strictly_exact)
        sum->right += 1.0;
}

static enum score_field field_of(enum score_metric metric)
{
    if (metric <= SCORE_LEAN_END_S)
        return SCORE_LEAN;
    return metric <= SCORE_CLUTCH_DURATION_S ? SCORE_CLUTCH : SCORE_DROPOUT;
}

static void gather_label(enum score_metric metric,
                         const struct score_outcome *outcome,
                         struct gathered *sum)
{
    const bool wanted = metric == SCORE_LEAN_SE_PARTS ? outcome->of_wanted_fault
                                                      : outcome->wanted;
    if (outcome->field != field_of(metric) || !wanted)
        return;
    switch (metric) {
    case SCORE_LEAN_START_S:
        if (outcome->found)
            add_value(sum, outcome->start_error_s);
        return;
    case SCORE_LEAN_END_S:
    case SCORE_CLUTCH_DURATION_S:
        if (outcome->found)
            add_value(sum, outcome->end_error_s);
        return;
    case SCORE_DROPOUT_CAUSE:
        if (outcome->found) {
            sum->n += 1.0;
            sum->right += outcome->cause_right ? 1.0 : 0.0;
        }
        return;
    case SCORE_LEAN_SE_ANY:
    case SCORE_LEAN_SE_PARTS:
    case SCORE_DROPOUT_SE_ANY:
        sum->n += 1.0;
        sum->right += outcome->touched ? 1.0 : 0.0;
        return;
    default:
        sum->n += 1.0;
        sum->right += outcome->found ? 1.0 : 0.0;
        return;
    }
}

static void gather_claim(enum score_metric metric,
                         const struct score_claim *claim,
                         struct gathered *sum)
{
    const bool any =
        metric == SCORE_LEAN_PP_ANY || metric == SCORE_DROPOUT_PP_ANY;
    if (claim->field != field_of(metric) || claim->excused)
        return;
    sum->n += 1.0;
    sum->right += claim->right || (any && claim->touches) ? 1.0 : 0.0;
}

static bool is_about_claims(enum score_metric metric)
{
    return metric == SCORE_LEAN_PP || metric == SCORE_LEAN_PP_ANY ||
           metric == SCORE_CLUTCH_PP || metric == SCORE_DROPOUT_PP ||
           metric == SCORE_DROPOUT_PP_ANY;
}

static void gather(enum score_metric metric,
                   const struct score_result *result,
                   struct gathered *sum)
{
    if (metric <= SCORE_BOUNDARY_P95_S) {
        gather_laps(metric, result, sum);
    } else if (metric == SCORE_FALSE_PER_H) {
        if (!result->labels->healthy)
            return;
        sum->right += result->false_findings;
        sum->n += result->labels->running_s / 3600.0;
    } else if (is_about_claims(metric)) {
        for (size_t i = 0; i < result->n_claims; i++)
            gather_claim(metric, &result->claim[i], sum);
    } else {
        for (size_t i = 0; i < result->n_outcomes; i++)
            gather_label(metric, &result->outcome[i], sum);
    }
}

static struct gathered gather_all(enum score_metric metric,
                                  const struct score_sample *sample)
{
    struct gathered sum = {0};
    for (size_t i = 0; i < sample->n; i++)
        gather(metric, sample->items[i], &sum);
    return sum;
}

double score_metric(enum score_metric metric, const struct score_sample *sample)
{
    struct gathered sum = gather_all(metric, sample);
    double value = sum.n > 0.0 ? sum.right / sum.n : NAN;
    if (metric == SCORE_BOUNDARY_P95_S)
        value = score_quantile(sum.values, sum.n_values, 0.95);
    else if (metric == SCORE_LEAN_START_S || metric == SCORE_LEAN_END_S ||
             metric == SCORE_CLUTCH_DURATION_S)
        value = score_quantile(sum.values, sum.n_values, 0.5);
    free(sum.values);
    return value;
}

size_t score_metric_n(enum score_metric metric,
                      const struct score_sample *sample)
{
    struct gathered sum = gather_all(metric, sample);
    free(sum.values);
    return sum.n_values > 0 ? sum.n_values : (size_t)ceil(sum.n);
}

struct score_interval score_bootstrap(enum score_metric metric,
                                      const struct score_sample *sample,
                                      unsigned long seed)
{
    struct score_interval interval = {score_metric(metric, sample), NAN, NAN};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    struct score_sample drawn = {score_allocate(sample->n, sizeof *drawn.items),
                                 sample->n};
    double values[DRAWS];
    size_t n = 0;
    if (random == NULL || sample->n == 0)
        goto done;
    gsl_rng_set(random, seed);
    for (size_t k = 0; k < DRAWS; k++) {
        for (size_t i = 0; i < drawn.n; i++)
            drawn.items[i] = sample->items[gsl_rng_uniform_int(
                random, (unsigned long)sample->n)];
        values[n] = score_metric(metric, &drawn);
        n += isfinite(values[n]) ? 1 : 0;
    }
    interval.low = score_quantile(values, n, 0.025);
    interval.high = score_quantile(values, n, 0.975);
done:
    free(drawn.items);
    if (random != NULL)
        gsl_rng_free(random);
    return interval;
}
