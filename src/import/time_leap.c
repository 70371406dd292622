/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logger that is switched on in a shed writes the date of its maker until the
 * receiver finds its satellites; a card that wears out writes any number at
 * all. Either way the stamps leap by days and years, and what is between them
 * was never logged.
 *
 * One pass over the rows, part by part; a part ends where a step leaps. */
#include "import/time_leap.h"

#include <math.h>

/* The rows from `from` up to `to`, with no leap between them. */
struct part {
    size_t from;
    size_t to;
};

/* A step of more than a day, either way, ends a part. */
static struct part part_from(const struct kw_time_axis *axis, size_t from)
{
    const double *stamp_s = axis->stamp_s;
    struct part part = {from, from + 1};
    while (part.to < axis->n &&
           fabs(stamp_s[part.to] - stamp_s[part.to - 1]) <= KW_LONGEST_LOG_S)
        part.to++;
    return part;
}

/* Rows that rise one after the other were stamped by a clock that went. */
static bool is_clock(const struct kw_time_axis *axis, struct part part)
{
    size_t rises = 0;
    for (size_t i = part.from + 1; i < part.to; i++)
        rises += axis->stamp_s[i] > axis->stamp_s[i - 1];
    return rises >= KW_ROWS_TO_AGREE - 1;
}

/* Moves a part to begin at start_s. From its own first stamp, for the sum of
 * two years has lost the milliseconds. */
static void move(struct kw_time_axis *axis, struct part part, double start_s)
{
    const double first_s = axis->stamp_s[part.from];
    for (size_t i = part.from; i < part.to; i++)
        axis->stamp_s[i] = start_s + (axis->stamp_s[i] - first_s);
}

/* Rows at fault take the stamp before theirs, at the start of the log the one
 * behind, so that nothing else follows them. */
static void level(struct kw_time_axis *axis)
{
    size_t first = 0;
    while (first < axis->n && axis->fate[first] != KW_STAMP_KEPT)
        first++;
    for (size_t i = 0; i < axis->n; i++) {
        if (i < first)
            axis->stamp_s[i] = axis->stamp_s[first];
        else if (axis->fate[i] != KW_STAMP_KEPT)
            axis->stamp_s[i] = axis->stamp_s[i - 1];
    }
}

/* With its line: the person may know what the logger did there. */
static enum kw_status name_leap(const struct kw_time_axis *axis,
                                size_t row,
                                bool ahead,
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    return kw_notices_add(notices, axis->line[row],
                          ahead ? "the clock leaps ahead by days here: it is "
                                  "taken to go on from where it was"
                                : "the clock goes back by days here: it is "
                                  "taken to go on from where it was",
                          error);
}

/* Where the first part begins that a clock stamped; axis->n where none does:
 * a log of a few rows has none. */
static size_t find_clock(const struct kw_time_axis *axis)
{
    size_t at = 0;
    while (at < axis->n) {
        const struct part part = part_from(axis, at);
        if (is_clock(axis, part))
            break;
        at = part.to;
    }
    return at;
}

/* What is known while the parts are walked through.
 *
 * last_s     the stamp before the part, as it is now; before the first part
 *            that of the first clock.
 * most_rows  of the longest part so far, whose clock gives the date. */
struct walk {
    struct kw_time_axis *axis;
    double step_s;
    double last_s;
    size_t most_rows;
    double shift_s;
};

/* A few rows are at fault only where they are days off too: between two bad
 * stamps there may be a good one. */
static enum kw_status settle(struct walk *walk,
                             struct part part,
                             struct kw_notices *notices,
                             struct kw_error *error)
{
    struct kw_time_axis *axis = walk->axis;
    const double first_s = axis->stamp_s[part.from];
    const bool leaps = fabs(first_s - walk->last_s) > KW_LONGEST_LOG_S;
    enum kw_status status = KW_OK;
    if (leaps && !is_clock(axis, part)) {
        for (size_t i = part.from; i < part.to; i++)
            axis->fate[i] = KW_STAMP_DAYS_OFF;
        return KW_OK;
    }
    if (leaps) {
        move(axis, part, walk->last_s + walk->step_s);
        status =
            name_leap(axis, part.from, first_s > walk->last_s, notices, error);
    }
    walk->last_s = axis->stamp_s[part.to - 1];
    if (part.to - part.from > walk->most_rows) {
        walk->most_rows = part.to - part.from;
        walk->shift_s = first_s - axis->stamp_s[part.from];
    }
    return status;
}

/* The first clock is the measure for what lies before it; from there on each
 * part is held against the one before. */
enum kw_status kw_time_leaps_mend(struct kw_time_axis *axis,
                                  double step_s,
                                  double *shift_s,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    const size_t clock = find_clock(axis);
    enum kw_status status = KW_OK;
    *shift_s = 0.0;
    for (size_t i = 0; i < axis->n; i++)
        axis->fate[i] = KW_STAMP_KEPT;
    if (clock == axis->n)
        return KW_OK;
    struct walk walk = {
        .axis = axis, .step_s = step_s, .last_s = axis->stamp_s[clock]};
    for (size_t at = 0; at < axis->n && status == KW_OK;) {
        const struct part part = part_from(axis, at);
        at = part.to;
        status = settle(&walk, part, notices, error);
    }
    *shift_s = walk.shift_s;
    level(axis);
    return status;
}
