/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the engine turns under its own power. */
#ifndef KARTWRIGHT_ANALYSIS_RUNNING_H
#define KARTWRIGHT_ANALYSIS_RUNNING_H

#include "kartwright/review.h"

/* Finds the runs of the engine and counts its starts.
 *
 * session  any; a signal that vanishes for a moment while the kart rolls on is
 *          a drop-out and ends no run.
 * profile  never NULL; idle_rpm helps where it is stated.
 * out      the caller frees it with kw_running_free(). Empty on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_running(const struct kw_session *session,
                               const struct kw_profile *profile,
                               struct kw_running *out,
                               struct kw_error *error);
void kw_running_free(struct kw_running *running);

#endif
