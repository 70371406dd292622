/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times and dates, read by hand: strptime knows no fractions of a second and
 * follows the locale. */
#include "clock.h"

#include <stdint.h>
#include <string.h>

/* A place in a field, moving to its end. Fields are not closed strings: they
 * lie in the block that was read, so the end is carried along. */
struct cursor {
    const char *at;
    const char *end;
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Reads 1 to `most` digits. */
static bool take_digits(struct cursor *cursor, int most, long *out, int *n)
{
    *out = 0;
    *n = 0;
    while (cursor->at < cursor->end && *n < most && is_digit(*cursor->at)) {
        *out = *out * 10 + (*cursor->at++ - '0');
        (*n)++;
    }
    return *n > 0;
}

/* Nothing happens where the character is another: the caller tries the next
 * form. */
static bool take(struct cursor *cursor, char c)
{
    if (cursor->at == cursor->end || *cursor->at != c)
        return false;
    cursor->at++;
    return true;
}

/* A fraction after '.', ',' or, in some clocks, a third ':' with milliseconds.
 */
static bool take_fraction(struct cursor *cursor, double *seconds)
{
    if (cursor->at == cursor->end ||
        (*cursor->at != '.' && *cursor->at != ',' && *cursor->at != ':'))
        return true;
    cursor->at++;
    /* Digit by digit, as many as there are: loggers write one to nine of
     * them. */
    double scale = 0.1;
    const char *first = cursor->at;
    for (; cursor->at < cursor->end && is_digit(*cursor->at); cursor->at++) {
        *seconds += scale * (*cursor->at - '0');
        scale /= 10.0;
    }
    return cursor->at > first;
}

/* hh:mm:ss or mm:ss, with a fraction; two parts behind a date are hh:mm (ISO
 * 8601). */
static bool take_time(struct cursor *cursor, bool dated, double *seconds)
{
    long part[3] = {0, 0, 0};
    int n_parts = 0;
    int digits = 0;
    do {
        /* The first part may be long: "125:30.5" is minutes since the start. */
        if (!take_digits(cursor, n_parts == 0 ? 4 : 2, &part[n_parts], &digits))
            return false;
        n_parts++;
    } while (n_parts < 3 && take(cursor, ':'));
    if (n_parts < 2)
        return false;
    /* 60 is a leap second, which receivers of satellite time do show. */
    if (part[n_parts - 1] > 60 || (n_parts == 3 && part[1] > 59))
        return false;
    /* "14:05" behind a date is a time of day; alone it is the stopwatch of a
     * short session. */
    const long unit_s = n_parts == 3 || dated ? 3600 : 60;
    *seconds = (double)(part[0] * unit_s + part[1] * unit_s / 60 + part[2]);
    return take_fraction(cursor, seconds);
}

/* "AM" or "PM", also with dots, turns twelve hours into a day's. */
static void take_half_of_day(struct cursor *cursor, double *seconds)
{
    /* On a copy: what is not "AM" after all must be left for the zone. */
    struct cursor at = *cursor;
    take(&at, ' ');
    const bool afternoon = take(&at, 'P') || take(&at, 'p');
    if (!afternoon && !take(&at, 'A') && !take(&at, 'a'))
        return;
    /* Spanish puts a blank between: "a. m.", and one that does not break. */
    if (take(&at, '.') && !take(&at, ' ') && take(&at, '\xC2'))
        take(&at, '\xA0');
    if (!take(&at, 'M') && !take(&at, 'm'))
        return;
    take(&at, '.');
    const double half_s = KW_SECONDS_A_DAY / 2.0;
    /* Twelve o'clock is the first hour of its half: 12:30 AM is half an hour
     * past midnight. */
    if (*seconds >= half_s)
        *seconds -= half_s;
    if (afternoon)
        *seconds += half_s;
    *cursor = at;
}

/* Days from 1970-01-01 to a date of the Gregorian calendar: years begin in
 * March, so that the leap day is the last of its year. */
static int64_t days_from_civil(long year, long month, long day)
{
    /* 153 days in five months, from March on (31, 30, 31, 30, 31), give the day
     * of the year without a table. 719468 days lie between 1 March of the year
     * 0 and 1970 (from memory; tested against published dates). */
    const int64_t y = month <= 2 ? year - 1 : year;
    const int64_t shifted = month > 2 ? month - 3 : month + 9;
    const int64_t day_of_year = (153 * shifted + 2) / 5 + day - 1;
    return 365 * y + y / 4 - y / 100 + y / 400 + day_of_year - 719468;
}

/* Loggers without a fix write dates such as 1900 or 2255: they are none. */
static bool date_seconds(long year, long month, long day, double *seconds)
{
    if (year < 1970 || year > 2200 || month < 1 || month > 12 || day < 1 ||
        day > 31)
        return false;
    *seconds = (double)days_from_civil(year, month, day) * KW_SECONDS_A_DAY;
    return true;
}

/* A month's name of three letters or more, as loggers and telephones write it
 * in the languages of the tables of headings: the first three letters tell. */
static bool take_month(struct cursor *cursor, long *month)
{
    /* Three letters a name, a blank behind each; rows are months. "jui" is
     * missing, for it begins two of them in French. */
    static const char *const names[12] = {
        "jan ene gen", "feb fev",         "mar mrz", "apr abr avr",
        "may mai mag", "jun giu",         "jul lug", "aug ago",
        "sep set",     "oct okt out ott", "nov",     "dec dez dic"};
    char name[4] = "";
    size_t n = 0;
    while (cursor->at < cursor->end && is_letter(*cursor->at)) {
        if (n < 3)
            name[n++] = (char)(*cursor->at | 0x20);
        cursor->at++;
    }
    take(cursor, '.');
    for (long i = 0; n == 3 && i < 12; i++) {
        if (strstr(names[i], name) == NULL)
            continue;
        *month = i + 1;
        return true;
    }
    return false;
}

/* "14-Jun-2025", "14 Jun 25". */
static bool take_named_date(struct cursor *cursor, double *seconds)
{
    long day = 0;
    long month = 0;
    long year = 0;
    int digits = 0;
    if (!take_digits(cursor, 2, &day, &digits) || cursor->at == cursor->end)
        return false;
    const char mark = *cursor->at;
    if ((mark != '-' && mark != '/' && mark != ' ') || !take(cursor, mark) ||
        !take_month(cursor, &month) || !take(cursor, mark) ||
        !take_digits(cursor, 4, &year, &digits))
        return false;
    return date_seconds(digits == 2 ? 2000 + year : year, month, day, seconds);
}

/* Year first with '-' or '/', or day first with '.', '/' or '-', with the month
 * first where the day cannot be one. Two digits are a year of this century. */
static bool take_date(struct cursor *cursor, double *seconds)
{
    long a = 0;
    long b = 0;
    long c = 0;
    int first_digits = 0;
    int digits = 0;
    if (!take_digits(cursor, 4, &a, &first_digits))
        return false;
    if (cursor->at == cursor->end)
        return false;
    const char mark = *cursor->at;
    if (mark != '-' && mark != '/' && mark != '.')
        return false;
    cursor->at++;
    if (!take_digits(cursor, 2, &b, &digits) || !take(cursor, mark) ||
        !take_digits(cursor, 4, &c, &digits))
        return false;
    /* Four digits are a year wherever they stand. Of two that could both be the
     * day the first is: only one of the six languages of the tables writes the
     * month first. */
    const bool year_first = first_digits == 4;
    const bool month_first = !year_first && b > 12;
    const long year = year_first ? a : digits == 2 ? 2000 + c : c;
    const long month = month_first ? a : b;
    const long day = year_first ? c : month_first ? b : a;
    return date_seconds(year, month, day, seconds);
}

/* The one form or the other; where neither fits, nothing is taken. */
static bool take_any_date(struct cursor *cursor, double *seconds)
{
    const struct cursor start = *cursor;
    if (take_date(cursor, seconds))
        return true;
    *cursor = start;
    if (take_named_date(cursor, seconds))
        return true;
    *cursor = start;
    return false;
}

/* "Z", "+02:00", "+0200", "+02", or nothing. */
static bool take_zone(struct cursor *cursor, struct kw_clock *clock)
{
    /* Some exports put a blank before the zone. */
    take(cursor, ' ');
    clock->has_zone = cursor->at < cursor->end;
    if (take(cursor, 'Z') || take(cursor, 'z') || !clock->has_zone)
        return true;
    const bool east = *cursor->at == '+';
    if (!east && *cursor->at != '-')
        return false;
    cursor->at++;
    long hours = 0;
    long minutes = 0;
    int digits = 0;
    if (!take_digits(cursor, 2, &hours, &digits))
        return false;
    take(cursor, ':');
    if (cursor->at < cursor->end && !take_digits(cursor, 2, &minutes, &digits))
        return false;
    /* East of Greenwich the clock is ahead, so the offset comes off. */
    const double offset = (double)(hours * 3600 + minutes * 60);
    clock->seconds -= east ? offset : -offset;
    return true;
}

/* The whole text has to be a date: "2026-06-14x" is none. */
bool kw_date_parse(const char *text, size_t length, double *seconds)
{
    struct cursor cursor = {text, text + length};
    return take_any_date(&cursor, seconds) && cursor.at == cursor.end;
}

/* A date in front is tried first, and given up where the text has none. */
bool kw_clock_parse(const char *text, size_t length, struct kw_clock *out)
{
    struct cursor cursor = {text, text + length};
    double day_s = 0.0;
    double time_s = 0.0;
    /* Spreadsheets put it in front of what they shall leave as it is. */
    take(&cursor, '\'');
    out->has_zone = false;
    out->has_date = take_any_date(&cursor, &day_s);
    if (!out->has_date) {
        day_s = 0.0;
    } else if (!take(&cursor, 'T') && !take(&cursor, 't')) {
        /* "14.06.2026, 14:05:00" is how some locales print it. */
        take(&cursor, ',');
        if (!take(&cursor, ' '))
            return false;
        while (take(&cursor, ' '))
            continue;
    }
    if (!take_time(&cursor, out->has_date, &time_s))
        return false;
    take_half_of_day(&cursor, &time_s);
    out->seconds = day_s + time_s;
    /* A time without a date has no zone: there "-02" could be anything. */
    if (out->has_date && !take_zone(&cursor, out))
        return false;
    return cursor.at == cursor.end;
}
