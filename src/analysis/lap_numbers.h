/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logger's own lap numbers beside ours. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_NUMBERS_H
#define KARTWRIGHT_ANALYSIS_LAP_NUMBERS_H

#include "kartwright/review.h"

/* Tells in a notice how the numbers of the log's lap column differ from those
 * of the review; nothing where they are the same, or laps were not told by that
 * column.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_tell_lap_numbers(struct kw_review *review,
                                   struct kw_error *error);

#endif
