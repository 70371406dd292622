/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Signal: what can be trusted in a log. Spikes, gaps, dead probes, probe lag.
 *
 * A session is the log made ready for the detectors: one clock, one array for
 * each quantity, NAN where a value is missing or was set aside, and the raw
 * reading kept beside the cleaned one where a detector needs both. Nothing here
 * knows what a lap or a fault is.
 */
#ifndef KARTWRIGHT_SESSION_H
#define KARTWRIGHT_SESSION_H

#include "kartwright/error.h"
#include "kartwright/log.h"
#include "kartwright/profile.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* A run of samples: from is in, to is out, 0-based. */
struct kw_span {
    size_t from;
    size_t to;
};

/* A list of spans that grows; start with a zeroed one. */
struct kw_spans {
    struct kw_span *items;
    size_t n;
    size_t capacity;
};

/* Adds one span; order is the caller's affair.
 *
 * returns  KW_OK; KW_NO_MEMORY, and the list is as it was. */
enum kw_status kw_spans_add(struct kw_spans *spans,
                            size_t from,
                            size_t to,
                            struct kw_error *error);

/* Takes a zeroed list, and may be called twice. */
void kw_spans_free(struct kw_spans *spans);

/* What an engine did in a longer hole of the log nobody can say: it counts as
 * nothing, and is told (common practice, no source). */
#define KW_LONG_GAP_S 10.0

/* How a value came to be known. */
enum kw_origin {
    KW_ORIGIN_NOT_KNOWN,
    KW_ORIGIN_PROFILE, /* the owner stated it */
    KW_ORIGIN_SESSION  /* estimated from this session */
};

/* The cleaned session. Every array has n_samples entries and is NULL when the
 * log has no such channel (or nothing of it could be trusted); NAN marks a
 * sample that is missing or set aside. A gap is never bridged.
 *
 * time_s          strictly rising, 0 at the log's first data row.
 * rate_hz         1 / median step, > 0; steps may jitter.
 * rpm_raw         as logged.
 * rpm             glitches shorter than 0.05 s set aside. Drop-outs, however
 *                 sharp, are still in it.
 * egt_raw_c       the chosen probe as logged (not known: NAN).
 * egt_c           the same, spikes, open and stuck stretches set aside.
 * gas_c           egt_c with the probe's lag taken out; follows the gas and is
 *                 smoothed no more than its noise demands.
 * egt_probe       which EGT channel was chosen: the one with most to trust.
 * probe_lag_s     the time constant that was taken out; NAN when not known, and
 *                 then gas_c is egt_c.
 * probe_lag_origin, probe_lag_error_s  where it came from, and about one
 *                 standard error (NAN when not known).
 * speed_m_s       wheel or GPS speed; derived from position where the log has
 *                 position but no speed (speed_is_derived): good to some 0.3 to
 *                 1 m/s, and smoothed over up to 1.5 s.
 *                 From a sensor slower than the logger, egt_c, speed_m_s, x_m
 *                 and y_m are lines from one fresh reading to the next.
 * axle_rpm        as logged, and a line over rows that were left blank between.
 * x_m, y_m        position on a local plane, east and north.
 * origin_lat_deg, origin_lon_deg  where that plane touches; NAN without.
 * lap_number      the lap column, lap_marker the marker column (0 = none).
 * throttle        0 to 1, scaled by the range seen.
 * accel_*_m_s2    as logged.  water_c, head_c, battery_v likewise.
 * gaps            samples before which more than the usual step is missing:
 *                 from = last before, to = first after the gap: from + 1.
 * notices         what was set aside and why, for a person. */
struct kw_session {
    size_t n_samples;
    double rate_hz;
    double *time_s;
    double *rpm_raw;
    double *rpm;
    double *egt_raw_c;
    double *egt_c;
    double *gas_c;
    size_t egt_probe;
    double probe_lag_s;
    double probe_lag_error_s;
    enum kw_origin probe_lag_origin;
    double *speed_m_s;
    bool speed_is_derived;
    double *axle_rpm;
    double *x_m;
    double *y_m;
    double origin_lat_deg;
    double origin_lon_deg;
    double *lap_number;
    double *lap_marker;
    double *throttle;
    double *accel_long_m_s2;
    double *accel_lat_m_s2;
    double *water_c;
    double *head_c;
    double *battery_v;
    struct kw_spans gaps;
    struct kw_notices notices;
};

/* Cleans a log.
 *
 * log      at least the time and one RPM channel.
 * profile  what the owner stated, or NULL.
 * out      the caller frees it with kw_session_free(). Zeroed on error.
 * error    filled in when the result is not KW_OK, else untouched.
 * returns  KW_OK; KW_BAD_INPUT (no RPM, fewer than 2 samples); KW_NO_MEMORY. */
enum kw_status kw_session_from_log(const struct kw_log *log,
                                   const struct kw_profile *profile,
                                   struct kw_session *out,
                                   struct kw_error *error);

/* Takes a zeroed session, and may be called twice. */
void kw_session_free(struct kw_session *session);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
