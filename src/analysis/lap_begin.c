/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where laps begin that no line marks.
 *
 * One place serves as well as another, so it is put where the time of passing
 * is known best: where the kart brakes hard at the end of a straight, and never
 * stood. */
#include "analysis/lap_begin.h"

#include <math.h>

/* Where the pace does not fit the pattern the way may be out by this part of a
 * lap: a place that fits on the first and the last lap too is better. */
static const double UNSEEN = 0.004;
/* A place in the middle of a pull must be this many times better, in variance.
 */
static const double PULL_PRICE = 100.0;
/* Braking is a loss of pace of at least this share of the hardest; a bump loses
 * less. */
static const double HARD_SHARE = 0.5;
/* No place is told better than this part of a lap: below it the fastest place
 * wins, where a metre is the shortest time. */
static const double KNOWN = 0.0005;

size_t kw_times_passed(const struct kw_lap_drive *drive, double place)
{
    const double first = ceil(drive->from_turn - place);
    const double last = floor(drive->to_turn - place);
    return last >= first ? (size_t)(last - first) + 1 : 0;
}

/* How far off the way may be at a turn, as a standard deviation. */
static double unsure_way(const struct kw_lap_course *course, double turn)
{
    const double at = (turn - course->turn[0]) * KW_COURSE_BLOCKS + 0.5;
    const size_t node = (size_t)fmin(fmax(at, 0.0), (double)(course->n - 1));
    const double unseen = course->fits[node] ? 0.0 : UNSEEN * course->lap;
    const double known = KNOWN * course->lap;
    return sqrt(course->variance[node] + unseen * unseen + known * known);
}

/* Mean square of the time by which the passings of a place may be off: how long
 * the kart took over the way that is unsure. Where it stood once, that is all
 * the time it stood. */
static double unsure_s2(const struct kw_lap_axis *axis,
                        const struct kw_lap_course *course,
                        const struct kw_lap_drive *drive,
                        double place)
{
    double sum = 0.0;
    double n = 0.0;
    for (double turn = ceil(drive->from_turn - place) + place;
         turn <= drive->to_turn; turn += 1.0) {
        const double way = kw_course_way(course, turn);
        const double off = unsure_way(course, turn);
        const double took_s = kw_lap_axis_time_at(axis, way + off) -
                              kw_lap_axis_time_at(axis, way - off);
        sum += 0.25 * took_s * took_s;
        n++;
    }
    return n > 0.0 ? sum / n : INFINITY;
}

/* The strongest loss of pace from one cell of the pattern to the next. */
static double steepest_fall(const struct kw_lap_course *course)
{
    double fall = 0.0;
    for (size_t i = 0; i < KW_COURSE_LAP; i++)
        fall = fmin(fall, course->slope[i]);
    return fall;
}

double kw_choose_place(const struct kw_lap_axis *axis,
                       const struct kw_lap_course *course,
                       const struct kw_lap_drive *drive)
{
    const size_t wanted = kw_likely_passings(drive->to_turn - drive->from_turn,
                                             drive->out_and_in);
    const double fall = steepest_fall(course);
    double best = 0.0;
    double least = INFINITY;
    for (size_t at = 0; at < KW_COURSE_LAP; at++) {
        const double place = ((double)at + 0.5) / KW_COURSE_LAP;
        const double price =
            course->slope[at] < HARD_SHARE * fall ? 1.0 : PULL_PRICE;
        if (kw_times_passed(drive, place) != wanted)
            continue;
        const double now = price * unsure_s2(axis, course, drive, place);
        if (now < least) {
            least = now;
            best = place;
        }
    }
    return best;
}
