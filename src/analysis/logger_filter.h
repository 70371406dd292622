/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Engine speed as it was before the logger smoothed it. */
#ifndef KARTWRIGHT_ANALYSIS_LOGGER_FILTER_H
#define KARTWRIGHT_ANALYSIS_LOGGER_FILTER_H

#include "kartwright/session.h"

/* Tells from the sharpest edges of a session whether its logger has a filter of
 * the first order, y' = (x - y) / lag, and takes it out of RPM.
 *
 * top_rpm  the session's top end.
 * rpm      rpm[n_samples]: x, the mean over some 0.05 s; missing where RPM is.
 *          Untouched where no such filter is seen.
 * lag_s    its time constant, or 0.3 s of a longer one; NAN where none is seen:
 *          few edges are sharp enough, or they stop at once, or go on in a
 *          line.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_undo_logger_filter(const struct kw_session *session,
                                     double top_rpm,
                                     double *rpm,
                                     double *lag_s,
                                     struct kw_error *error);

#endif
