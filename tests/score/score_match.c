/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Matching and its arithmetic, see score_match.h. */
#include "score_match.h"

#include <math.h>
#include <stdlib.h>

double score_sensitivity(const struct score_counts *counts)
{
    const double n = counts->true_positive + counts->false_negative;
    return n > 0.0 ? counts->true_positive / n : NAN;
}

double score_predictivity(const struct score_counts *counts)
{
    const double n = counts->true_positive + counts->false_positive;
    return n > 0.0 ? counts->true_positive / n : NAN;
}

double score_f1(const struct score_counts *counts)
{
    const double twice = 2.0 * counts->true_positive;
    const double n = twice + counts->false_negative + counts->false_positive;
    return n > 0.0 ? twice / n : NAN;
}

double score_overlap_s(const struct score_event *a,
                       const struct score_event *b,
                       double pad_s)
{
    const double from_s = fmax(a->start_s, b->start_s) - pad_s;
    const double to_s = fmin(a->end_s, b->end_s) + pad_s;
    return fmax(to_s - from_s, 0.0);
}

/* A pair that overlaps. */
struct pair {
    size_t label, finding;
    double shared_s;
    bool optional;
};

/* Labels that must be found come first, then the longest overlap; equal ones
 * in the order of time, so that the result never hangs on the sort. */
static int by_worth(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->optional != y->optional)
        return x->optional ? 1 : -1;
    if (x->shared_s > y->shared_s || x->shared_s < y->shared_s)
        return x->shared_s > y->shared_s ? -1 : 1;
    if (x->label != y->label)
        return x->label < y->label ? -1 : 1;
    return (x->finding > y->finding) - (x->finding < y->finding);
}

static size_t list_pairs(const struct score_events *labels,
                         const struct score_events *findings,
                         double pad_s,
                         struct pair *pairs)
{
    size_t n = 0;
    for (size_t i = 0; i < labels->n; i++)
        for (size_t j = 0; j < findings->n; j++) {
            const double shared_s =
                score_overlap_s(&labels->items[i], &findings->items[j], pad_s);
            if (shared_s > 0.0)
                pairs[n++] =
                    (struct pair){i, j, shared_s, labels->items[i].optional};
        }
    qsort(pairs, n, sizeof *pairs, by_worth);
    return n;
}

struct score_matching score_match(const struct score_events *labels,
                                  const struct score_events *findings,
                                  double pad_s)
{
    struct score_matching matching = {
        .finding_of = score_allocate(labels->n, sizeof(int)),
        .fate = score_allocate(findings->n, sizeof(enum score_fate)),
        .touched = score_allocate(labels->n, sizeof(bool)),
        .touches = score_allocate(findings->n, sizeof(bool))};
    for (size_t i = 0; i < labels->n; i++)
        matching.finding_of[i] = SCORE_NONE;
    struct pair *pairs = score_allocate(labels->n * findings->n, sizeof *pairs);
    const size_t n = list_pairs(labels, findings, pad_s, pairs);
    for (size_t k = 0; k < n; k++) {
        const struct pair *pair = &pairs[k];
        matching.touched[pair->label] = true;
        matching.touches[pair->finding] = true;
        if (matching.fate[pair->finding] == SCORE_RIGHT)
            continue;
        if (pair->optional)
            matching.fate[pair->finding] = SCORE_EXCUSED;
        else if (matching.finding_of[pair->label] == SCORE_NONE) {
            matching.finding_of[pair->label] = (int)pair->finding;
            matching.fate[pair->finding] = SCORE_RIGHT;
        }
    }
    free(pairs);
    return matching;
}

void score_matching_free(struct score_matching *matching)
{
    free(matching->finding_of);
    free(matching->fate);
    free(matching->touched);
    free(matching->touches);
    *matching = (struct score_matching){0};
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double score_quantile(double *values, size_t n, double share)
{
    if (n == 0)
        return NAN;
    qsort(values, n, sizeof *values, by_value);
    const double at = share * (double)(n - 1);
    const size_t i = (size_t)at;
    if (i + 1 >= n)
        return values[n - 1];
    return values[i] + (at - (double)i) * (values[i + 1] - values[i]);
}
