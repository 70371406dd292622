/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stamps that are days apart, which no session is. */
#ifndef KARTWRIGHT_IMPORT_TIME_LEAP_H
#define KARTWRIGHT_IMPORT_TIME_LEAP_H

#include "core/clock.h"
#include "import/time_axis.h"

/* No session lasts longer, and no logger pauses longer within one: races over
 * 24 hours are the longest there are. A gap is filled in later, so a stamp of
 * the year 30,000,000,000 would ask for all the memory there is. Common
 * practice, no source. */
#define KW_LONGEST_LOG_S KW_SECONDS_A_DAY

/* How many rows must agree before a jump is the clock's and not the row's.
 * Fewer would take two damaged rows for a clock; more would lose the start of a
 * short second part. Common practice, no source. */
enum { KW_ROWS_TO_AGREE = 5 };

/* Cuts the log where it leaps by more than a day. Parts of a few rows are the
 * fault of these rows; they take the stamp of a neighbour. Other parts follow
 * each other at one step: a receiver has set the clock, or the log of another
 * day was appended.
 *
 * axis     fate is filled in.
 * step_s   the usual one.
 * shift_s  filled in: what makes a date of a stamp again, by the clock that
 *          most rows have; 0 without leaps.
 * notices  a clock that leaps is named here.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_time_leaps_mend(struct kw_time_axis *axis,
                                  double step_s,
                                  double *shift_s,
                                  struct kw_notices *notices,
                                  struct kw_error *error);

#endif
