/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM above the owner's own limit. */
#ifndef KARTWRIGHT_ANALYSIS_OVER_REV_H
#define KARTWRIGHT_ANALYSIS_OVER_REV_H

#include "kartwright/review.h"

/* Fills the review's over_rev and tells it in a notice; nothing where the
 * profile states no max_rpm.
 *
 * review   analysed: odd readings that its drop-outs explain do not count.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_over_rev(struct kw_review *review,
                                const struct kw_profile *profile,
                                struct kw_error *error);

#endif
