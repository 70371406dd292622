/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Local time, by the C library's knowledge of zones.
 *
 * A race day is a day on the wall of the person who keeps the book, with summer
 * time and all; the book itself keeps seconds since 1970 in UTC, which no zone
 * can shift. */
#include "local_time.h"

#include "clock.h"
#include "number.h"
#include "text.h"

#include <math.h>
#include <string.h>
#include <time.h>

/* Years 1970 to 2200: what the clock reader takes, and safe for any time_t. */
static const double LAST_S = 7.3e9;

enum { DATE_LENGTH = 10 };

/* A day before 1970 is let in: midnight of 1970-01-01 east of Greenwich lies
 * there. */
static bool to_calendar(double seconds, bool local, struct tm *out)
{
    if (!(seconds >= -KW_SECONDS_A_DAY && seconds <= LAST_S))
        return false;
    /* Towards the past, so that the fraction which is added again is
     * positive. */
    const time_t whole = (time_t)floor(seconds);
    return (local ? localtime_r(&whole, out) : gmtime_r(&whole, out)) != NULL;
}

/* The clock reader gives the wall clock as if it were UTC: read the calendar
 * off it, and ask the zone when that was. */
double kw_local_time_of_wall(double wall_s)
{
    struct tm calendar;
    if (!to_calendar(wall_s, false, &calendar))
        return wall_s;
    /* Not known whether summer time holds: the zone is asked. Of the hour that
     * comes twice in autumn either may be meant. */
    calendar.tm_isdst = -1;
    const time_t at = mktime(&calendar);
    /* Also the last second of 1969, which no session has. */
    if (at == (time_t)-1)
        return wall_s;
    return (double)at + (wall_s - floor(wall_s));
}

/* The clock reader lets 31 February pass as 3 March: no calendar has it. */
static bool is_on_calendar(const char *text, double day_s)
{
    struct tm calendar;
    char date[KW_LOCAL_TIME_SIZE];
    if (!to_calendar(day_s, false, &calendar) ||
        strftime(date, sizeof date, "%Y-%m-%d", &calendar) == 0)
        return false;
    return strncmp(date, text, DATE_LENGTH) == 0;
}

/* "11:20" would be read as minutes and seconds: say the seconds.
 *
 * time  what follows the T. */
static bool parse_with_seconds(const char *text, struct kw_clock *clock)
{
    struct kw_text whole = {0};
    const char *time = text + DATE_LENGTH + 1;
    const size_t digits = strspn(time, "0123456789:");
    const char *colon = strchr(time, ':');
    const bool no_seconds =
        colon != NULL && memchr(colon + 1, ':', strlen(colon + 1)) == NULL;
    const size_t head = DATE_LENGTH + 1 + (digits < 5 ? digits : 5);
    kw_text_add_bytes(&whole, text, head);
    if (no_seconds || (colon != NULL && time[5] != ':'))
        kw_text_add(&whole, ":00");
    kw_text_add(&whole, text + head);
    const bool good = !kw_text_failed(&whole) &&
                      kw_clock_parse(whole.bytes, whole.length, clock) &&
                      clock->has_date;
    kw_text_free(&whole);
    return good;
}

/* The clock reader counts hours on past a day, as lap timers do; of a wall
 * clock 25:00 is a slip, and would file the session under the next day. 24:00
 * is the midnight that ends the day (ISO 8601:2004, 4.2.3, from memory).
 *
 * time  what follows the T. */
static bool is_on_wall_clock(const char *time)
{
    double hours = NAN;
    const size_t digits = strspn(time, "0123456789");
    const bool full =
        strspn(time + digits, ":0") == strspn(time + digits, ":0123456789");
    return kw_number_parse(time, digits, '.', &hours) &&
           (hours < 24.0 || (full && hours <= 24.0));
}

/* ISO 8601 and nothing else: 06/07 is June in one country and July in the
 * next. */
bool kw_local_time_parse(const char *text, double *unix_s, bool *has_time)
{
    double day_s = 0.0;
    struct kw_clock clock = {0};
    const size_t length = strlen(text);
    if (length < DATE_LENGTH || text[4] != '-' || text[7] != '-' ||
        !kw_date_parse(text, DATE_LENGTH, &day_s) ||
        !is_on_calendar(text, day_s))
        return false;
    *has_time = length > DATE_LENGTH;
    if (!*has_time) {
        *unix_s = kw_local_time_of_wall(day_s);
        return true;
    }
    if (length < DATE_LENGTH + 6 || !is_on_wall_clock(text + DATE_LENGTH + 1) ||
        !parse_with_seconds(text, &clock))
        return false;
    /* A stated zone settles it; without one the person means the clock on the
     * wall. */
    *unix_s =
        clock.has_zone ? clock.seconds : kw_local_time_of_wall(clock.seconds);
    return true;
}

/* strftime() with numbers only: names of months would follow the locale. */
const char *kw_local_time_print(char *buffer, double unix_s, bool with_time)
{
    struct tm calendar;
    if (!to_calendar(unix_s, true, &calendar) ||
        strftime(buffer, KW_LOCAL_TIME_SIZE,
                 with_time ? "%Y-%m-%dT%H:%M:%S" : "%Y-%m-%d", &calendar) == 0)
        kw_text_copy(buffer, KW_LOCAL_TIME_SIZE, "?");
    return buffer;
}

const char *kw_utc_time_print(char *buffer, double unix_s)
{
    struct tm calendar;
    if (!to_calendar(unix_s, false, &calendar) ||
        strftime(buffer, KW_LOCAL_TIME_SIZE, "%Y-%m-%dT%H:%M:%SZ", &calendar) ==
            0)
        kw_text_copy(buffer, KW_LOCAL_TIME_SIZE, "?");
    return buffer;
}

/* Midnight of a day so many days on; a day of 23 or 25 hours is one day. */
static double midnight(double unix_s, int days_on)
{
    struct tm calendar;
    if (!to_calendar(unix_s, true, &calendar))
        return unix_s;
    calendar.tm_hour = 0;
    calendar.tm_min = 0;
    calendar.tm_sec = 0;
    /* mktime() carries over: day 32 of May is 1 June. */
    calendar.tm_mday += days_on;
    calendar.tm_isdst = -1;
    const time_t at = mktime(&calendar);
    return at == (time_t)-1 ? unix_s : (double)at;
}

/* In local time: a race day does not end at midnight in Greenwich. Days of 23
 * and 25 hours come out right. */
double kw_local_day_start(double unix_s)
{
    return midnight(unix_s, 0);
}

double kw_local_day_end(double unix_s)
{
    return midnight(unix_s, 1);
}

const char *kw_local_time_show(char *buffer, double unix_s)
{
    struct tm calendar;
    const bool is_day = unix_s <= kw_local_day_start(unix_s);
    if (!to_calendar(unix_s, true, &calendar) ||
        strftime(buffer, KW_LOCAL_TIME_SIZE,
                 is_day ? "%Y-%m-%d" : "%Y-%m-%d %H:%M", &calendar) == 0)
        kw_text_copy(buffer, KW_LOCAL_TIME_SIZE, "?");
    return buffer;
}
