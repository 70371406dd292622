/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of the scorer: for a terminal, or in Markdown. */
#ifndef SCORE_REPORT_H
#define SCORE_REPORT_H

#include "score_metric.h"

#include <stdio.h>

struct score_pen {
    FILE *out;
    bool markdown;
};

/* The targets against what was measured, with intervals. */
void score_put_targets(const struct score_pen *pen,
                       const struct score_sample *all);

/* The same figures by group, channels and rate. */
void score_put_groups(const struct score_pen *pen,
                      const struct score_sample *all);

/* Found against strength, other faults, confidence, how the runs ended. */
void score_put_strength(const struct score_pen *pen,
                        const struct score_sample *all);
void score_put_kinds(const struct score_pen *pen,
                     const struct score_sample *all);
void score_put_confidence(const struct score_pen *pen,
                          const struct score_sample *all);
void score_put_ends(const struct score_pen *pen,
                    const struct score_sample *all);

/* What was missed or invented, worst sessions first; most = how many. */
void score_put_list(const struct score_pen *pen,
                    const struct score_sample *all,
                    size_t most);

/* strength, labels, found: a data file for a plot. */
void score_put_strength_data(FILE *out, const struct score_sample *all);

#endif
