/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A step away and back, as a logger that smooths its readings writes it. */
#ifndef KARTWRIGHT_ANALYSIS_SMOOTHED_STEP_H
#define KARTWRIGHT_ANALYSIS_SMOOTHED_STEP_H

#include "kartwright/session.h"

/* Part of a session that may show such a step.
 *
 * before   the last reading before the step; what is right goes on a line from
 *          here ...
 * leaves   about the last reading before the step back
 * settled  ... to here, where nothing of the step is left.
 * times    the step: readings are so many times what is right. */
struct kw_smoothed_step {
    size_t before;
    size_t leaves;
    size_t settled;
    double times;
};

/* Fits the moments of both steps and the time constant of the smoothing.
 *
 * returns  how far the best of them is from the readings (root mean square), as
 *          a share of the step; NAN where the smoothing left less than two
 * thirds of the step to be seen. */
double kw_smoothed_misfit(const struct kw_session *session,
                          const struct kw_smoothed_step *step);

#endif
