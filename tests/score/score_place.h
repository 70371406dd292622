/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps against the truth: is every boundary at one place of the track?
 *
 * A boundary's place is where the kart truly was then (metres along the track,
 * modulo its length). With a known line the place must be 0; otherwise the
 * session's own median place will do, whatever it is.
 */
#ifndef SCORE_PLACE_H
#define SCORE_PLACE_H

#include "score_case.h"

struct score_lap_result {
    bool strictly_exact; /* as many flying laps as between true passings */
    bool exact;          /* or as between passings of the place it chose */
    double place_m;      /* the place, NAN without boundaries */
    double *error_s;     /* one for each boundary, absolute */
    size_t n_errors;
};

/* Metres at a time, and the time of passing `metres` (NAN = never). */
double score_metres_at(const struct score_progress *progress, double time_s);
double score_time_at(const struct score_progress *progress, double metres);

/* Median of places on a loop of length_m: the candidate with the least sum of
 * distances round the loop. n > 0. */
double score_loop_median(const double *place_m, size_t n, double length_m);

/* error_s is owned by the caller. */
struct score_lap_result score_laps_judge(const struct score_labels *labels,
                                         const struct score_laps *found);

#endif
