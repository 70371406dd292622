/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Engine speed as it was read before the logger drew lines between readings. */
#ifndef KARTWRIGHT_ANALYSIS_LOGGER_RAMP_H
#define KARTWRIGHT_ANALYSIS_LOGGER_RAMP_H

#include "kartwright/session.h"

/* Tells whether RPM is made of straight lines, each from one reading to the
 * next, all as long as each other and longer than the rows are apart, and gives
 * the readings that they join.
 *
 * rpm      rpm[n_samples]: the reading that each row's line goes to, so that
 *          each reading is held; missing where RPM is. Untouched where no lines
 *          are seen.
 * line_s   how long each line is; NAN where none are seen.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_undo_logger_ramp(const struct kw_session *session,
                                   double *rpm,
                                   double *line_s,
                                   struct kw_error *error);

#endif
