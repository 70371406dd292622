/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sensors slower than the logger, whose last reading is repeated. */
#ifndef KARTWRIGHT_SIGNAL_HOLD_H
#define KARTWRIGHT_SIGNAL_HOLD_H

#include "kartwright/session.h"

/* Joins the fresh readings of a channel by straight lines in time where most of
 * them are repeats, so that slopes are those of the quantity and not of a
 * staircase. A fresh reading stays where it first shows. A value that lasts
 * much longer than usual is a steady one: it stays until one usual interval
 * before the next. Nothing is joined across a gap or a missing reading.
 *
 * values   values[n_samples], changed in place; left alone when each reading
 *          is fresh.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_join_updates(const struct kw_session *session,
                               double *values,
                               struct kw_error *error);

/* Fills the rows between two readings of a channel that is written less often
 * than the others, by a line between them.
 *
 * raw     raw[n_samples] as logged: NAN where a field was blank.
 * values  values[n_samples] cleaned; changed in place. A reading that was set
 *         aside stays missing, and so does what is beside it.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_join_blanks(const struct kw_session *session,
                              const double *raw,
                              double *values,
                              struct kw_error *error);

#endif
