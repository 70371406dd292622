/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A receiver that loses its satellites, or hangs, misses the line with the
 * rest. The pace goes on, and knows the lap: laid over the laps that were seen,
 * it tells when the place of the line came by again. */
#include "analysis/lap_lost.h"

#include "analysis/lap_drive.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/position.h"

#include <math.h>
#include <stdlib.h>

/* A shorter loss of the position is bridged by the line between two fixes. */
static const double LONG_LOSS_S = 8.0;
/* The passings that were seen are at one place of the pattern, within this part
 * of a turn, most of them; one that is added is at least so far from any. */
static const double ONE_PLACE = 0.05;
static const double LEAST_ALIKE = 0.7;
static const double APART = 0.3;

/* How long the kart drove without a position. */
static double lost_s(const struct kw_session *session,
                     const struct kw_lap_axis *axis)
{
    double sum_s = 0.0;
    for (size_t i = 1; i < session->n_samples; i++) {
        if (axis->pace[i] >= axis->drives && !kw_has_place(session, i))
            sum_s += session->time_s[i] - session->time_s[i - 1];
    }
    return sum_s;
}

/* Place of the line as part of a turn; NAN where the passings are not alike.
 *
 * turns  turns[n] of the passings, filled in; scratch[2 * n]. */
static double place_of_line(const struct kw_lap_axis *axis,
                            const struct kw_lap_course *course,
                            const struct kw_passings *passings,
                            double *turns,
                            double *scratch)
{
    const size_t n = passings->n;
    for (size_t i = 0; i < n; i++) {
        turns[i] = kw_course_turn(
            course, kw_lap_axis_way_at(axis, passings->time_s[i]));
        scratch[i] = remainder(turns[i] - turns[0], 1.0);
    }
    const double middle = kw_median(scratch, n, scratch + n);
    size_t alike = 0;
    for (size_t i = 0; i < n; i++)
        alike += fabs(scratch[i] - middle) < ONE_PLACE ? 1 : 0;
    return (double)alike >= LEAST_ALIKE * (double)n ? turns[0] + middle : NAN;
}

/* Turns of the pattern from one passing to the next: it comes back twice a lap
 * on a track of two like halves. The least is asked, since a lap that was lost
 * makes it more. */
static double turns_each_lap(const double *turns, size_t n)
{
    double least = INFINITY;
    for (size_t i = 1; i < n; i++)
        least = fmin(least, round(turns[i] - turns[i - 1]));
    return isfinite(least) ? fmax(least, 1.0) : 1.0;
}

static bool is_apart(const double *turns, size_t n, double turn)
{
    for (size_t i = 0; i < n; i++) {
        if (fabs(turns[i] - turn) < APART)
            return false;
    }
    return true;
}

static int by_time(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Each lap from the line on that falls where there is no position. */
static enum kw_status add_missed(const struct kw_session *session,
                                 const struct kw_lap_axis *axis,
                                 const struct kw_lap_course *course,
                                 struct kw_passings *passings,
                                 struct kw_error *error)
{
    const size_t n = passings->n;
    double *turns = kw_array_new(n, 3 * sizeof *turns, error);
    struct kw_lap_drive drive;
    enum kw_status status = KW_NO_MEMORY;
    if (turns != NULL)
        status = kw_find_lap_drive(axis, course, &drive, error);
    const double place = status == KW_OK ? place_of_line(axis, course, passings,
                                                         turns, turns + n)
                                         : NAN;
    if (!isnan(place)) {
        const double lap = turns_each_lap(turns, n);
        double turn = place + lap * ceil((drive.from_turn - place) / lap);
        for (; status == KW_OK && turn <= drive.to_turn; turn += lap) {
            const double at_s =
                kw_lap_axis_time_at(axis, kw_course_way(course, turn));
            const size_t i =
                kw_sample_at(session->time_s, session->n_samples, at_s);
            if (!kw_has_place(session, i) && is_apart(turns, n, turn))
                status = kw_passings_add(passings, at_s, error);
        }
        qsort(passings->time_s, passings->n, sizeof *passings->time_s, by_time);
    }
    free(turns);
    return status;
}

enum kw_status kw_add_lost_passings(const struct kw_session *session,
                                    const struct kw_lap_axis *axis,
                                    struct kw_passings *passings,
                                    struct kw_error *error)
{
    if (passings->n == 0 || lost_s(session, axis) < LONG_LOSS_S)
        return KW_OK;
    struct kw_passings by_pattern = {0};
    struct kw_lap_course course;
    enum kw_status status =
        kw_passings_by_pattern(axis, &by_pattern, &course, error);
    if (status == KW_OK && course.n > 0)
        status = add_missed(session, axis, &course, passings, error);
    kw_passings_free(&by_pattern);
    kw_lap_course_free(&course);
    return status;
}
