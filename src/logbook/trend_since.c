/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Since when: Page's sum over the sessions in order.
 *
 * The slope has been tested before, so that this only tells where: it can say
 * nothing of a measure that chance alone explains. */
#include "logbook/trend_since.h"

#include "analysis/change.h"
#include "core/robust.h"

#include <math.h>

/* The level at either end is the median of so many sessions, of half of them
 * where they are few: it bears one or two odd days, and is still early
 * (common practice, no source; 5 and 8 do about as well in made-up seasons). */
enum { MOST_LEVEL_SESSIONS = 6 };

/* In standard deviations, each. Half of one for the slack and 4 for the limit:
 * NIST/SEMATECH e-Handbook 6.3.2.3 (4 or 5). One session adds at most MOST_SD
 * to the sum, so that an odd one alone never passes the limit (common practice,
 * no source). */
static const double SLACK_SD = 0.5;
static const double LIMIT_SD = 4.0;
static const double MOST_SD = 3.5;

/* A third of the whole change, where that is more than half a standard
 * deviation. With less, a first level that was taken a little low starts the
 * run sessions before a plain step; with half of it, a slow creep is told from
 * its middle on only (no source: made-up seasons). */
static const double SLACK_SHARE = 1.0 / 3.0;

/* The mean distance of two neighbours, in standard deviations of normal values:
 * d2 of two, NIST/SEMATECH e-Handbook 6.3.2.2. */
static const double NEIGHBOURS_SD = 1.128;

/* Up is where the trend goes. */
static double value_at(const struct kw_trend *trend, size_t i)
{
    const double value = trend->points[i].value;
    return trend->verdict == KW_TREND_FALLING ? -value : value;
}

/* Median of n points, n at most MOST_LEVEL_SESSIONS. */
static double level_from(const struct kw_trend *trend, size_t from, size_t n)
{
    double values[MOST_LEVEL_SESSIONS];
    for (size_t i = 0; i < n; i++)
        values[i] = value_at(trend, from + i);
    return kw_median(values, n, values);
}

/* From neighbours in all sessions: the few of the first level would tell it too
 * poorly, and neither a creep nor one step adds much to it. Never below one
 * unit of the last digit that is shown: what does not show there is no change.
 */
static double spread_of(const struct kw_trend *trend)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 1; i < trend->n; i++) {
        const double step = value_at(trend, i) - value_at(trend, i - 1);
        if (isnan(step))
            continue;
        sum += fabs(step);
        n++;
    }
    const double least = pow(10.0, -trend->decimals);
    return n > 0 ? fmax(sum / (double)n / NEIGHBOURS_SD, least) : least;
}

/* NAN stays so. */
static double capped(double value, double middle, double reach)
{
    if (isnan(value))
        return value;
    return fmax(middle - reach, fmin(value, middle + reach));
}

/* The first session is the first level itself, and never the answer. */
size_t kw_trend_find_since(const struct kw_trend *trend)
{
    const bool is_told =
        trend->verdict == KW_TREND_RISING || trend->verdict == KW_TREND_FALLING;
    if (!is_told || trend->n < 2)
        return 0;
    const size_t n_level =
        trend->n / 2 < MOST_LEVEL_SESSIONS ? trend->n / 2 : MOST_LEVEL_SESSIONS;
    const double first = level_from(trend, 0, n_level);
    const double change =
        level_from(trend, trend->n - n_level, n_level) - first;
    /* Back where it began, whatever the slope is: nothing lasts "since". */
    if (!(change > 0.0))
        return 0;
    const double spread = spread_of(trend);
    const double slack = fmax(SLACK_SD * spread, SLACK_SHARE * change);
    const double reach = slack + MOST_SD * spread;
    struct kw_cusum cusum = {
        .target = first, .slack = slack, .limit = LIMIT_SD * spread};
    for (size_t i = 0; i < trend->n; i++)
        kw_cusum_add(&cusum, capped(value_at(trend, i), first, reach));
    return cusum.has_passed ? cusum.from : 0;
}
