/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line across the track, and the moment in which the kart came over it. */
#ifndef KARTWRIGHT_ANALYSIS_TRACK_LINE_H
#define KARTWRIGHT_ANALYSIS_TRACK_LINE_H

#include "analysis/lap_axis.h"
#include "kartwright/profile.h"
#include "kartwright/session.h"

#include <stdbool.h>

/* Through (x_m, y_m) on the session's plane; the kart goes east, north (a unit
 * vector) there; half_m of its width to both sides, stated_m of which are the
 * line as the owner measured it. */
struct kw_track_line {
    double x_m;
    double y_m;
    double east;
    double north;
    double half_m;
    double stated_m;
};

/* How far beyond the line a place is (before it: negative), and how far to the
 * left of its middle. */
double kw_beyond_line_m(const struct kw_track_line *line,
                        double x_m,
                        double y_m);
double kw_beside_line_m(const struct kw_track_line *line,
                        double x_m,
                        double y_m);

/* The start/finish line that the profile states, seen one way, on the session's
 * plane.
 *
 * x_m, y_m  filled in: its two ends as stated.
 * returns   false where the profile has none, or both ends are one place. */
bool kw_line_of_profile(const struct kw_session *session,
                        const struct kw_profile *profile,
                        double x_m[2],
                        double y_m[2],
                        struct kw_track_line *line);

/* When the kart came over the line, near a time that is known to a fix or two.
 *
 * axis     the way done, which steadies the fit where the kart brakes; may be
 *          NULL.
 * returns  guess_s where too few fixes are around to tell better. */
double kw_line_passed_s(const struct kw_session *session,
                        const struct kw_lap_axis *axis,
                        const struct kw_track_line *line,
                        double guess_s);

#endif
