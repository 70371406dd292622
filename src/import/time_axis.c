/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mending nothing in silence: a clock is followed where it was set, and every
 * row whose stamp cannot be true is left out and counted. */
#include "import/time_axis.h"

#include "core/array.h"
#include "core/clock.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* How many rows must agree before a jump is the clock's and not the row's. */
enum { ROWS_TO_AGREE = 5 };

/* A jump back of less is a row out of order; of more, and lasting, the clock
 * was set back or the log appended to. Common practice, no source. */
static const double SET_BACK_S = 5.0;

/* A lone stamp further ahead than both of these cannot be true. */
static const double FAR_AHEAD_S = 5.0;
static const double FAR_AHEAD_STEPS = 20.0;

/* From half of the rows repeating their stamp on, the clock is too coarse. */
static const double SHARE_OF_REPEATS = 0.5;

/* Half a day: a clock without a date that falls by more passed midnight. */
static const double HALF_A_DAY_S = KW_SECONDS_A_DAY / 2.0;

/* ---- a clock that goes back -----------------------------------------------
 */

/* Do the rows from i on stay below `before`, rising? */
static bool stays_back(const double *stamp_s, size_t n, size_t i, double before)
{
    size_t agree = 0;
    for (size_t k = i; k < n && k < i + ROWS_TO_AGREE; k++) {
        if (stamp_s[k] >= before || (k > i && stamp_s[k] < stamp_s[k - 1]))
            return false;
        agree++;
    }
    return agree == ROWS_TO_AGREE;
}

/* Lifts everything from row i on, so that it goes on one step after `before`.
 */
static enum kw_status follow_clock(double *stamp_s,
                                   size_t n,
                                   double step_s,
                                   bool midnight,
                                   const uint32_t *line,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    double lift_s = 0.0;
    for (size_t i = 1; i < n; i++) {
        const double before = stamp_s[i - 1] - lift_s;
        const double back = before - stamp_s[i];
        if (midnight && back > HALF_A_DAY_S &&
            stays_back(stamp_s, n, i, before)) {
            lift_s += KW_SECONDS_A_DAY;
        } else if (back > SET_BACK_S && stays_back(stamp_s, n, i, before)) {
            lift_s += back + step_s;
            if (kw_notices_add(notices, line[i],
                               "the clock goes back here: it is taken to go on "
                               "from where it was",
                               error) != KW_OK)
                return KW_NO_MEMORY;
        }
        stamp_s[i] += lift_s;
    }
    return KW_OK;
}

/* ---- a clock too coarse ---------------------------------------------------
 */

static size_t run_end(const double *stamp_s, size_t n, size_t from)
{
    size_t to = from + 1;
    while (to < n && !(stamp_s[to] > stamp_s[from]) &&
           !(stamp_s[to] < stamp_s[from]))
        to++;
    return to;
}

/* Spreads each run of equal stamps over the step to the next one; the first run
 * may have begun before the log, so it keeps its end. */
static enum kw_status spread_runs(double *stamp_s,
                                  size_t n,
                                  double step_s,
                                  struct kw_notices *notices,
                                  struct kw_error *error)
{
    size_t repeats = 0;
    size_t rises = 0;
    for (size_t i = 1; i < n; i++) {
        repeats +=
            !(stamp_s[i] > stamp_s[i - 1]) && !(stamp_s[i] < stamp_s[i - 1]);
        rises += stamp_s[i] > stamp_s[i - 1];
    }
    if (rises < ROWS_TO_AGREE || (double)repeats < SHARE_OF_REPEATS * (double)n)
        return KW_OK;
    const double usual_run = (double)n / (double)(rises + 1);
    for (size_t from = 0; from < n;) {
        const size_t to = run_end(stamp_s, n, from);
        const double base = stamp_s[from];
        const double run = fmax((double)(to - from), usual_run);
        const double missing = from == 0 ? run - (double)(to - from) : 0.0;
        for (size_t k = from; k < to; k++)
            stamp_s[k] = base + step_s * ((double)(k - from) + missing) / run;
        from = to;
    }
    return kw_notices_add(notices, 0,
                          "the time column is coarser than the rows: rows with "
                          "the same time were spread evenly",
                          error);
}

/* ---- rows that cannot be true ---------------------------------------------
 */

/* Is row i alone ahead, its followers back where the one before it was? */
static bool is_far_ahead(const double *stamp_s,
                         size_t n,
                         size_t i,
                         double before,
                         double step_s)
{
    const double ahead = stamp_s[i] - before;
    if (ahead <= FAR_AHEAD_S || ahead <= FAR_AHEAD_STEPS * step_s)
        return false;
    for (size_t k = i + 1; k < n && k <= i + ROWS_TO_AGREE; k++) {
        if (stamp_s[k] > before && stamp_s[k] < stamp_s[i])
            return true;
    }
    return false;
}

static void judge_rows(const double *stamp_s,
                       enum kw_stamp *fate,
                       size_t n,
                       double step_s)
{
    double last = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (i > 0 && is_far_ahead(stamp_s, n, i, last, step_s)) {
            fate[i] = KW_STAMP_FAR_AHEAD;
        } else if (stamp_s[i] > last) {
            fate[i] = KW_STAMP_KEPT;
            last = stamp_s[i];
        } else {
            fate[i] = stamp_s[i] < last ? KW_STAMP_BACKWARD : KW_STAMP_REPEATED;
        }
    }
}

/* Median of the steps that rise. */
static double usual_step(const double *stamp_s, size_t n, double *scratch)
{
    size_t rising = 0;
    for (size_t i = 1; i < n; i++) {
        if (stamp_s[i] > stamp_s[i - 1])
            scratch[rising++] = stamp_s[i] - stamp_s[i - 1];
    }
    return kw_median(scratch, rising, scratch);
}

enum kw_status kw_time_axis(double *stamp_s,
                            enum kw_stamp *fate,
                            const uint32_t *line,
                            size_t n,
                            bool midnight,
                            struct kw_notices *notices,
                            struct kw_error *error)
{
    if (n == 0)
        return KW_OK;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    double step_s = usual_step(stamp_s, n, scratch);
    if (!(step_s > 0.0))
        step_s = 0.0;
    const double first = stamp_s[0];
    for (size_t i = 0; i < n; i++)
        stamp_s[i] -= first;
    enum kw_status status =
        follow_clock(stamp_s, n, step_s, midnight, line, notices, error);
    if (status == KW_OK)
        status = spread_runs(stamp_s, n, step_s, notices, error);
    if (status == KW_OK) {
        step_s = usual_step(stamp_s, n, scratch);
        judge_rows(stamp_s, fate, n, step_s > 0.0 ? step_s : 0.0);
    }
    free(scratch);
    return status;
}
