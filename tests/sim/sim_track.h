/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The track: a closed line of straights and circular bends.
 *
 * sim_track_build() draws a polygon that does not cross itself, rounds its
 * corners with arcs and turns the list of pieces so that the start line (place
 * 0) lies on a straight. Everything that depends on the place is a table with
 * steps of about half a metre; the tables wrap round.
 */
#ifndef SIM_TRACK_H
#define SIM_TRACK_H

#include "sim_random.h"

struct sim_track {
    double length_m;
    double step_m; /* length_m / n */
    size_t n;
    double *x_m; /* east of the track's middle */
    double *y_m; /* north */
    double *heading_rad;
    double *curvature_1_m; /* along the line that is driven: smoothed */
    double *slope;         /* metres up for each metre along */
    double closing_error_m;
};

/* length_m  the length of one lap; the draw is repeated until it fits.
 * random    the stream for tracks. The caller frees with sim_track_free(). */
struct sim_track sim_track_build(struct sim_random *random, double length_m);

/* A straight road without end, for a drive round the yard. */
struct sim_track sim_track_straight(double length_m);
void sim_track_free(struct sim_track *track);

/* `table` of the track at `place_m`, between two steps by proportion. */
double sim_track_at(const struct sim_track *track,
                    const double *table,
                    double place_m);

/* A point `aside_m` left of the line at `place_m`. */
void sim_track_point(const struct sim_track *track,
                     double place_m,
                     double aside_m,
                     double *x_m,
                     double *y_m);

#endif
