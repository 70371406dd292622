/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A session made in the cells of the heat model: pulls of 4 s from 6,000 RPM on
 * with lifts of 3 s between, in cells of 0.1 s, on a pipe that warms up by
 * 90 C. All of it is lap 0, at place 0. */
#ifndef KARTWRIGHT_TESTS_MADE_GRID_H
#define KARTWRIGHT_TESTS_MADE_GRID_H

#include "analysis/heat_grid.h"

#define MADE_CELL_S 0.1
#define MADE_ROUND_S 7.0

/* What is special about a moment.
 *
 * hot_c   by so much the gas is hotter than a warm pipe has it.
 * rise    how RPM rises under load, as a share of what it usually does.
 * stands  the foot is off the throttle, whatever the round. */
struct made_moment {
    double hot_c;
    double rise;
    bool stands;
};
typedef struct made_moment made_moment_at(const void *what, double time_s);

/* level_c  level_c[grid.n]: what is expected of a warm pipe. */
struct made_grid {
    struct kw_heat_grid grid;
    double *level_c;
};

/* Fails the test where there is no memory.
 *
 * pipe_s  time constant of the warm-up. */
void made_grid_new(size_t n_cells,
                   double pipe_s,
                   made_moment_at *at,
                   const void *what,
                   struct made_grid *out);
void made_grid_free(struct made_grid *made);

/* Seconds that still teach. */
double made_grid_teaching_s(const struct made_grid *made);

/* How pulls differ, in units of their scatter. */
double made_grid_scatter(double time_s);

#endif
