/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lag of the EGT probe: found from the session, and taken out. */
#ifndef KARTWRIGHT_SIGNAL_PROBE_LAG_H
#define KARTWRIGHT_SIGNAL_PROBE_LAG_H

#include "kartwright/session.h"

/* Finds the probe's time constant and makes gas_c.
 *
 * A probe follows the gas as d egt/dt = (gas - egt) / tau, and the gas follows
 * RPM and load at once: tau is the one with which the reading is best explained
 * by a smooth function of RPM, for a pull and for a lift apart, that went
 * through such a lag.
 *
 * session  egt_c and rpm are cleaned; probe_lag_* and gas_c are filled in. The
 *          lag stays not known, and gas_c a copy of egt_c, where the log cannot
 *          tell: read too seldom, flat, too few pulls, or not explained by RPM.
 *          Without egt_c nothing is done.
 * profile  its probe_lag_s is taken where it is stated.
 * returns  KW_OK; KW_NO_MEMORY.
 * source   first-order lag: 63.2 % of a step after one time constant.
 * cost     O(n) for the gas; the fit looks at 10 minutes at most. */
enum kw_status kw_estimate_probe_lag(struct kw_session *session,
                                     const struct kw_profile *profile,
                                     struct kw_error *error);

#endif
