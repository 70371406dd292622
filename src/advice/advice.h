/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to do about what was found, most pressing first, and what could not be
 * found out. */
#ifndef KARTWRIGHT_ADVICE_ADVICE_H
#define KARTWRIGHT_ADVICE_ADVICE_H

#include "kartwright/review.h"

/* Fills the review's suggestions, verdict and verdict_text from its events and
 * laps.
 *
 * options  as given to kw_review_log(); NULL for none.
 * returns  KW_OK; KW_NO_MEMORY: kw_review_free() frees what was made. */
enum kw_status kw_advise(struct kw_review *review,
                         const struct kw_review_options *options,
                         struct kw_error *error);

/* Fills the review's not_judged.
 *
 * options  as given to kw_review_log().
 * returns  as kw_advise(). */
enum kw_status kw_say_what_was_not_judged(
    struct kw_review *review,
    const struct kw_review_options *options,
    struct kw_error *error);

#endif
