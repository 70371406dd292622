/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps, from the best source that the log has. */
#ifndef KARTWRIGHT_ANALYSIS_LAPS_H
#define KARTWRIGHT_ANALYSIS_LAPS_H

#include "kartwright/review.h"

/* Finds the laps: lap column or marker; position against a line; the repeating
 * pattern of speed; that of RPM alone. See the contract for what a lap is.
 *
 * profile  never NULL; its line is used where it is stated.
 * out      the caller frees it with kw_laps_free(). KW_LAPS_NONE with no items
 *          where there are no laps (a bench run, a drive round the yard).
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_laps(const struct kw_session *session,
                            const struct kw_profile *profile,
                            const struct kw_running *running,
                            struct kw_laps *out,
                            struct kw_error *error);
void kw_laps_free(struct kw_laps *laps);

#endif
