/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gas behind a probe that lags. */
#ifndef KARTWRIGHT_SIGNAL_GAS_H
#define KARTWRIGHT_SIGNAL_GAS_H

#include "kartwright/session.h"

/* Fills gas_c = egt_c + lag_s * d egt/dt, smoothed over a window no wider than
 * the noise of the reading demands (see kw_gas_window_s()).
 *
 * session  egt_raw_c, egt_c and gas_c exist.
 * lag_s    time constant, > 0.
 * returns  KW_OK; KW_NO_MEMORY, and gas_c is as it was. */
enum kw_status kw_take_out_lag(struct kw_session *session,
                               double lag_s,
                               struct kw_error *error);

/* The window over which the slope of egt_c has to be taken, so that the gas
 * keeps a scatter of some degrees only: a slope over W seconds of a reading
 * with noise s at r samples each second scatters by s * sqrt(12 / (r * W^3)).
 *
 * out      seconds.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_gas_window_s(const struct kw_session *session,
                               double lag_s,
                               double *out,
                               struct kw_error *error);

/* Seconds between two new readings of egt_raw_c: a logger faster than its
 * probe's converter repeats the last one. */
double kw_egt_refresh_s(const struct kw_session *session);

#endif
