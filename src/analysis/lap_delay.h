/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How late a position is. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_DELAY_H
#define KARTWRIGHT_ANALYSIS_LAP_DELAY_H

#include "kartwright/session.h"

/* By how much position comes later than engine turns: a receiver needs 0.05 to
 * 0.3 s for a fix, and a logger more to pass it on.
 *
 * session  time_s, rpm, x_m and y_m; any of them may be NULL but the time.
 * delay_s  what a passing that was seen by position comes too late; 0 where it
 *          cannot be told, or where position is not late.
 * returns  KW_OK; KW_NO_MEMORY.
 * cost     O(n) for each of a few rounds. */
enum kw_status kw_position_delay(const struct kw_session *session,
                                 double *delay_s,
                                 struct kw_error *error);

#endif
