/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison as a sentence or two that a person can act on. */
#ifndef KARTWRIGHT_COMPARE_SUMMARY_H
#define KARTWRIGHT_COMPARE_SUMMARY_H

#include "compare/alike.h"
#include "compare/heat_change.h"
#include "core/text.h"

/* Adds the summary: heat first, then lap time, the surest other change, what
 * the air explains, and the safe side. What speaks against comparing at all
 * stands before everything, and then nothing is decided.
 *
 * comparison  with its measures judged and its air shared out.
 * heat        as kw_read_heat_change() gives it. */
void kw_summarise_change(struct kw_text *text,
                         const struct kw_comparison *comparison,
                         const struct kw_heat_change *heat,
                         const struct kw_differences *found);

/* EGT on both sides, if only the mean of the lap. */
bool kw_has_egt(const struct kw_comparison *comparison);

#endif
