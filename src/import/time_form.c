/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Telling how a time column counts. All limits here are common practice, no
 * source, where nothing else is said. */
#include "import/time_form.h"

#include "core/clock.h"
#include "core/robust.h"

#include <math.h>

/* Usual steps and lengths beyond which the unit must be smaller. The slowest
 * logger writes once a second, give or take; a step of 1,000 is therefore a
 * millisecond clock at 1 Hz. */
static const double LONGEST_STEP_S = 1.5;
static const double LONGEST_STEP_MS = 2000.0;
static const double LONGEST_STEP_US = 2e6;
static const double LONGEST_USUAL_LOG_S = KW_SECONDS_A_DAY / 2.0;

/* 2001 to 2100 in seconds since 1970. */
static const double EPOCH_FROM_S = 1e9;
static const double EPOCH_TO_S = 4.1e9;

/* Spreadsheets count days from the last one of 1899, on which 1970 began after
 * 25,569 (from memory), and write a time of day as a fraction. The dates are
 * those from 1980 to 2100. */
static const double DAYS_UP_TO_1970 = 25569.0;
static const double FIRST_DAY = 29221.0;
static const double LAST_DAY = 73051.0;

/* Share of stamps that may be damaged: they are judged row by row later. */
static const double MOST_DAMAGED = 0.01;

/* So many numbers' length in a row would show a 60 to 99 in the place of the
 * seconds, were they no hhmmss. */
static const double PACKED_LENGTH = 100.0;

/* The steps that rise: a clock of whole seconds gives twenty rows the same
 * stamp.
 *
 * usual  their median; 0 for a clock that stands still.
 * n      their number. */
struct steps {
    double usual;
    size_t n;
};

static struct steps rising_steps(const double *values,
                                 size_t n,
                                 double *scratch)
{
    size_t rising = 0;
    for (size_t i = 1; i < n; i++) {
        if (values[i] > values[i - 1])
            scratch[rising++] = values[i] - values[i - 1];
    }
    return (struct steps){
        rising > 0 ? kw_median(scratch, rising, scratch) : 0.0, rising};
}

static bool all_within(const double *values, size_t n, double from, double to)
{
    size_t outside = 0;
    for (size_t i = 0; i < n; i++)
        outside += values[i] < from || values[i] >= to;
    return n > 0 && (double)outside <= MOST_DAMAGED * (double)n;
}

/* hhmmss.sss, as receivers write it whose sentences follow NMEA 0183 (from
 * memory): minutes and seconds never reach 60 though the number runs on for
 * more than 100. */
static bool is_packed(const double *values, size_t n)
{
    double lowest = INFINITY;
    double highest = -INFINITY;
    size_t others = 0;
    for (size_t i = 0; i < n; i++) {
        const double value = values[i];
        if (!(value >= 0.0) || value >= 240000.0 ||
            fmod(value, 100.0) >= 60.0 || fmod(value, 10000.0) >= 6000.0) {
            others++;
            continue;
        }
        lowest = fmin(lowest, value);
        highest = fmax(highest, value);
    }
    return highest - lowest > PACKED_LENGTH &&
           (double)others <= MOST_DAMAGED * (double)n;
}

static struct kw_time_form form(const char *alias,
                                const char *why,
                                double origin)
{
    const struct kw_unit *unit = kw_unit_find(KW_QUANTITY_TIME, alias);
    return (struct kw_time_form){.unit = unit,
                                 .why = why,
                                 .asks = why != NULL,
                                 .factor = unit->factor,
                                 .origin = origin};
}

/* The form of a spreadsheet's days: with a date, or of the day alone. */
static struct kw_time_form days(const char *why, bool dated)
{
    struct kw_time_form found =
        form("days", why, dated ? DAYS_UP_TO_1970 : 0.0);
    found.of_day = !dated;
    /* Nothing else is of the size and the step of a date. */
    found.asks = found.asks && !dated;
    found.on_wall = true;
    return found;
}

static struct kw_time_form packed(const char *why)
{
    struct kw_time_form found = form("hhmmss", why, 0.0);
    found.packed = found.of_day = found.on_wall = true;
    return found;
}

/* A row a second is 0.0000116 days: as seconds that would be 86,400 rows in
 * each, which no logger of a kart writes. */
static bool counts_days(double step)
{
    return step > 0.0 && step <= LONGEST_STEP_S / KW_SECONDS_A_DAY;
}

/* The unit in which numbers of this size are a date of this century. Numbers
 * since the logger was switched on may be as large; in the unit in which they
 * would be a date their steps are far too long.
 *
 * returns  NULL where they are none. */
static const char *unit_of_epoch(const double *values, size_t n, double step)
{
    static const struct {
        const char *unit;
        double in_a_second;
    } units[] = {{"s", 1.0}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}};
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        const double size = units[i].in_a_second;
        if (step <= LONGEST_STEP_S * size &&
            all_within(values, n, EPOCH_FROM_S * size, EPOCH_TO_S * size))
            return units[i].unit;
    }
    return NULL;
}

/* Steps of more than a second and a half would be slower than any log of a kart
 * (1 Hz), and half a day longer: then the numbers are ms, us, or ns. */
static struct kw_time_form guess_by_steps(const double *values,
                                          size_t n,
                                          const struct steps *steps)
{
    const double step = steps->usual;
    if (step <= LONGEST_STEP_S && is_packed(values, n))
        return packed("no unit: hhmmss by its steps");
    /* A clock that stands still is refused later. The step times the steps
     * and not last minus first: one stamp far ahead must not change the unit of
     * all. */
    if (step <= LONGEST_STEP_S &&
        step * (double)steps->n <= LONGEST_USUAL_LOG_S) {
        struct kw_time_form found = form("s", "no unit: s by its steps", 0.0);
        /* Whole numbers may count anything. */
        found.asks = step > 0.0 && !(fmod(step, 1.0) > 0.0);
        return found;
    }
    if (step > LONGEST_STEP_US)
        return form("ns", "no unit: ns by its steps", 0.0);
    if (step > LONGEST_STEP_MS)
        return form("us", "no unit: us by its steps", 0.0);
    return form("ms", "no unit: ms by its steps", 0.0);
}

static struct kw_time_form guess(const double *values,
                                 size_t n,
                                 double *scratch)
{
    const struct steps steps = rising_steps(values, n, scratch);
    const bool dated = all_within(values, n, FIRST_DAY, LAST_DAY);
    if (counts_days(steps.usual) && (dated || all_within(values, n, 0.0, 1.0)))
        return days("no unit: days by its steps", dated);
    const char *epoch = unit_of_epoch(values, n, steps.usual);
    if (epoch == NULL)
        return guess_by_steps(values, n, &steps);
    struct kw_time_form found = form(epoch, "no unit: a date by its size", 0.0);
    /* Nor is anything else of that size and step. */
    found.asks = false;
    return found;
}

struct kw_time_form kw_time_form_of(const struct kw_unit *stated,
                                    const double *values,
                                    size_t n,
                                    double *scratch)
{
    if (stated == NULL)
        return guess(values, n, scratch);
    if (stated == kw_unit_find(KW_QUANTITY_TIME, "hhmmss"))
        return packed(NULL);
    if (stated == kw_unit_find(KW_QUANTITY_TIME, "days"))
        return days(NULL, all_within(values, n, FIRST_DAY, LAST_DAY));
    return (struct kw_time_form){.unit = stated, .factor = stated->factor};
}

double kw_time_seconds(const struct kw_time_form *form, double value)
{
    if (!form->packed)
        return (value - form->origin) * form->factor;
    const double hours = trunc(value / 10000.0);
    const double minutes = trunc((value - 10000.0 * hours) / 100.0);
    return 3600.0 * hours + 60.0 * minutes + fmod(value, 100.0);
}

/* Any number may be a time since the logger was switched on; one of the size of
 * a date of this century is a date. */
double kw_start_of_epoch(double first_s, bool dated)
{
    const bool like_today = first_s > EPOCH_FROM_S && first_s < EPOCH_TO_S;
    return dated || like_today ? first_s : NAN;
}
