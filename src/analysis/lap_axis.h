/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Distance without a distance sensor: the axis on which laps repeat.
 *
 * A driver who is slow takes longer, but the track stays as long as it was. So
 * laps are looked for over distance and not over time: the integral of speed,
 * or, with RPM alone, of RPM while the clutch is locked, which is the turns of
 * the engine and so the way of the kart. Standing still adds nothing.
 */
#ifndef KARTWRIGHT_ANALYSIS_LAP_AXIS_H
#define KARTWRIGHT_ANALYSIS_LAP_AXIS_H

#include "kartwright/session.h"

enum kw_pace_source { KW_PACE_SPEED, KW_PACE_RPM };

/* pace      pace[n_samples]: speed or RPM as a share of its usual highest;
 *           short losses of the signal bridged; NAN where nothing is known.
 * way       way[n_samples]: integral of pace over the time that the kart
 *           drives, in seconds at full pace; never falls.
 * drives    below this share of full pace the kart stands or idles.
 * creeps    above this one it may be on its way out of the pits.
 * top       full pace, in the channel's own unit.
 * spans     the stretches of driving, in samples; a short stand-still does not
 *           end one. */
struct kw_lap_axis {
    enum kw_pace_source source;
    size_t n;
    const double *time_s;
    double *pace;
    double *way;
    double drives;
    double creeps;
    double top;
    struct kw_spans spans;
};

/* true when the session has that channel with something in it. */
bool kw_lap_axis_possible(const struct kw_session *session,
                          enum kw_pace_source source);

/* Builds the axis.
 *
 * out      the caller frees it with kw_lap_axis_free(). No spans where the kart
 *          never drives. Keeps the session's time_s.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_lap_axis_new(const struct kw_session *session,
                               enum kw_pace_source source,
                               struct kw_lap_axis *out,
                               struct kw_error *error);
void kw_lap_axis_free(struct kw_lap_axis *axis);

/* The way at a time, and the time at which a way was done (the first such
 * time); both interpolated between samples and held at the ends. */
double kw_lap_axis_way_at(const struct kw_lap_axis *axis, double time_s);
double kw_lap_axis_time_at(const struct kw_lap_axis *axis, double way);

/* When the kart last stood still before a time, and first after it: the moment
 * it drove off, or came to rest; the log's own ends where it did neither. */
double kw_lap_axis_drive_off_s(const struct kw_lap_axis *axis, double time_s);
double kw_lap_axis_rest_s(const struct kw_lap_axis *axis, double time_s);

/* The last sample at or before a time; 0 when there is none. */
size_t kw_sample_at(const double *time_s, size_t n, double at_s);

/* The most samples that can be picked from time_s[n] with at least apart_s from
 * each one to the next: room for them, far less than n in a quick log. */
size_t kw_most_samples(const double *time_s, size_t n, double apart_s);

#endif
