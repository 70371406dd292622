/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM without what is missing: see rpm_readings.h. */
#include "analysis/rpm_readings.h"

#include "core/robust.h"

#include <math.h>

double kw_take_rpm_readings(const struct kw_session *session,
                            double *time_s,
                            double *rpm,
                            double *scratch,
                            size_t *n)
{
    *n = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (isnan(session->rpm[i]))
            continue;
        time_s[*n] = session->time_s[i];
        rpm[(*n)++] = session->rpm[i];
    }
    for (size_t i = 1; i < *n; i++)
        scratch[i - 1] = time_s[i] - time_s[i - 1];
    return *n > 1 ? kw_median(scratch, *n - 1, scratch) : NAN;
}
