/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Staircases made into lines.
 *
 * A GPS speed that comes five times a second stands in a 100 Hz log as twenty
 * equal readings and a leap. Slopes, slip and the lag of a probe computed from
 * it would see a kart that stands still and then jumps. Nothing is filtered
 * here: every fresh reading keeps its value and its moment. */
#include "signal/hold.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/spike.h"

#include <math.h>
#include <stdlib.h>

/* Usual samples between two changes from which a channel is a staircase.
 * Between one (each sample is fresh) and two (every other is held): a little
 * under two for jitter. Common practice, no source. */
static const double STAIRCASE_SAMPLES = 1.8;
/* A reading that lasts so many usual intervals is a steady value. One update
 * missed gives two intervals; beyond that the value stood. Common practice, no
 * source. */
static const double LONG_HOLD = 2.5;

/* The samples between two fresh readings a and b. */
static void join(const struct kw_session *session,
                 double *values,
                 size_t a,
                 size_t b,
                 double usual_s)
{
    const double *time_s = session->time_s;
    const double rise = values[b] - values[a];
    /* After a long hold the value leaves one usual interval before the change,
     * for it was steady until then. */
    double leave_s = time_s[a];
    if (time_s[b] - leave_s > LONG_HOLD * usual_s)
        leave_s = time_s[b] - usual_s;
    for (size_t i = b - 1; i > a; i--) {
        const double part = (time_s[i] - leave_s) / (time_s[b] - leave_s);
        values[i] += fmax(part, 0.0) * rise;
    }
}

/* The held value is remembered as it was read: the array behind the sample at
 * hand has been joined already. */
enum kw_status kw_join_updates(const struct kw_session *session,
                               double *values,
                               struct kw_error *error)
{
    const size_t n = session->n_samples;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double usual = kw_update_samples(values, n, scratch);
    free(scratch);
    if (!(usual >= STAIRCASE_SAMPLES))
        return KW_OK;
    const double usual_s = usual / session->rate_hz;
    size_t gap = 0;
    size_t fresh = 0;
    double held = values[0];
    for (size_t i = 1; i < n; i++) {
        const double reading = values[i];
        const bool after_gap =
            gap < session->gaps.n && session->gaps.items[gap].to == i;
        gap += after_gap ? 1 : 0;
        /* What happened in between is not known, and a line across it would
         * invent it. */
        if (after_gap || isnan(reading) || isnan(held)) {
            fresh = i;
        } else if (fabs(reading - held) > 0.0) {
            join(session, values, fresh, i, usual_s);
            fresh = i;
        }
        held = reading;
    }
    return KW_OK;
}

/* Readings between which rows were left blank, and how far apart they usually
 * are.
 *
 * returns  median distance in samples; NAN with fewer than two readings. */
static double usual_distance(const double *raw, size_t n, double *scratch)
{
    size_t kept = 0;
    size_t last = n;
    for (size_t i = 0; i < n; i++) {
        if (isnan(raw[i]))
            continue;
        if (last < n)
            scratch[kept++] = (double)(i - last);
        last = i;
    }
    return kw_median(scratch, kept, scratch);
}

/* A reading that was set aside between two good ones is no blank: nothing is
 * drawn across it. */
enum kw_status kw_join_blanks(const struct kw_session *session,
                              const double *raw,
                              double *values,
                              struct kw_error *error)
{
    const size_t n = session->n_samples;
    const double *time_s = session->time_s;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double usual = usual_distance(raw, n, scratch);
    free(scratch);
    if (!(usual >= STAIRCASE_SAMPLES))
        return KW_OK;
    const double longest_s = LONG_HOLD * usual / session->rate_hz;
    size_t last = n;
    for (size_t i = 0; i < n; i++) {
        if (isnan(raw[i]))
            continue;
        const bool joined = last < n && !isnan(values[last]) &&
                            !isnan(values[i]) &&
                            time_s[i] - time_s[last] <= longest_s;
        for (size_t k = last + 1; joined && k < i; k++)
            values[k] = values[last] + (values[i] - values[last]) *
                                           (time_s[k] - time_s[last]) /
                                           (time_s[i] - time_s[last]);
        last = i;
    }
    return KW_OK;
}
