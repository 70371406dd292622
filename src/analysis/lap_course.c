/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course as nodes of turns and way, and the straight lines between them.
 *
 * Way is what the kart did by its own measure, metres or engine turns; a turn
 * of the course is one time round the track. The two drift apart by every wide
 * line and every spin, so one is kept as a function of the other: turns say
 * where on the track, way says how to get there. */
#include "analysis/lap_course.h"

#include "core/array.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

/* One node in the middle of each block of a turn. Whole blocks at both ends, so
 * that the nodes of every lap lie at the same places and can be held against
 * each other. */
enum kw_status kw_lap_course_new(double lap,
                                 double first_turn,
                                 double last_turn,
                                 struct kw_lap_course *out,
                                 struct kw_error *error)
{
    *out = (struct kw_lap_course){.lap = lap};
    const double first = floor(first_turn * KW_COURSE_BLOCKS);
    const double last = ceil(last_turn * KW_COURSE_BLOCKS);
    out->n = (size_t)fmax(last - first, 1.0);
    out->turn = kw_array_new(out->n, sizeof *out->turn, error);
    out->way = kw_array_new(out->n, sizeof *out->way, error);
    out->variance = kw_array_new(out->n, sizeof *out->variance, error);
    out->fits = kw_array_new(out->n, sizeof *out->fits, error);
    if (out->turn == NULL || out->way == NULL || out->variance == NULL ||
        out->fits == NULL) {
        kw_lap_course_free(out);
        return KW_NO_MEMORY;
    }
    for (size_t i = 0; i < out->n; i++)
        out->turn[i] = (first + (double)i + 0.5) / KW_COURSE_BLOCKS;
    return KW_OK;
}

void kw_lap_course_free(struct kw_lap_course *course)
{
    free(course->turn);
    free(course->way);
    free(course->variance);
    free(course->fits);
    *course = (struct kw_lap_course){0};
}

/* The last of xs[n] (rising) that is at or below x; n - 2 at most. */
static size_t segment_of(const double *xs, size_t n, double x)
{
    size_t low = 0;
    size_t high = n - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (xs[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Before the first node and behind the last the kart is taken to go on at the
 * usual rate: the out lap and the in lap are only partly covered. */
double kw_course_way(const struct kw_lap_course *course, double turn)
{
    assert(course->n > 0);
    const size_t last = course->n - 1;
    if (turn <= course->turn[0])
        return course->way[0] + (turn - course->turn[0]) * course->lap;
    if (turn >= course->turn[last])
        return course->way[last] + (turn - course->turn[last]) * course->lap;
    const size_t i = segment_of(course->turn, course->n, turn);
    const double part = (turn - course->turn[i]) * KW_COURSE_BLOCKS;
    return course->way[i] + part * (course->way[i + 1] - course->way[i]);
}

/* The way back: way rises from node to node, so that it can be searched like
 * turns. A stretch without way (the kart stood) belongs to its beginning. */
double kw_course_turn(const struct kw_lap_course *course, double way)
{
    assert(course->n > 0);
    const size_t last = course->n - 1;
    if (way <= course->way[0])
        return course->turn[0] + (way - course->way[0]) / course->lap;
    if (way >= course->way[last])
        return course->turn[last] + (way - course->way[last]) / course->lap;
    const size_t i = segment_of(course->way, course->n, way);
    const double length = course->way[i + 1] - course->way[i];
    const double part = length > 0.0 ? (way - course->way[i]) / length : 0.0;
    return course->turn[i] + part / KW_COURSE_BLOCKS;
}

/* Nodes stand in the middles of blocks; a quarter of a block is room for what
 * rounding does to them. */
size_t kw_course_block(const struct kw_lap_course *course, size_t node)
{
    const double index = course->turn[node] * KW_COURSE_BLOCKS - 0.5;
    const double lap = floor((index + 0.25) / KW_COURSE_BLOCKS);
    return (size_t)(index - lap * KW_COURSE_BLOCKS + 0.25);
}

double kw_course_block_s(const struct kw_lap_axis *axis,
                         const struct kw_lap_course *course,
                         double turn)
{
    const double to = turn + 1.0 / KW_COURSE_BLOCKS;
    return kw_lap_axis_time_at(axis, kw_course_way(course, to)) -
           kw_lap_axis_time_at(axis, kw_course_way(course, turn));
}
