/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps of a course.
 *
 * A course follows the pace itself. On an out lap, an in lap or behind a yellow
 * flag the kart is slow everywhere, and the course looks for that pace at other
 * places of the lap: it jumps there and back. But the bends come by in the
 * order and at the distances of every lap, only flatter. So a stretch beside a
 * jump is also laid evenly on from the one before it, or back from the one
 * after it, and stays so where its bends are more like those of the pattern.
 *
 * What is compared is the change of pace within each block: correlation, which
 * asks neither how fast the lap was nor how hard it was braked. */
#include "analysis/lap_breaks.h"

#include <math.h>

enum {
    CELLS = KW_COURSE_CELLS,
    BLOCKS = KW_COURSE_BLOCKS,
    /* A longer stretch is no slow lap: it has laps of its own to lie on. */
    LONGEST_STRETCH = 2 * KW_COURSE_BLOCKS
};
/* Of a block less than half of which was driven nothing is told. */
static const double LEAST_CELLS = CELLS / 2.0;
/* The way to the next node is off by more than this part of a lap: a pit visit.
 */
static const double BREAK_LAP_SHARE = 0.025;
/* Bends that are the same ones, flatter, are so much alike at least (common
 * practice, no source). */
static const double LEAST_ALIKE = 0.3;

/* Way from one node to the next of even laps. */
static double even_step(const struct kw_lap_course *course)
{
    return course->lap / BLOCKS;
}

/* What a step of the way is beyond that. */
static double beyond(const struct kw_lap_course *course, double step)
{
    return fabs(step - even_step(course));
}

bool kw_is_break(const struct kw_lap_course *course, size_t node)
{
    return beyond(course, course->way[node] - course->way[node - 1]) >
           BREAK_LAP_SHARE * course->lap;
}

/* Nodes of one stretch, and where its first would lie if it were laid evenly.
 */
struct stretch {
    size_t from;
    size_t to;
    double way;
};

static double even_way(const struct kw_lap_course *course,
                       const struct stretch *stretch,
                       size_t node)
{
    return stretch->way + (double)(node - stretch->from) * even_step(course);
}

/* Sums of squares and products within blocks. */
struct sums {
    double row;
    double pattern;
    double both;
};

/* What the block of a node adds where the node lies at a way: row and pattern,
 * each against its mean there. */
static void add_block(const struct kw_lap_grid *grid,
                      const struct kw_lap_course *course,
                      size_t node,
                      double way,
                      struct sums *sums)
{
    const double *pattern =
        &course->pace[kw_course_block(course, node) * CELLS];
    struct sums here = {0.0, 0.0, 0.0};
    double row = 0.0;
    double usual = 0.0;
    double n = 0.0;
    for (size_t cell = 0; cell < CELLS; cell++) {
        const double part = ((double)cell + 0.5) / CELLS - 0.5;
        const double pace =
            kw_lap_grid_pace_at(grid, way + part * even_step(course));
        if (isnan(pace))
            continue;
        n++;
        row += pace;
        usual += pattern[cell];
        here.row += pace * pace;
        here.pattern += pattern[cell] * pattern[cell];
        here.both += pace * pattern[cell];
    }
    if (n < LEAST_CELLS)
        return;
    sums->row += here.row - row * row / n;
    sums->pattern += here.pattern - usual * usual / n;
    sums->both += here.both - row * usual / n;
}

/* Correlation with the pattern of a stretch as it lies, or laid evenly. */
static double alike(const struct kw_lap_grid *grid,
                    const struct kw_lap_course *course,
                    const struct stretch *stretch,
                    bool evenly)
{
    struct sums sums = {0.0, 0.0, 0.0};
    for (size_t node = stretch->from; node < stretch->to; node++)
        add_block(grid, course, node,
                  evenly ? even_way(course, stretch, node) : course->way[node],
                  &sums);
    const double squares = sums.row * sums.pattern;
    return squares > 0.0 ? sums.both / sqrt(squares) : -1.0;
}

/* Lays a stretch evenly where it is more like the pattern so.
 *
 * returns  whether it did. */
static bool lay_evenly(const struct kw_lap_grid *grid,
                       struct kw_lap_course *course,
                       const struct stretch *stretch)
{
    if (stretch->to - stretch->from > LONGEST_STRETCH)
        return false;
    const double even = alike(grid, course, stretch, true);
    if (even < LEAST_ALIKE || even <= alike(grid, course, stretch, false))
        return false;
    for (size_t node = stretch->from; node < stretch->to; node++)
        course->way[node] = even_way(course, stretch, node);
    return true;
}

/* On from the stretch before: from a break up to the next. Not where that makes
 * the next one worse: then the drive behind both is in its place. */
static bool mend_onwards(const struct kw_lap_grid *grid,
                         struct kw_lap_course *course)
{
    const double *way = course->way;
    bool mended = false;
    for (size_t from = 1; from < course->n; from++) {
        if (!kw_is_break(course, from))
            continue;
        size_t to = from + 1;
        while (to < course->n && !kw_is_break(course, to))
            to++;
        const struct stretch stretch = {from, to,
                                        way[from - 1] + even_step(course)};
        const double last = even_way(course, &stretch, to - 1);
        if (to == course->n || beyond(course, way[to] - last) <
                                   beyond(course, way[to] - way[to - 1]))
            mended |= lay_evenly(grid, course, &stretch);
    }
    return mended;
}

/* Back from the stretch behind: from a break down to the one before. */
static bool mend_backwards(const struct kw_lap_grid *grid,
                           struct kw_lap_course *course)
{
    const double *way = course->way;
    bool mended = false;
    for (size_t to = course->n - 1; to > 0; to--) {
        if (!kw_is_break(course, to))
            continue;
        size_t from = to - 1;
        while (from > 0 && !kw_is_break(course, from))
            from--;
        const double back = (double)(to - from) * even_step(course);
        const struct stretch stretch = {from, to, way[to] - back};
        if (from == 0 || beyond(course, stretch.way - way[from - 1]) <
                             beyond(course, way[from] - way[from - 1]))
            mended |= lay_evenly(grid, course, &stretch);
    }
    return mended;
}

bool kw_mend_breaks(const struct kw_lap_grid *grid,
                    struct kw_lap_course *course)
{
    const bool onwards = mend_onwards(grid, course);
    return mend_backwards(grid, course) || onwards;
}
