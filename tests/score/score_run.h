/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs `kartwright review` on many logs, a few at a time, without a shell. */
#ifndef SCORE_RUN_H
#define SCORE_RUN_H

#include "score_case.h"

enum score_exit {
    SCORE_REVIEWED,
    SCORE_REFUSED, /* a status other than 0 */
    SCORE_CRASHED, /* ended by a signal */
    SCORE_TIMED_OUT
};

/* What came back. output is owned by the caller. */
struct score_output {
    enum score_exit exit;
    int status; /* exit status or signal */
    char *output;
    size_t length;
    double seconds;
};

struct score_runner {
    const char *program;
    int jobs;
    double timeout_s;
};

/* Reviews the logs of `labels`; outputs[i] belongs to labels[i]. */
void score_run_all(const struct score_runner *runner,
                   const struct score_labels *labels,
                   size_t n,
                   struct score_output *outputs);

#endif
