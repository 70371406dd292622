/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the start/finish line was passed: what every source of laps finds. */
#ifndef KARTWRIGHT_ANALYSIS_LAP_PASSINGS_H
#define KARTWRIGHT_ANALYSIS_LAP_PASSINGS_H

#include "analysis/lap_axis.h"
#include "analysis/lap_course.h"
#include "kartwright/profile.h"

/* time_s    rising.
 * wander_s  how far the source is off at most, as a standard deviation; NAN
 *           where the source does not tell.
 * line_*    the line's ends on the session's plane, where position found it. */
struct kw_passings {
    double *time_s;
    size_t n;
    size_t capacity;
    double wander_s;
    double line_x_m[2];
    double line_y_m[2];
};

enum kw_status kw_passings_add(struct kw_passings *passings,
                               double time_s,
                               struct kw_error *error);
void kw_passings_free(struct kw_passings *passings);

/* From the lap-number or the lap-marker column (lap_column.c). None where the
 * session has neither, or they tell nothing. */
enum kw_status kw_passings_by_column(const struct kw_session *session,
                                     struct kw_passings *out,
                                     struct kw_error *error);

/* What passings by position are found with.
 *
 * axis        may be NULL; the way steadies the fit of the path near the line.
 * out_and_in  turns of out lap and in lap together (lap_drive.h), which a line
 *             of our own goes by; 1 where nothing is known of them. */
struct kw_line_search {
    const struct kw_session *session;
    const struct kw_profile *profile;
    const struct kw_lap_axis *axis;
    double out_and_in;
};

/* From position: against the profile's line, or one across the track where the
 * kart is fast and comes by again and again (lap_position.c). None where the
 * session has no position. */
enum kw_status kw_passings_by_position(const struct kw_line_search *with,
                                       struct kw_passings *out,
                                       struct kw_error *error);

/* From the pattern of pace alone (lap_pattern.c).
 *
 * course  filled in, n is 0 where there are no laps; the caller frees it with
 *         kw_lap_course_free(). */
enum kw_status kw_passings_by_pattern(const struct kw_lap_axis *axis,
                                      struct kw_passings *out,
                                      struct kw_lap_course *course,
                                      struct kw_error *error);

#endif
