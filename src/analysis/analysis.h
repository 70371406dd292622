/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The analysis as one step: running, load, laps, heat, then every detector of
 * the table in analysis.c in its order. */
#ifndef KARTWRIGHT_ANALYSIS_ANALYSIS_H
#define KARTWRIGHT_ANALYSIS_ANALYSIS_H

#include "kartwright/review.h"

/* Fills the review's running, laps, load, expected_* and events.
 *
 * review   its session is ready; the rest is zero.
 * known    its profile is never NULL, all else may be.
 * returns  KW_OK; KW_NO_MEMORY: kw_review_free() frees what was found. */
enum kw_status kw_analyse(struct kw_review *review,
                          const struct kw_review_options *known,
                          struct kw_error *error);

#endif
