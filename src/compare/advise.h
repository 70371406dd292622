/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison in plain words, and what to do. */
#ifndef KARTWRIGHT_COMPARE_ADVISE_H
#define KARTWRIGHT_COMPARE_ADVISE_H

#include "compare/alike.h"

/* Fills in air, summary and suggestion of a comparison that is complete else.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_advise_change(struct kw_comparison *comparison,
                                const struct kw_differences *found,
                                struct kw_error *error);

#endif
