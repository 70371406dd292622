/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Place on the lap: turns of the course since the line, or share of the way.
 *
 * Between two passings place runs from 0 to 1 whatever the course says: the
 * passings are known best. The out lap is measured from its end, the in lap
 * from its start, by the way of a usual lap. */
#include "analysis/lap_place.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* What stands for the distance round the track: turns, way or time. */
struct ruler {
    const struct kw_lap_axis *axis;
    const struct kw_lap_course *course;
    const double *time_s;
};

/* The course where there is one, else the bare way, else time: each stretches
 * with the kart's pace less than the one behind it. */
static double measure(const struct ruler *ruler, double way, double time_s)
{
    if (ruler->axis == NULL)
        return time_s;
    return ruler->course != NULL ? kw_course_turn(ruler->course, way) : way;
}

/* For a moment between two samples. */
static double measure_at(const struct ruler *ruler, double time_s)
{
    const double way =
        ruler->axis != NULL ? kw_lap_axis_way_at(ruler->axis, time_s) : 0.0;
    return measure(ruler, way, time_s);
}

/* For a sample, whose way is known and need not be looked up. */
static double measure_sample(const struct ruler *ruler, size_t i)
{
    return measure(ruler, ruler->axis != NULL ? ruler->axis->way[i] : 0.0,
                   ruler->time_s[i]);
}

/* Length of a usual lap by this ruler; NAN without a flying lap. */
static double usual_length(const struct ruler *ruler,
                           const struct kw_laps *laps,
                           double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        if (lap->kind == KW_LAP_FLYING)
            scratch[n++] =
                measure_at(ruler, lap->end_s) - measure_at(ruler, lap->start_s);
    }
    return kw_median(scratch, n, scratch);
}

/* A flying lap is its own measure. Out and in lap are pieces: they are laid
 * against a usual lap, the one at its end and the other at its start, and what
 * sticks out is cut to 0 or 1. */
static void place_lap(const struct ruler *ruler,
                      const struct kw_session *session,
                      const struct kw_lap *lap,
                      double usual,
                      double *place)
{
    double from = measure_at(ruler, lap->start_s);
    const double to = measure_at(ruler, lap->end_s);
    double length = to - from;
    if (lap->kind != KW_LAP_FLYING && isfinite(usual))
        length = usual;
    if (lap->kind == KW_LAP_OUT)
        from = to - length;
    if (!(length > 0.0))
        return;
    const size_t n = session->n_samples;
    for (size_t i = kw_sample_at(session->time_s, n, lap->start_s);
         i < n && session->time_s[i] < lap->end_s; i++) {
        const double part = (measure_sample(ruler, i) - from) / length;
        if (session->time_s[i] >= lap->start_s)
            place[i] = fmin(fmax(part, 0.0), 1.0);
    }
}

/* NAN outside of all laps: there is no place in the pits. */
enum kw_status kw_place_samples(const struct kw_session *session,
                                const struct kw_lap_axis *axis,
                                const struct kw_lap_course *course,
                                struct kw_laps *laps,
                                struct kw_error *error)
{
    const struct ruler ruler = {axis, course, session->time_s};
    double *scratch = kw_array_new(laps->n, sizeof *scratch, error);
    laps->place = kw_array_new_nan(session->n_samples, error);
    const bool ok = scratch != NULL && laps->place != NULL;
    const double usual = ok ? usual_length(&ruler, laps, scratch) : NAN;
    for (size_t i = 0; ok && i < laps->n; i++)
        place_lap(&ruler, session, &laps->items[i], usual, laps->place);
    free(scratch);
    return ok ? KW_OK : KW_NO_MEMORY;
}
