/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the drive says about the line. A kart goes out and comes in at the same
 * place, the pits, so that the way out and the way in make one lap together. At
 * many tracks it is more: the way out joins behind the line and the way in
 * leaves before it, and out lap and in lap are nearly whole laps. Their pace
 * tells: tyres are cold until the line is passed first, and nobody hurries
 * after it was passed last. */
#include "analysis/lap_drive.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Pace is compared block by block. A slow block counts by how much longer it
 * took than is usual there, less what a driver varies by; more than so much is
 * a stop, and no slower than any other. Natural logarithms of the ratio; common
 * practice, no source. */
static const double VARIES = 0.03;
static const double MOST_SLOW = 0.15;
static const double MOST_QUICK = -0.1;
/* Slow for fewer turns, out lap and in lap may be one together all the same. */
static const double SURELY_MORE = 1.3;
/* Turns. A drive this near to whole ones began and ended at the same place: out
 * lap and in lap are one turn together, or, where all of both was slow, two. */
static const double WHOLE = 0.12;
static const double TWO_SLOW = 1.75;
/* Turns. A pit lane that leaves the track and joins it again cuts off a part of
 * the second turn. Where less than this is cut off the kart came to rest on the
 * spot that it began from. */
static const double ON_THE_SPOT = 0.05;
/* Natural logarithm of the ratio, clipped block by block as above: a first lap
 * that is slow by less than this in the mean had cold tyres. */
static const double COLD_TYRES = 0.08;
/* Turns. With two slow laps the kart stood by the line, and so much of the way
 * is too near to it to say whether it was passed. */
static const double NEAR_LINE = 0.25;
/* How far from its end of the drive a slow lap is followed, in blocks: where
 * more than one lap is slow, nothing ends and nothing is told. One block is
 * room for a clutch that slipped. */
enum { FOLLOWED = KW_COURSE_BLOCKS + KW_COURSE_BLOCKS / 4 };

/* What the block from a turn on takes in the middle of the other laps; NAN
 * where there are none. scratch[2 * laps]. */
static double usual_block_s(const struct kw_lap_axis *axis,
                            const struct kw_lap_course *course,
                            const struct kw_lap_drive *drive,
                            double turn,
                            double *scratch)
{
    const double first = drive->from_turn + 1.0;
    const double last = drive->to_turn - 1.0 - 1.0 / KW_COURSE_BLOCKS;
    size_t n = 0;
    for (double at = turn + ceil(first - turn); at <= last; at += 1.0)
        scratch[n++] = kw_course_block_s(axis, course, at);
    return kw_median(scratch, n, scratch + n);
}

/* The slow end of a drive.
 *
 * n     blocks.
 * mean  by how much they were slow, clipped; 0 where n is. */
struct slow_end {
    size_t n;
    double mean;
};

/* Blocks from one end of the drive up to where its slowness ends: where the sum
 * of what is slow beyond what varies is highest (Page's CUSUM, 1954). */
static struct slow_end find_slow_end(const struct kw_lap_axis *axis,
                                     const struct kw_lap_course *course,
                                     const struct kw_lap_drive *drive,
                                     bool at_start,
                                     double *scratch)
{
    double sum = 0.0;
    double highest = 0.0;
    size_t known = 0;
    struct slow_end slow = {0};
    for (size_t k = 0; k < FOLLOWED; k++) {
        const double turn =
            at_start ? drive->from_turn + (double)k / KW_COURSE_BLOCKS
                     : drive->to_turn - (double)(k + 1) / KW_COURSE_BLOCKS;
        const double usual_s =
            usual_block_s(axis, course, drive, turn, scratch);
        const double longer =
            log(kw_course_block_s(axis, course, turn) / usual_s);
        if (isnan(longer))
            continue;
        known++;
        sum += fmin(fmax(longer, MOST_QUICK), MOST_SLOW) - VARIES;
        if (sum > highest) {
            highest = sum;
            slow.n = k + 1;
            slow.mean = VARIES + highest / (double)known;
        }
    }
    return slow.n <= KW_COURSE_BLOCKS + 1 ? slow : (struct slow_end){0};
}

/* Where the kart drove off, and where it came to rest. */
static struct kw_lap_drive ends_of_drive(const struct kw_lap_axis *axis,
                                         const struct kw_lap_course *course)
{
    size_t first = 1;
    size_t last = course->n - 1;
    while (first < last && !(course->fits[first - 1] && course->fits[first]))
        first++;
    while (last > first && !(course->fits[last - 1] && course->fits[last]))
        last--;
    const double drive_off_s = kw_lap_axis_drive_off_s(
        axis, kw_lap_axis_time_at(axis, course->way[first - 1]));
    const double rest_s =
        kw_lap_axis_rest_s(axis, kw_lap_axis_time_at(axis, course->way[last]));
    return (struct kw_lap_drive){
        kw_course_turn(course, kw_lap_axis_way_at(axis, drive_off_s)),
        kw_course_turn(course, kw_lap_axis_way_at(axis, rest_s)), 1.0};
}

/* Whole turns say more about the pits than pace does. */
static void weigh(struct kw_lap_drive *drive,
                  const struct slow_end *way_out,
                  const struct slow_end *way_in)
{
    const double slow_turns =
        (double)(way_out->n + way_in->n) / KW_COURSE_BLOCKS;
    const double turns = drive->to_turn - drive->from_turn;
    const double off = fabs(turns - round(turns));
    if (off >= WHOLE) {
        drive->out_and_in = slow_turns < SURELY_MORE ? 1.0 : slow_turns;
    } else if (slow_turns >= TWO_SLOW &&
               (off >= ON_THE_SPOT || way_out->mean >= COLD_TYRES)) {
        drive->from_turn += NEAR_LINE;
        drive->to_turn -= NEAR_LINE;
        drive->out_and_in = 2.0 - 2.0 * NEAR_LINE;
    }
}

enum kw_status kw_find_lap_drive(const struct kw_lap_axis *axis,
                                 const struct kw_lap_course *course,
                                 struct kw_lap_drive *out,
                                 struct kw_error *error)
{
    double *scratch = kw_array_new(course->n, 2 * sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    *out = ends_of_drive(axis, course);
    const struct slow_end way_out =
        find_slow_end(axis, course, out, true, scratch);
    const struct slow_end way_in =
        find_slow_end(axis, course, out, false, scratch);
    weigh(out, &way_out, &way_in);
    free(scratch);
    return KW_OK;
}

/* The laps between are whole, and one passing more than laps. */
size_t kw_likely_passings(double turns, double out_and_in)
{
    return (size_t)fmax(round(turns - out_and_in) + 1.0, 0.0);
}
