/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed of the kart from two witnesses: the speed channel and the engine. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_PACE_H
#define KARTWRIGHT_ANALYSIS_LAP_PACE_H

#include "kartwright/session.h"

/* With the clutch locked engine turns are the finer witness: no noise, no lag.
 * Where they do not agree with the speed channel (a slipping clutch, wheelspin,
 * a lost signal, standing) the speed channel is believed.
 *
 * session  has speed_m_s.
 * out      out[n_samples], m/s, NAN where neither knows; the speed channel as
 * it is where the engine is not locked to it for most of the drive. returns
 * KW_OK; KW_NO_MEMORY. */
enum kw_status kw_kart_speed(const struct kw_session *session,
                             double *out,
                             struct kw_error *error);

#endif
