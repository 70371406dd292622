/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed of the kart from two witnesses: the speed channel and the engine. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_PACE_H
#define KARTWRIGHT_ANALYSIS_LAP_PACE_H

#include "kartwright/session.h"

/* With the clutch locked engine turns are the finer witness: no noise, no lag.
 * Where they do not agree with the speed channel (a slipping clutch, wheelspin,
 * a lost signal, standing) the speed channel is believed.
 *
 * session  has one of the two below.
 * out      out[n_samples], in the channel's unit, NAN where neither knows; the
 *          channel as it is where the engine is not locked to it for most of
 *          the drive.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_kart_speed(const struct kw_session *session,
                             double *out,
                             struct kw_error *error);

/* The channel that tells the kart's speed: speed_m_s, else axle_rpm, which is a
 * speed whose metres a turn are not known. NULL without. */
const double *kw_speed_channel(const struct kw_session *session);

#endif
