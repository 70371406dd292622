/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The slip of a start as a speed channel shows it. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_MEET_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_MEET_H

#include "analysis/clutch_hold.h"
#include "analysis/clutch_start.h"

/* Below this slip engine and axle turn together (contract). */
#define KW_LOCKED_SLIP 0.03

/* KW_LOOK_ON: what comes after this hold may be the start. */
enum kw_judgement { KW_NO_START, KW_LOOK_ON, KW_STARTS };

/* Speed that scatters so little that it tells slip better than RPM's knee. */
bool kw_has_clean_speed(const struct kw_clutch_trace *s);

/* Looks at the slip itself, where the log shows it.
 *
 * has_knee  RPM alone shows when the clutch locked.
 * start     has start_s, start_rpm and, with a knee, locked_s; what the speed
 *           knows better is filled in. */
enum kw_judgement kw_look_at_slip(const struct kw_clutch_trace *s,
                                  const struct kw_rise *rise,
                                  bool has_knee,
                                  struct kw_start *start);

/* Whether the axle came below a walk within the hold by more than the speed may
 * be off; false where it is not known. What is not sure by the speed, as near
 * to a walk by a receiver's fixes, is asked of the climb as well. */
bool kw_surely_walks(const struct kw_clutch_trace *s,
                     const struct kw_rise *rise,
                     const struct kw_start *start);

#endif
