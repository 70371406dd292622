/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Air that the carburettor does not meter: the engine idles too high, because
 * it gets more air than the idle screw lets in. How high it should idle only
 * the owner knows; without the profile's idle nothing is said. */
#include "analysis/detectors.h"

#include "analysis/gearing.h"
#include "core/text.h"

#include <math.h>

/* An idle this many times the stated one is high, and for certain from the
 * second. An idle wanders by some 5 %, and owners write down a round number or
 * last year's: less than a quarter more is no leak (common practice, no
 * source).
 */
static const double HIGH_IDLE = 1.25;
static const double FAR_TOO_HIGH = 1.6;
/* The engine has to have idled like that for so long, in all. */
static const double LEAST_S = 3.0;
/* Idling: within this share of the idle that was seen. */
static const double NEAR_IDLE = 0.08;
/* From these shares on it is no idle: the clutch takes hold at the RPM that the
 * profile states, and air alone raises no idle by so much (common practice, no
 * source). */
static const double NEAR_CLUTCH = 0.9;
static const double NO_IDLE = 1.8;
/* How sure, from HIGH_IDLE to FAR_TOO_HIGH: a set screw raises an idle a little
 * as well (common practice, no source). */
static const double LEAST_SURE = 0.7;
static const double SURER = 0.2;

/* Idling at the height that was seen. */
struct idling {
    double seconds;
    double first_s;
    double last_s;
};

/* An engine that leaks air idles high whenever it idles: all of it counts, from
 * the first moment to the last. */
static struct idling add_up(const struct kw_session *session, double idle_rpm)
{
    struct idling idling = {0.0, NAN, NAN};
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!(fabs(session->rpm[i] - idle_rpm) < NEAR_IDLE * idle_rpm))
            continue;
        idling.seconds += 1.0 / session->rate_hz;
        idling.last_s = session->time_s[i];
        if (isnan(idling.first_s))
            idling.first_s = session->time_s[i];
    }
    return idling;
}

/* A little high may be the set screw; far too high is air past the throttle,
 * and air that no jet meters makes the whole engine lean. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_drive *drive,
                           const struct idling *idling,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const double share = drive->idle_seen_rpm / scene->profile->idle_rpm;
    struct kw_text text = {0};
    kw_text_add(&text, "The engine idled at ");
    kw_text_add_whole(&text, drive->idle_seen_rpm);
    kw_text_add(&text, " RPM for ");
    kw_text_add_number(&text, idling->seconds, 0);
    kw_text_add(&text, " s and went no lower; the profile says ");
    kw_text_add_whole(&text, scene->profile->idle_rpm);
    kw_text_add(&text, ".");
    const struct kw_event event = {
        .kind = KW_AIR_LEAK,
        .start_s = idling->first_s,
        .end_s = idling->last_s,
        .severity =
            share > FAR_TOO_HIGH ? KW_BEFORE_NEXT_RUN : KW_BEFORE_NEXT_RACE,
        .confidence =
            LEAST_SURE +
            SURER * fmin((share - HIGH_IDLE) / (FAR_TOO_HIGH - HIGH_IDLE), 1.0),
    };
    return kw_events_tell(found, &event, &text, error);
}

/* Only against what the owner states: how high an engine ought to idle is not
 * in the log. */
enum kw_status kw_find_air_leak(const struct kw_scene *scene,
                                struct kw_events *found,
                                struct kw_error *error)
{
    if (!(scene->profile->idle_rpm > 0.0))
        return KW_OK;
    struct kw_drive own;
    const struct kw_drive *drive;
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status != KW_OK)
        return status;
    if (drive->idle_seen_rpm > HIGH_IDLE * scene->profile->idle_rpm) {
        const struct idling idling =
            add_up(scene->session, drive->idle_seen_rpm);
        /* Not the other way round: the profile may not state the clutch. */
        const bool is_idle =
            !(drive->idle_seen_rpm >
              NEAR_CLUTCH * scene->profile->clutch_rpm) &&
            drive->idle_seen_rpm < NO_IDLE * scene->profile->idle_rpm;
        if (is_idle && idling.seconds >= LEAST_S)
            status = tell(scene, drive, &idling, found, error);
    }
    kw_drive_free(&own);
    return status;
}
