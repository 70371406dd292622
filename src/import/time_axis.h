/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From time stamps as they stand in the file to one clock that rises. */
#ifndef KARTWRIGHT_IMPORT_TIME_AXIS_H
#define KARTWRIGHT_IMPORT_TIME_AXIS_H

#include "kartwright/log.h"

#include <stdint.h>

/* What became of a row. */
enum kw_stamp {
    KW_STAMP_KEPT,
    KW_STAMP_REPEATED,
    KW_STAMP_BACKWARD,
    KW_STAMP_FAR_AHEAD,
    KW_STAMP_DAYS_OFF,
    KW_STAMP_TOO_LATE,
    KW_N_STAMPS
};

/* stamp_s   stamp_s[n], in seconds, none NAN; becomes the time since the first
 *           row that is kept, rising over the rows that are kept.
 * fate      fate[n], filled in.
 * line      line[n], of each row, for the notices.
 * midnight  true for a clock without a date: it begins again at 0:00.
 * first_s   filled in: the stamp of the first row that is kept, as it was, or
 *           as it would have been by the clock that most rows have. */
struct kw_time_axis {
    double *stamp_s;
    enum kw_stamp *fate;
    const uint32_t *line;
    size_t n;
    bool midnight;
    double first_s;
};

/* Follows the clock.
 *
 * A stamp far ahead of its neighbours is that row's fault, and so is one that
 * is days off; rows more than a day after the first are no part of the session.
 * A clock that goes back and stays back, or leaps ahead by days, was set, or
 * the log was appended to: it goes on from where it was. A clock that shows
 * each value for many rows (whole seconds at 10 rows a second) is spread
 * evenly. What still repeats or goes back is left out.
 *
 * notices  a clock that was set, or one too coarse for its rows, is named here.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_time_axis_follow(struct kw_time_axis *axis,
                                   struct kw_notices *notices,
                                   struct kw_error *error);

#endif
