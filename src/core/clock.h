/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times of day and dates as logs write them. */
#ifndef KARTWRIGHT_CORE_CLOCK_H
#define KARTWRIGHT_CORE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>

/* What a clock text held.
 *
 * has_date  a calendar date came with it.
 * has_zone  a zone did: seconds are those of UTC, not of the wall clock.
 * seconds   since 1970-01-01 UTC with a date, else since midnight (or since the
 *           clock's own zero, for mm:ss). A zone is taken off; without one the
 *           date counts as UTC. */
struct kw_clock {
    bool has_date;
    bool has_zone;
    double seconds;
};

enum { KW_SECONDS_A_DAY = 86400 };

/* Reads hh:mm:ss, hh:mm:ss.sss, mm:ss.sss, hh:mm:ss:mmm, and dates with a time:
 * ISO 8601 (2026-06-14T11:20:00.25Z, with a space for the T, with +02:00),
 * 14.06.2026 11:20:00, 14/06/2026 11:20:00, 06/14/2026 11:20:00 AM. A comma may
 * stand for the point. A time with a date and a zone is turned to UTC.
 *
 * text, length  the field; need not be closed with a zero.
 * returns       false when it is none of these, or an impossible time. */
bool kw_clock_parse(const char *text, size_t length, struct kw_clock *out);

/* Reads a date alone: 2026-06-14, 14.06.2026 or 14/06/2026.
 *
 * returns  false when it is none; else seconds since 1970-01-01 at 00:00. */
bool kw_date_parse(const char *text, size_t length, double *seconds);

#endif
