/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Matching of findings with labels, and the arithmetic of detection.
 *
 * In the manner of ANSI/AAMI EC57 (from memory; the worked check of the tests
 * states the formulas): each label is matched with at most one finding that
 * overlaps it, best overlap first. What is left over on the label side is
 * missed, on the finding's side false. Optional labels (`optional`) excuse a
 * finding and are never missed.
 */
#ifndef SCORE_MATCH_H
#define SCORE_MATCH_H

#include "score_case.h"

struct score_counts {
    double true_positive, false_negative, false_positive;
};

double score_sensitivity(const struct score_counts *counts);
double score_predictivity(const struct score_counts *counts);
double score_f1(const struct score_counts *counts);

/* Seconds that two spans share, each widened by pad_s on both sides; 0 when
 * they do not meet. */
double score_overlap_s(const struct score_event *a,
                       const struct score_event *b,
                       double pad_s);

enum score_fate { SCORE_FALSE, SCORE_RIGHT, SCORE_EXCUSED };

enum { SCORE_NONE = -1 };

/* finding_of[n labels]   index of the finding that a label got, or SCORE_NONE.
 * fate[n findings]       what a finding is worth.
 * touched[n labels]      some finding overlaps it, matched or not.
 * touches[n findings]    it overlaps some label, matched or not. */
struct score_matching {
    int *finding_of;
    enum score_fate *fate;
    bool *touched;
    bool *touches;
};

struct score_matching score_match(const struct score_events *labels,
                                  const struct score_events *findings,
                                  double pad_s);
void score_matching_free(struct score_matching *matching);

/* Quantile of n values by proportion between neighbours; sorts them. NAN when
 * n is 0. */
double score_quantile(double *values, size_t n, double share);

#endif
