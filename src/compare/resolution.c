/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How finely the loggers of the two sides read.
 *
 * Readings that were rounded to whole degrees agree better than the engine
 * does, and laps timed by ten rows a second better than the driver. Two loggers
 * of one kind round alike; of two kinds, one sees tops that the other cuts. */
#include "compare/resolution.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Readings looked at, and the share of the smallest steps that may be odd. */
enum { MOST_READINGS = 20000 };
static const double ODD_SHARE = 0.02;

/* Two loggers are not alike when their rates, or the steps of their readings,
 * differ by more than these factors. */
static const double RATE_FACTOR = 1.2;
static const double STEP_FACTOR = 2.0;

/* Smallest step that the readings take; 0 where they never change.
 *
 * scratch  room for MOST_READINGS. */
static double step_of(const double *readings, size_t n, double *scratch)
{
    size_t found = 0;
    for (size_t i = 1; readings != NULL && i < n && found < MOST_READINGS;
         i++) {
        const double step = fabs(readings[i] - readings[i - 1]);
        if (step > 0.0)
            scratch[found++] = step;
    }
    return found > 0 ? kw_quantile(scratch, found, ODD_SHARE, scratch) : 0.0;
}

/* Lap times that come from a column change with the rows; the others are
 * interpolated between them, some ten times better (from memory of the laps'
 * own tests). */
static double lap_step_s(const struct kw_review *review)
{
    const double row_s = 1.0 / review->session.rate_hz;
    return review->laps.method == KW_LAPS_BY_COLUMN ? row_s : 0.1 * row_s;
}

/* What the logs of one side have, the coarsest of each. */
struct fineness {
    double row_s;
    double lap_step_s;
    double rpm_step;
    double egt_step_c;
};

/* Of the raw readings: cleaned and joined ones have steps that no logger made.
 */
static struct fineness fineness_of(const struct kw_compare_sessions *sessions,
                                   double *scratch)
{
    struct fineness out = {0};
    for (size_t log = 0; log < sessions->n; log++) {
        const struct kw_review *review = &sessions->reviews[log];
        const struct kw_session *session = &review->session;
        const size_t n = session->n_samples;
        out.row_s = fmax(out.row_s, 1.0 / session->rate_hz);
        out.lap_step_s = fmax(out.lap_step_s, lap_step_s(review));
        out.rpm_step =
            fmax(out.rpm_step, step_of(session->rpm_raw, n, scratch));
        out.egt_step_c =
            fmax(out.egt_step_c, step_of(session->egt_raw_c, n, scratch));
    }
    return out;
}

/* Neither factor comes about by the noise of one logger. */
static bool are_unlike(double a, double b, double factor)
{
    return fmax(a, b) > factor * fmin(a, b);
}

/* The coarser side sets what can be believed of both. */
enum kw_status kw_find_resolution(struct kw_measure_source *source,
                                  struct kw_error *error)
{
    double *scratch = kw_array_new(MOST_READINGS, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const struct fineness a = fineness_of(source->sessions[KW_BEFORE], scratch);
    const struct fineness b = fineness_of(source->sessions[KW_AFTER], scratch);
    free(scratch);
    source->row_s = fmax(a.row_s, b.row_s);
    source->lap_step_s = fmax(a.lap_step_s, b.lap_step_s);
    source->rpm_step = fmax(a.rpm_step, b.rpm_step);
    source->egt_step_c = fmax(a.egt_step_c, b.egt_step_c);
    source->other_logger = are_unlike(a.row_s, b.row_s, RATE_FACTOR) ||
                           are_unlike(a.rpm_step, b.rpm_step, STEP_FACTOR) ||
                           are_unlike(a.egt_step_c, b.egt_step_c, STEP_FACTOR);
    return KW_OK;
}
