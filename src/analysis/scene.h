/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a detector may look at, and the shape that every detector has.
 *
 * A detector is one file with one entry of type kw_detector: it looks at the
 * scene, adds what it found to the list of events, and knows of no other
 * detector. The table in analysis.c runs them in order; a detector may read the
 * events of those before it (heat that belongs to a fuel restriction is told
 * under drop-outs, not twice).
 */
#ifndef KARTWRIGHT_ANALYSIS_SCENE_H
#define KARTWRIGHT_ANALYSIS_SCENE_H

#include "core/text.h"
#include "kartwright/review.h"

/* A stretch under load: the driver asks for power and the engine gives it.
 *
 * span      samples, from is in, to is out.
 * complete  it ended with a lift and not with the end of the data or a gap. */
struct kw_pull {
    struct kw_span span;
    bool complete;
};

struct kw_pulls {
    struct kw_pull *items;
    size_t n;
    size_t capacity;
};

/* Everything but notices is const, rising in time and owned by the review.
 *
 * profile      never NULL: a profile that states nothing where none was given.
 * reference, since_reference  as in struct kw_review_options; NULL where none
 *              was given.
 * load         see struct kw_review; NULL where it cannot be told.
 * pulls        the stretches where load is 1.
 * expected_c, expected_spread_c  see struct kw_review; NULL without EGT.
 * changed      a part of the session is known to be off and taught the heat
 *              model nothing.
 * drive        engine and axle, see gearing.h; NULL where nobody has learned it
 *              yet: ask kw_borrow_drive().
 * events       what the detectors before this one found.
 * notices      what a detector sets aside is told here; NULL for nobody. */
struct kw_drive;
struct kw_scene {
    const struct kw_session *session;
    const struct kw_profile *profile;
    const struct kw_session *reference;
    const char *since_reference;
    const struct kw_running *running;
    const struct kw_laps *laps;
    const double *load;
    const struct kw_pulls *pulls;
    const double *expected_c;
    const double *expected_spread_c;
    bool changed;
    const struct kw_drive *drive;
    const struct kw_events *events;
    struct kw_notices *notices;
};

/* found  events are added, none is changed. On error it may hold some.
 * returns  KW_OK; KW_NO_MEMORY. */
typedef enum kw_status kw_detector(const struct kw_scene *scene,
                                   struct kw_events *found,
                                   struct kw_error *error);

/* Adds one event, with the evidence that was put together in `evidence`, which
 * is freed.
 *
 * returns  KW_OK; KW_NO_MEMORY, also where putting it together ran out. */
enum kw_status kw_events_tell(struct kw_events *events,
                              const struct kw_event *event,
                              struct kw_text *evidence,
                              struct kw_error *error);

/* The first sample within so many seconds before another. */
size_t kw_sample_before(const struct kw_session *session,
                        size_t i,
                        double back_s);

/* The lap that a time falls in, and its number.
 *
 * laps     may be NULL.
 * returns  NULL, and 0, where there is none. */
const struct kw_lap *kw_lap_holding(const struct kw_laps *laps, double time_s);
size_t kw_lap_at(const struct kw_laps *laps, double time_s);

#endif
