/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM without what is missing. */
#ifndef KARTWRIGHT_ANALYSIS_RPM_READINGS_H
#define KARTWRIGHT_ANALYSIS_RPM_READINGS_H

#include "kartwright/session.h"

/* Copies the readings of a session to the front of time_s[n_samples] and
 * rpm[n_samples].
 *
 * scratch  [n_samples], overwritten.
 * n        how many there are.
 * returns  the middle step between two of them, s; NAN for fewer than two. */
double kw_take_rpm_readings(const struct kw_session *session,
                            double *time_s,
                            double *rpm,
                            double *scratch,
                            size_t *n);

#endif
