/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load from RPM alone: what the engine does tells what the driver asks. */
#ifndef KARTWRIGHT_ANALYSIS_RPM_LOAD_H
#define KARTWRIGHT_ANALYSIS_RPM_LOAD_H

#include "kartwright/session.h"

/* Fills load[n_samples]: 1 under load, 0 not, NAN where it cannot be told. A
 * reading that vanishes for a moment changes nothing.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_load_from_rpm(const struct kw_session *session,
                                double *load,
                                struct kw_error *error);

#endif
