/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Holds: where RPM, up from idle, stays for a while and is then left. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_HOLD_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_HOLD_H

#include "analysis/gearing.h"

/* What the search works on.
 *
 * rpm         rpm[n]: fresh readings joined by lines.
 * axle_rpm    smoothed, or NULL.
 * low_rpm     below it the clutch is open, as far as is known by now;
 * open_rpm    and as the idle tells.
 * shortest_s  what is shorter is no start. */
struct kw_clutch_trace {
    const struct kw_session *session;
    const struct kw_profile *profile;
    const struct kw_drive *drive;
    double *rpm;
    double *axle_rpm;
    double low_rpm;
    double open_rpm;
    double shortest_s;
};

/* A rise from idle, and what the hold after it looks like. */
struct kw_rise {
    size_t up;    /* first sample that is up */
    size_t flat;  /* the hold begins */
    size_t leave; /* first sample after it: climbed, dropped or too long */
    size_t stop;  /* end of what the knee is fitted to */
    double hold_rpm;
    bool climbs; /* left upward */
    bool drops;  /* left downward */
};

/* The sample after the next gap that may hide another start, or the end. */
size_t kw_gap_after(const struct kw_session *session, size_t from);

/* Seconds from one sample to another. */
double kw_after_s(const struct kw_clutch_trace *s, size_t from, size_t i);

/* The engine stays up after i (a reading may be missing). */
bool kw_stays_up(const struct kw_clutch_trace *s, size_t i);

/* How long RPM was low before it rose at i. */
double kw_low_before_s(const struct kw_clutch_trace *s, size_t i);

/* The engine idled before i, or stood and was started: a signal that was lost
 * for a moment reads low too. */
bool kw_idled_before(const struct kw_clutch_trace *s, size_t i);

/* The first hold from a sample on, soon after the engine was up. */
bool kw_find_hold(const struct kw_clutch_trace *s,
                  size_t up,
                  size_t from,
                  struct kw_rise *rise);

/* The last sample before RPM fell out of the hold. */
size_t kw_last_in_hold(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise);

#endif
