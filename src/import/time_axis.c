/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mending nothing in silence: a clock is followed where it was set, and every
 * row whose stamp cannot be true is left out and counted. */
#include "import/time_leap.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/notices.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* A jump back of less is a row out of order; of more, and lasting, the clock
 * was set back or the log appended to. Common practice, no source. */
static const double SET_BACK_S = 5.0;

/* A lone stamp further ahead than both of these cannot be true. In steps for
 * slow logs, in seconds for fast ones: a logger may pause for a second to write
 * its card. Common practice, no source. */
static const double FAR_AHEAD_S = 5.0;
static const double FAR_AHEAD_STEPS = 20.0;

/* A clock is too coarse when a third of the rows repeat its stamp (15 rows a
 * second with one decimal), in runs of which most are as long as the others,
 * give or take a fifth and a row. Fewer are faults of these rows. Common
 * practice, no source. */
static const double SHARE_OF_REPEATS = 0.3;
static const double SHARE_OF_EVEN_RUNS = 0.8;
static const double RUN_TOLERANCE = 0.2;

/* A clock without a date that falls by more than half a day passed midnight. */
static const double HALF_A_DAY_S = KW_SECONDS_A_DAY / 2.0;

/* Places where the clock goes back that are named; the rest is counted. */
static const size_t MOST_NAMED = 3;

/* Stamps as read from the file: equal text gives equal numbers, so no tolerance
 * is needed. */
static bool same(double a, double b)
{
    return !(a < b) && !(a > b);
}

/* Median of the steps that rise; 0 where none does. Of rising steps only, so
 * that a coarse clock, whose usual step is 0, has one all the same. */
static double usual_step(const struct kw_time_axis *axis, double *scratch)
{
    size_t rising = 0;
    for (size_t i = 1; i < axis->n; i++) {
        if (axis->stamp_s[i] > axis->stamp_s[i - 1])
            scratch[rising++] = axis->stamp_s[i] - axis->stamp_s[i - 1];
    }
    return rising > 0 ? kw_median(scratch, rising, scratch) : 0.0;
}

/* ---- rows far ahead ------------------------------------------------------ */

/* Is the first row alone ahead of all that follow? Passing midnight right after
 * the first row looks the same, and is more likely. */
static bool first_is_ahead(const struct kw_time_axis *axis, double far_s)
{
    const double *stamp_s = axis->stamp_s;
    /* A logger whose clock was not yet set writes one row with the old time. */
    if (axis->n <= KW_ROWS_TO_AGREE || stamp_s[0] - stamp_s[1] <= far_s ||
        (axis->midnight && stamp_s[0] - stamp_s[1] > HALF_A_DAY_S))
        return false;
    for (size_t k = 2; k <= KW_ROWS_TO_AGREE; k++) {
        if (stamp_s[k] < stamp_s[k - 1] || stamp_s[k] >= stamp_s[0])
            return false;
    }
    return true;
}

/* Is row i ahead of the row before it, and one of its followers back there? The
 * last row has none, and nothing to say alone. */
static bool is_ahead(const struct kw_time_axis *axis,
                     size_t i,
                     double before_s,
                     double far_s)
{
    if (axis->stamp_s[i] - before_s <= far_s)
        return false;
    /* A row cut off while power went has lost digits or gained some. */
    if (i + 1 == axis->n)
        return true;
    /* If none comes back, the logger paused: that is a gap, which the log has a
     * right to. */
    for (size_t k = i + 1; k < axis->n && k <= i + KW_ROWS_TO_AGREE; k++) {
        const double ahead_s = axis->stamp_s[k] - before_s;
        if (ahead_s > 0.0 && ahead_s <= far_s)
            return true;
    }
    return false;
}

/* Marks rows far ahead; they take the stamp before theirs, so that nothing else
 * follows them. */
static void mark_far_ahead(struct kw_time_axis *axis, double step_s)
{
    const double far_s = fmax(FAR_AHEAD_S, FAR_AHEAD_STEPS * step_s);
    double *stamp_s = axis->stamp_s;
    if (first_is_ahead(axis, far_s)) {
        axis->fate[0] = KW_STAMP_FAR_AHEAD;
        stamp_s[0] = stamp_s[1];
    }
    for (size_t i = 1; i < axis->n; i++) {
        if (!is_ahead(axis, i, stamp_s[i - 1], far_s))
            continue;
        axis->fate[i] = KW_STAMP_FAR_AHEAD;
        stamp_s[i] = stamp_s[i - 1];
    }
}

/* ---- a clock that goes back ---------------------------------------------- */

/* Do the rows from i on stay below `before` and rise? A clock that stands still
 * there has lost its time. */
static bool stays_back(const struct kw_time_axis *axis, size_t i, double before)
{
    size_t rises = 0;
    for (size_t k = i; k < axis->n && rises < KW_ROWS_TO_AGREE - 1; k++) {
        /* Back at the old time within a few rows: those rows were out of order,
         * not the clock. */
        if (axis->stamp_s[k] >= before ||
            (k > i && axis->stamp_s[k] < axis->stamp_s[k - 1]))
            return false;
        rises += k > i && axis->stamp_s[k] > axis->stamp_s[k - 1];
    }
    return rises == KW_ROWS_TO_AGREE - 1;
}

/* How far the clock is lifted at row i: a day, or so that it goes on one step
 * after `before`; 0 where it was not set back. */
static double lift_at(const struct kw_time_axis *axis,
                      size_t i,
                      double before,
                      double step_s)
{
    const double back = before - axis->stamp_s[i];
    if (back <= SET_BACK_S || !stays_back(axis, i, before))
        return 0.0;
    /* A race that runs past midnight keeps its true time; nothing has to be
     * told. */
    if (axis->midnight && back > HALF_A_DAY_S)
        return KW_SECONDS_A_DAY;
    /* How long the logger was off between the two parts is not known, so they
     * follow each other without a hole. */
    return back + step_s;
}

/* Seconds that begin again each minute do so as often as there are minutes. */
static enum kw_status tell_set_often(size_t n,
                                     struct kw_notices *notices,
                                     struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "in all ");
    kw_text_add_whole(&text, (double)n);
    kw_text_add(&text, " times the time goes back, and is taken to go on from "
                       "where it was");
    return kw_notices_tell(notices, 0, &text, error);
}

static enum kw_status follow_clock(struct kw_time_axis *axis,
                                   double step_s,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    double lift_s = 0.0;
    size_t n_set = 0;
    for (size_t i = 1; i < axis->n; i++) {
        /* Against the stamp as the file has it, for the one before is lifted
         * already. */
        const double lift =
            lift_at(axis, i, axis->stamp_s[i - 1] - lift_s, step_s);
        /* A clock that was set goes back by an hour; one that begins again is
         * another run's. */
        const bool again = fabs(axis->stamp_s[i] - axis->stamp_s[0]) <= step_s;
        lift_s += lift;
        axis->stamp_s[i] += lift_s;
        /* A lift of exactly a day is midnight's, which lift_at() gives as that
         * constant. */
        if (!(lift > 0.0) || same(lift, KW_SECONDS_A_DAY) ||
            n_set++ >= MOST_NAMED)
            continue;
        if (kw_notices_add(notices, axis->line[i],
                           again ? "the time begins again here: it is taken to "
                                   "go on from where it was. Two runs in one "
                                   "file?"
                                 : "the clock goes back here: it is taken to "
                                   "go on from where it was",
                           error) != KW_OK)
            return KW_NO_MEMORY;
    }
    return n_set > MOST_NAMED ? tell_set_often(n_set, notices, error) : KW_OK;
}

/* ---- a clock too coarse -------------------------------------------------- */

/* A run is rows of one stamp; gives the row behind it. */
static size_t run_end(const struct kw_time_axis *axis, size_t from)
{
    size_t to = from + 1;
    while (to < axis->n && same(axis->stamp_s[to], axis->stamp_s[from]))
        to++;
    return to;
}

/* Rows for each stamp when the clock is too coarse for them, else 0. The log
 * may begin and end within a run: these two do not count. */
static double rows_for_each_stamp(const struct kw_time_axis *axis)
{
    size_t runs = 0;
    size_t last = 0;
    for (size_t at = 0; at < axis->n; at = run_end(axis, at)) {
        last = at;
        runs++;
    }
    /* Too few to tell a coarse clock from a stuck one. */
    if (runs < KW_ROWS_TO_AGREE)
        return 0.0;
    const double usual = (double)(last - run_end(axis, 0)) / (double)(runs - 2);
    /* Each run repeats its stamp in all rows but the first. */
    if ((double)(axis->n - runs) < SHARE_OF_REPEATS * (double)axis->n)
        return 0.0;
    size_t even = 0;
    for (size_t at = 0; at < axis->n;) {
        const size_t end = run_end(axis, at);
        even += fabs((double)(end - at) - usual) <= 1.0 + RUN_TOLERANCE * usual;
        at = end;
    }
    return (double)even >= SHARE_OF_EVEN_RUNS * (double)runs ? usual : 0.0;
}

/* Spreads each run of equal stamps up to the next one; the first run may have
 * begun before the log, so it keeps its end. 25 rows a second under a clock of
 * tenths stand in runs of two and three: they are all 0.04 s apart, and a run
 * does not begin with its stamp but one step after the row before. */
static enum kw_status spread_runs(struct kw_time_axis *axis,
                                  double step_s,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    const double usual = rows_for_each_stamp(axis);
    if (!(usual > 0.0))
        return KW_OK;
    const double row_s = step_s / usual;
    double next_s = -INFINITY;
    for (size_t from = 0; from < axis->n;) {
        const size_t to = run_end(axis, from);
        const double base_s = axis->stamp_s[from];
        const double rows = (double)(to - from);
        /* Within its own step: rows that were lost, or a gap, are not made up
         * for by those behind. */
        const double start_s =
            from == 0 ? fmax(base_s, base_s + step_s - rows * row_s)
                      : fmin(fmax(next_s, base_s), base_s + row_s);
        /* The last row stays below the next stamp by half a step. */
        const double apart_s =
            fmin(row_s, (base_s + step_s - start_s) / (rows - 0.5));
        for (size_t k = from; k < to; k++)
            axis->stamp_s[k] = start_s + apart_s * (double)(k - from);
        next_s = start_s + rows * apart_s;
        from = to;
    }
    return kw_notices_add(notices, 0,
                          "the time column is coarser than the rows: rows with "
                          "the same time were spread evenly",
                          error);
}

/* ---- the rows that are kept ---------------------------------------------- */

/* The finest decimals of a second, as parts of one, that stamps within a day of
 * start_s can hold: one decimal less than the step from one number to the next,
 * for a difference has the rounding of two. */
static double parts_of_a_second(double start_s)
{
    const double largest_s = fabs(start_s) + KW_LONGEST_LOG_S;
    const double hair_s = nextafter(largest_s, INFINITY) - largest_s;
    return pow(10.0, floor(-log10(hair_s)) - 1.0);
}

/* The clock starts at 0 for the first row that is kept. Once 12:00 or a date is
 * taken off, a stamp is a hair beside the decimals that the logger wrote, and
 * whether a row still falls within half a second of another would hang on the
 * hour. Whole parts put it back: a session gives the same findings whenever it
 * began. */
static void start_at_zero(struct kw_time_axis *axis)
{
    size_t first = 0;
    while (first + 1 < axis->n && axis->fate[first] != KW_STAMP_KEPT)
        first++;
    const double start_s = axis->stamp_s[first];
    const double parts = parts_of_a_second(start_s);
    for (size_t i = 0; i < axis->n; i++)
        axis->stamp_s[i] = round((axis->stamp_s[i] - start_s) * parts) / parts;
}

/* Time must rise for everything that follows: rates of change divide by its
 * steps. */
static void judge_rows(struct kw_time_axis *axis)
{
    double last_s = -INFINITY;
    for (size_t i = 0; i < axis->n; i++) {
        const double since_s = axis->stamp_s[i];
        if (axis->fate[i] != KW_STAMP_KEPT)
            continue;
        if (!(since_s > last_s))
            axis->fate[i] =
                since_s < last_s ? KW_STAMP_BACKWARD : KW_STAMP_REPEATED;
        else if (since_s > KW_LONGEST_LOG_S)
            axis->fate[i] = KW_STAMP_TOO_LATE;
        else
            last_s = since_s;
    }
}

enum kw_status kw_time_axis_follow(struct kw_time_axis *axis,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    axis->first_s = NAN;
    if (axis->n == 0)
        return KW_OK;
    double *scratch = kw_array_new(axis->n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double step_s = usual_step(axis, scratch);
    free(scratch);
    double shift_s = 0.0;
    enum kw_status status =
        kw_time_leaps_mend(axis, step_s, &shift_s, notices, error);
    mark_far_ahead(axis, step_s);
    /* Before anything is lifted or spread: the date of the session is asked of
     * this. */
    axis->first_s = axis->stamp_s[0] + shift_s;
    if (status == KW_OK)
        status = follow_clock(axis, step_s, notices, error);
    if (status == KW_OK)
        status = spread_runs(axis, step_s, notices, error);
    if (status == KW_OK) {
        start_at_zero(axis);
        judge_rows(axis);
    }
    return status;
}
