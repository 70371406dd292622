/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Long stretches without a reading: nothing was found there because nothing
 * could be. */
#ifndef KARTWRIGHT_SIGNAL_BLANK_STRETCH_H
#define KARTWRIGHT_SIGNAL_BLANK_STRETCH_H

#include "kartwright/session.h"

/* Says in one notice how long a channel has no readings though there are rows,
 * and where.
 *
 * values   values[session->n_samples], NAN where missing.
 * name     of the channel, as people say it.
 * returns  KW_OK, also where there is no such stretch; KW_NO_MEMORY. */
enum kw_status kw_tell_blank_stretches(struct kw_session *session,
                                       const double *values,
                                       const char *name,
                                       struct kw_error *error);

#endif
