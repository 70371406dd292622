/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Engine speed: glitches set aside, drop-outs left in. */
#ifndef KARTWRIGHT_SIGNAL_RPM_H
#define KARTWRIGHT_SIGNAL_RPM_H

#include "kartwright/session.h"

/* The contract's line between a glitch, which lasts less, and a drop-out. */
#define KW_GLITCH_S 0.05

/* Sets glitches, odd RPM readings, aside (NAN in rpm, as they were in rpm_raw)
 * and says so in a notice. Below 20 samples each second one odd reading may
 * have lasted longer: all are left for the detectors.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_set_glitches_aside(struct kw_session *session,
                                     struct kw_error *error);

#endif
