/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast this engine's speed can change while the clutch is locked: what is
 * faster was not the kart. */
#ifndef KARTWRIGHT_ANALYSIS_RATE_LIMIT_H
#define KARTWRIGHT_ANALYSIS_RATE_LIMIT_H

#include "analysis/scene.h"

/* top_rpm      the session's own top end.
 * locked_rpm   above this the clutch is locked for certain.
 * fall_rpm_s   RPM falls no faster than the kart brakes through the gearing, or
 *              than this session's braking, with a margin.
 * rise_rpm_s   RPM rises no faster than this engine has shown, with a margin.
 * noise_rpm    standard deviation of a single reading, resolution included.
 * unsteady_rpm what a single reading may be off, noise, kerbs and wheelspin.
 * step_s       usual time between two rows.
 * fresh_s      and between two readings that are new: a logger may repeat each
 *              of them for many rows. */
struct kw_rate_limits {
    double top_rpm;
    double locked_rpm;
    double fall_rpm_s;
    double rise_rpm_s;
    double noise_rpm;
    double unsteady_rpm;
    double step_s;
    double fresh_s;
};

/* From the session; a profile that states tyre and teeth may widen fall_rpm_s.
 *
 * out      all NAN when the session shows no engine speed to learn from.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_rate_limits(const struct kw_session *session,
                                   const struct kw_profile *profile,
                                   struct kw_rate_limits *out,
                                   struct kw_error *error);

/* From reading a to reading b, b > a, no gap between: faster down than brakes,
 * faster up than this engine. */
bool kw_falls_too_fast(const struct kw_session *session,
                       const struct kw_rate_limits *limits,
                       size_t a,
                       size_t b);
bool kw_rises_too_fast(const struct kw_session *session,
                       const struct kw_rate_limits *limits,
                       size_t a,
                       size_t b);

/* The next RPM reading after i that is not missing; n_samples at the end or at
 * a gap. */
size_t kw_next_rpm(const struct kw_session *session,
                   const struct kw_rate_limits *limits,
                   size_t i);

#endif
