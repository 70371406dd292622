/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How finely the loggers of the two sides read. */
#include "compare/resolution.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Readings looked at, and the share of the smallest steps that may be odd. */
enum { MOST_READINGS = 20000 };
static const double ODD_SHARE = 0.02;

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

enum kw_status kw_find_resolution(struct kw_measure_source *source,
                                  struct kw_error *error)
{
    double *scratch = kw_array_new(MOST_READINGS, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t log = 0; log < source->sessions[side]->n; log++) {
            const struct kw_review *review =
                &source->sessions[side]->reviews[log];
            const struct kw_session *session = &review->session;
            source->lap_step_s = fmax(source->lap_step_s, lap_step_s(review));
            source->rpm_step =
                fmax(source->rpm_step,
                     step_of(session->rpm_raw, session->n_samples, scratch));
            source->egt_step_c =
                fmax(source->egt_step_c,
                     step_of(session->egt_raw_c, session->n_samples, scratch));
        }
    }
    free(scratch);
    return KW_OK;
}
