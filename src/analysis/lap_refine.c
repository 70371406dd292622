/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two witnesses of each passing: the source that saw it, and the course, which
 * knows how far it is from one lap to the next. Each counts by its variance;
 * that of the source is what the two differ by, less what the course admits. */
#include "analysis/lap_refine.h"

#include "analysis/lap_align.h"
#include "analysis/lap_start.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

enum { FEWEST_PASSINGS = 4 };
/* Passings one turn apart, within this; and so many of them. */
static const double ONE_TURN = 0.03;
static const double LEAST_ALIKE = 0.7;
/* Passings within so many standard deviations of the middle make the mean. */
static const double NEAR_SD = 2.5;
/* Two witnesses that differ by so many standard deviations are not averaged:
 * the course is believed where the pace around the line is the usual one and a
 * receiver may be as far off, else the source that saw the line. */
static const double DISAGREE_SD = 4.0;
static const double MOST_DRIFT_S = 0.4;

/* Turns at each passing, and whether most are one turn after the last. */
static bool read_turns(const struct kw_lap_axis *axis,
                       const struct kw_lap_course *course,
                       const struct kw_passings *passings,
                       double *turns)
{
    size_t alike = 0;
    for (size_t i = 0; i < passings->n; i++) {
        turns[i] = kw_course_turn(
            course, kw_lap_axis_way_at(axis, passings->time_s[i]));
        if (i > 0 && fabs(turns[i] - turns[i - 1] - 1.0) < ONE_TURN)
            alike++;
    }
    return (double)alike >= LEAST_ALIKE * (double)(passings->n - 1);
}

/* Variance of the way of the course near a turn. */
static double variance_near(const struct kw_lap_course *course, double turn)
{
    const double at = (turn - course->turn[0]) * KW_COURSE_BLOCKS;
    const double last = (double)(course->n - 1);
    return course->variance[(size_t)fmin(fmax(at + 0.5, 0.0), last)];
}

/* true when the pace fits the pattern before and after a turn. */
static bool fits_near(const struct kw_lap_course *course, double turn)
{
    const double at = (turn - course->turn[0]) * KW_COURSE_BLOCKS;
    if (!(at >= 0.0) || !(at < (double)(course->n - 1)))
        return false;
    const size_t node = (size_t)at;
    return course->fits[node] && course->fits[node + 1];
}

/* Place of the line: the mean of all passings that are near the middle one, as
 * parts of a turn. */
static double usual_place(const double *turns, size_t n, double *scratch)
{
    const double any = turns[n / 2];
    double *copy = scratch + n;
    for (size_t i = 0; i < n; i++)
        scratch[i] = remainder(turns[i] - any, 1.0);
    const double middle = kw_median(scratch, n, copy);
    const double most = NEAR_SD * kw_mad_sd(scratch, n, 0.0, copy);
    double sum = 0.0;
    size_t near = 0;
    for (size_t i = 0; i < n; i++) {
        if (fabs(scratch[i] - middle) > most)
            continue;
        sum += scratch[i];
        near++;
    }
    return any + (near > 0 ? sum / (double)near : middle);
}

/* turns of each passing; scratch[2 * n]; most_s as in the header. */
struct witnesses {
    const struct kw_lap_axis *axis;
    const struct kw_lap_course *course;
    const double *turns;
    double *scratch;
    double most_s;
};

/* Pace at which the line is passed, in the middle of all laps: what turns a
 * time there into way. */
static double pace_at_line(const struct witnesses *w,
                           const struct kw_passings *passings)
{
    static const double SIDE_S = 0.2;
    for (size_t i = 0; i < passings->n; i++) {
        const double at_s = passings->time_s[i];
        w->scratch[i] = (kw_lap_axis_way_at(w->axis, at_s + SIDE_S) -
                         kw_lap_axis_way_at(w->axis, at_s - SIDE_S)) /
                        (2.0 * SIDE_S);
    }
    return kw_median(w->scratch, passings->n, w->scratch + passings->n);
}

/* Inverse-variance weighting (from memory): the passing moves towards the
 * course by the share that the course is the surer of the two. */
static void combine(const struct witnesses *w, struct kw_passings *passings)
{
    const struct kw_lap_course *course = w->course;
    const double *turns = w->turns;
    double *scratch = w->scratch;
    const size_t n = passings->n;
    const double wander = isnan(passings->wander_s)
                              ? INFINITY
                              : passings->wander_s * pace_at_line(w, passings);
    const double place = usual_place(turns, n, scratch);
    for (size_t i = 0; i < n; i++)
        scratch[i] = remainder(turns[i] - place, 1.0) * course->lap;
    const double sd = kw_mad_sd(scratch, n, 0.0, scratch);
    for (size_t i = 0; i < n; i++) {
        const double off = remainder(turns[i] - place, 1.0);
        /* What the source cannot be off by is the course's. */
        const double own =
            fmax(variance_near(course, turns[i]), sd * sd - wander * wander);
        /* What is left for the source; a tenth at least, since the variance of
         * a few laps is itself only an estimate. */
        const double seen =
            fmin(fmax(sd * sd - own, 0.1 * sd * sd), wander * wander);
        double share = seen / (seen + own);
        if (fabs(off) * course->lap > DISAGREE_SD * sqrt(own + seen))
            share = fits_near(course, turns[i]) &&
                            fabs(off) * course->lap < DISAGREE_SD * wander
                        ? 1.0
                        : 0.0;
        const double turn = turns[i] - off * share;
        const double at_s =
            kw_lap_axis_time_at(w->axis, kw_course_way(course, turn));
        const double move_s = at_s - passings->time_s[i];
        if (fabs(move_s) < MOST_DRIFT_S)
            passings->time_s[i] += fmin(fmax(move_s, -w->most_s), w->most_s);
    }
}

/* A course that does not fit the passings would spoil them: then they stay as
 * they were seen, and there is no course. */
enum kw_status kw_refine_passings(const struct kw_lap_axis *axis,
                                  double most_s,
                                  struct kw_passings *passings,
                                  struct kw_lap_course *course,
                                  struct kw_error *error)
{
    const size_t n = passings->n;
    *course = (struct kw_lap_course){0};
    if (n < FEWEST_PASSINGS)
        return KW_OK;
    double *turns = kw_array_new(n, sizeof *turns, error);
    double *scratch = kw_array_new(n, 2 * sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    bool usable = false;
    if (turns == NULL || scratch == NULL)
        goto done;
    for (size_t i = 0; i < n; i++)
        scratch[i] = kw_lap_axis_way_at(axis, passings->time_s[i]);
    status = kw_course_by_passings(axis, scratch, n, course, error);
    if (status == KW_OK)
        status = kw_align_laps(axis, course, error);
    usable = status == KW_OK && course->n > 0 &&
             read_turns(axis, course, passings, turns);
    if (usable) {
        const struct witnesses w = {axis, course, turns, scratch, most_s};
        combine(&w, passings);
    }
done:
    if (!usable)
        kw_lap_course_free(course);
    free(turns);
    free(scratch);
    return status;
}
