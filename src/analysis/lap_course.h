/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course: which way was done when each place of the track was passed. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_COURSE_H
#define KARTWRIGHT_ANALYSIS_LAP_COURSE_H

#include "analysis/lap_axis.h"

/* Places in one lap where the course is pinned down, and cells of the common
 * pattern between two of them: a cell is some 0.05 s. */
enum {
    KW_COURSE_BLOCKS = 12,
    KW_COURSE_CELLS = 80,
    KW_COURSE_LAP = KW_COURSE_BLOCKS * KW_COURSE_CELLS
};

/* Laps are counted in turns, from an arbitrary place of the track.
 *
 * lap       way of one lap.
 * n         number of nodes; node i is the middle of a block.
 * turn      turn[n], rising by 1 / KW_COURSE_BLOCKS.
 * way       way[n], never falling.
 * variance  variance[n] of way.
 * fits      fits[n]: the pace around the node is that of the common pattern.
 * likeness  of a lap with the common pattern: 1 for the same, 0 for chance; the
 *           middle one of all laps. NAN where none was driven whole.
 * pace, weight, slope  common pattern: median pace of each cell, one over its
 *           variance from lap to lap, its change to the next cell. */
struct kw_lap_course {
    double lap;
    double likeness;
    size_t n;
    double *turn;
    double *way;
    double *variance;
    bool *fits;
    double pace[KW_COURSE_LAP];
    double weight[KW_COURSE_LAP];
    double slope[KW_COURSE_LAP];
};

/* returns  KW_OK; KW_NO_MEMORY. The caller frees it with kw_lap_course_free().
 */
enum kw_status kw_lap_course_new(double lap,
                                 double first_turn,
                                 double last_turn,
                                 struct kw_lap_course *out,
                                 struct kw_error *error);
void kw_lap_course_free(struct kw_lap_course *course);

/* Straight between nodes, at the usual lap's rate outside them. n > 0. */
double kw_course_way(const struct kw_lap_course *course, double turn);
double kw_course_turn(const struct kw_lap_course *course, double way);

/* In which block of the lap a node stands: 0 to KW_COURSE_BLOCKS - 1. */
size_t kw_course_block(const struct kw_lap_course *course, size_t node);

/* Seconds that the block from a turn on took. */
double kw_course_block_s(const struct kw_lap_axis *axis,
                         const struct kw_lap_course *course,
                         double turn);

#endif
