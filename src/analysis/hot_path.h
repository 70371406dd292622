/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The levels of excess that a session goes through, and how healthy readings
 * scatter: what hot_stretch.c judges. */
#ifndef KARTWRIGHT_ANALYSIS_HOT_PATH_H
#define KARTWRIGHT_ANALYSIS_HOT_PATH_H

#include "analysis/hot_stretch.h"

#include <stdbool.h>

/* Levels of excess; 0 is none. */
enum { KW_HOT_LEVELS = 7 };

/* How healthy readings scatter here.
 *
 * cell_c   of single cells.
 * piece_c  of means over pieces of pulls, piece_s long.
 * alike_s  so many seconds of a pull say one thing. */
struct kw_hot_scatter {
    double cell_c;
    double piece_c;
    double piece_s;
    double alike_s;
};

/* A walk over the cells from .. to - 1.
 *
 * share  what part of the price of a change of level is asked.
 * back   back[n * KW_HOT_LEVELS]: the level before each cell and level.
 * level  level[n]: what is found. */
struct kw_hot_walk {
    size_t from;
    size_t to;
    double share;
    unsigned char *back;
    unsigned char *level;
};

/* Whether a cell is a witness at all: its excess known, its load settled. */
bool kw_hot_counts(const struct kw_hot_options *o, size_t i);

/* values, scratch  room for grid->n numbers each. */
struct kw_hot_scatter kw_find_hot_scatter(const struct kw_hot_options *o,
                                          double *values,
                                          double *scratch);

/* What a cell costs at a level, as the logarithm of a density. */
double kw_hot_cost(const struct kw_hot_options *o,
                   size_t i,
                   size_t level,
                   const struct kw_hot_scatter *s);

/* Finds the cheapest path from no excess to any level (Viterbi 1967) and writes
 * it to walk->level. */
void kw_walk_hot_path(const struct kw_hot_options *o,
                      const struct kw_hot_scatter *s,
                      const struct kw_hot_walk *walk);

#endif
