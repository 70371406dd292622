/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dates as a person writes and reads them: ISO 8601, in the zone of TZ. */
#ifndef KARTWRIGHT_CORE_LOCAL_TIME_H
#define KARTWRIGHT_CORE_LOCAL_TIME_H

#include <stdbool.h>

/* Longest result of kw_local_time_print(), with the closing zero. */
enum { KW_LOCAL_TIME_SIZE = 40 };

/* Reads 2026-06-14, 2026-06-14T11:20, 2026-06-14T11:20:05, with or without Z or
 * +02:00. Without a zone it is local time.
 *
 * unix_s    seconds since 1970 UTC; the start of the day for a date alone.
 * has_time  a time of day came with it.
 * returns   false when it is no such date, or one that no calendar has. */
bool kw_local_time_parse(const char *text, double *unix_s, bool *has_time);

/* Seconds of a wall clock that knows no zone, taken as local time. */
double kw_local_time_of_wall(double wall_s);

/* "2026-06-14T11:20:05", or "2026-06-14" without the time of day.
 *
 * buffer   at least KW_LOCAL_TIME_SIZE bytes; returned. "?" in it for what no
 *          calendar has. */
const char *kw_local_time_print(char *buffer, double unix_s, bool with_time);

/* For a person: "2026-06-14 11:20", for seconds are for programs. What was
 * given as a day alone stands at its start and is shown as one; else as
 * kw_local_time_print(). */
const char *kw_local_time_show(char *buffer, double unix_s);

/* "2026-06-14T09:20:05Z", the same in every zone; else as
 * kw_local_time_print(). */
const char *kw_utc_time_print(char *buffer, double unix_s);

/* Start of the local day that holds unix_s, and of the day after it. */
double kw_local_day_start(double unix_s);
double kw_local_day_end(double unix_s);

#endif
