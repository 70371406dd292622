/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps from the pattern of pace alone: find the lap's length, lay all laps over
 * each other, then choose the one place of the track where every lap begins.
 *
 * Without a line nobody knows where a lap begins, but every lap can begin at
 * the same place. It is put where laps tell their place best: where the kart
 * brakes hard, at the end of a straight. */
#include "analysis/lap_passings.h"

#include "analysis/lap_align.h"
#include "analysis/lap_begin.h"
#include "analysis/lap_drive.h"
#include "analysis/lap_halves.h"
#include "analysis/lap_start.h"

#include <math.h>

/* Step of the grid on which the lap's length is looked for. */
static const double STEP_S = 0.15;
/* Share of the drive that fits the pattern, times the likeness of laps with it,
 * of the other laps only. Laps of learners, with yellow flags and out and in
 * laps, have 0.3 and more; no drive on the road has more than 0.1. */
static const double LEAST_FIT = 0.22;
/* So unlikely must it be that pieces are whole laps. Whole laps of 1,400
 * simulated sessions had 2e-7 and more; halves that show at all, 3e-20 and
 * less. */
static const double HALVES = 1e-12;
/* The same for blocks that fit by turns, where laps of twice the length fit
 * better besides. Whole laps of 720 simulated sessions had 0.29 and more;
 * halves that show so, 0.02 and less. */
static const double BY_TURNS = 0.05;
/* Fewer passings make no lap that could be told from chance. */
enum { FEWEST_PASSINGS = 3 };

/* A pattern does not know where the line is painted: a place is chosen at which
 * a passing can be timed well. */
static enum kw_status add_passings(const struct kw_lap_axis *axis,
                                   const struct kw_lap_course *course,
                                   struct kw_passings *out,
                                   struct kw_error *error)
{
    struct kw_lap_drive drive;
    enum kw_status status = kw_find_lap_drive(axis, course, &drive, error);
    if (status != KW_OK)
        return status;
    const double place = kw_choose_place(axis, course, &drive);
    const size_t n = kw_times_passed(&drive, place);
    const double first = ceil(drive.from_turn - place) + place;
    for (size_t i = 0; status == KW_OK && i < n; i++) {
        const double way = kw_course_way(course, first + (double)i);
        status = kw_passings_add(out, kw_lap_axis_time_at(axis, way), error);
    }
    return status;
}

/* A drive about the yard repeats here and there; laps repeat as a whole. */
static double fit_of(const struct kw_lap_course *course)
{
    size_t fitting = 0;
    for (size_t i = 0; i < course->n; i++)
        fitting += course->fits[i] ? 1 : 0;
    const double share = (double)fitting / (double)course->n;
    /* Of few laps each is a good part of the pattern itself. */
    const double others = 1.0 - (double)KW_COURSE_BLOCKS / (double)course->n;
    return share * others * course->likeness;
}

/* On a fine grid: an error of one step here is one of every lap. */
static enum kw_status find_lap(const struct kw_lap_axis *axis,
                               double *lap,
                               struct kw_error *error)
{
    struct kw_lap_grid grid;
    *lap = NAN;
    enum kw_status status = kw_lap_grid_new(axis, STEP_S, &grid, error);
    if (status == KW_OK)
        status = kw_find_lap_period(&grid, lap, error);
    *lap *= STEP_S;
    kw_lap_grid_free(&grid);
    return status;
}

/* Coarse to fine: the course that follows a period, then laid exactly. */
static enum kw_status lay_course(const struct kw_lap_axis *axis,
                                 double lap,
                                 struct kw_lap_course *course,
                                 struct kw_error *error)
{
    enum kw_status status = kw_course_by_pattern(axis, lap, course, error);
    if (status == KW_OK)
        status = kw_align_laps(axis, course, error);
    if (status != KW_OK)
        kw_lap_course_free(course);
    return status;
}

/* Lays the course again in laps of twice the length where these are halves. */
static enum kw_status join_halves(const struct kw_lap_axis *axis,
                                  double lap,
                                  struct kw_lap_course *course,
                                  struct kw_error *error)
{
    const bool differ = kw_chance_of_halves(axis, course) < HALVES;
    if (!differ && kw_chance_of_turns(course) >= BY_TURNS)
        return KW_OK;
    struct kw_lap_course whole;
    const enum kw_status status = lay_course(axis, 2.0 * lap, &whole, error);
    if (status != KW_OK)
        return status;
    if (differ || (whole.n > 0 && fit_of(&whole) > fit_of(course))) {
        kw_lap_course_free(course);
        *course = whole;
    } else {
        kw_lap_course_free(&whole);
    }
    return KW_OK;
}

/* Whether it was laps at all, and whole ones, can be told only of a course that
 * is laid exactly. */
enum kw_status kw_passings_by_pattern(const struct kw_lap_axis *axis,
                                      struct kw_passings *out,
                                      struct kw_lap_course *course,
                                      struct kw_error *error)
{
    double lap;
    *course = (struct kw_lap_course){0};
    enum kw_status status = find_lap(axis, &lap, error);
    if (status != KW_OK || isnan(lap))
        return status;
    status = lay_course(axis, lap, course, error);
    if (status == KW_OK && course->n > 0)
        status = join_halves(axis, lap, course, error);
    if (status == KW_OK && course->n > 0)
        status = add_passings(axis, course, out, error);
    if (status == KW_OK &&
        (out->n < FEWEST_PASSINGS || !(fit_of(course) > LEAST_FIT)))
        out->n = 0;
    if (status != KW_OK || out->n == 0)
        kw_lap_course_free(course);
    return status;
}
