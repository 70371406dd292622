/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Air that the carburettor does not meter: the engine idles too high, because
 * it gets more air than the idle screw lets in. How high it should idle only
 * the owner knows, or a good day of the same engine: without the profile's idle
 * and without a reference nothing is said. */
#include "analysis/detectors.h"

#include "analysis/gearing.h"
#include "core/text.h"

#include <math.h>

/* An idle this many times the sound one is high, and for certain from the
 * second. An idle wanders by some 5 %, and owners write down a round number or
 * last year's: less than a fifth more is no leak (common practice, no source).
 */
static const double HIGH_IDLE = 1.2;
static const double FAR_TOO_HIGH = 1.6;
/* The engine has to have idled like that for so long, in all. */
static const double LEAST_S = 3.0;
/* Idling: within this share of the idle that was seen. */
static const double NEAR_IDLE = 0.08;
/* Near where the clutch takes hold a stay may be a clutch that slips at little
 * throttle; but not where it was seen to hold so much higher (common practice,
 * no source). */
static const double NEAR_CLUTCH = 0.9;
static const double HOLDS_ABOVE = 1.1;
/* How sure, from HIGH_IDLE to FAR_TOO_HIGH: a set screw raises an idle a little
 * as well (common practice, no source). */
static const double LEAST_SURE = 0.6;
static const double SURER = 0.3;

/* Idling at the height that was seen: rpm is its mean. */
struct idling {
    double rpm;
    double seconds;
    double first_s;
    double last_s;
};

/* An engine that leaks air idles high whenever it idles: all of it counts, from
 * the first moment to the last. */
static struct idling add_up(const struct kw_session *session, double seen_rpm)
{
    struct idling idling = {0.0, 0.0, NAN, NAN};
    double sum_rpm = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!(fabs(session->rpm[i] - seen_rpm) < NEAR_IDLE * seen_rpm))
            continue;
        sum_rpm += session->rpm[i];
        n++;
        idling.last_s = session->time_s[i];
        if (isnan(idling.first_s))
            idling.first_s = session->time_s[i];
    }
    idling.rpm = n > 0 ? sum_rpm / (double)n : NAN;
    idling.seconds = (double)n / session->rate_hz;
    return idling;
}

/* How the engine idles where it is sound.
 *
 * rpm          NAN where nobody knows.
 * on_good_day  seen in the reference, and not stated. */
struct sound_idle {
    double rpm;
    bool on_good_day;
};

/* As the reference shows it; NAN where it shows none. */
static enum kw_status idle_of_reference(const struct kw_scene *scene,
                                        double *rpm,
                                        struct kw_error *error)
{
    *rpm = NAN;
    if (scene->reference == NULL)
        return KW_OK;
    const struct kw_scene good_day = {.session = scene->reference,
                                      .profile = scene->profile};
    struct kw_drive drive;
    if (kw_find_drive(&good_day, &drive, error) != KW_OK)
        return KW_NO_MEMORY;
    const struct idling idling = add_up(scene->reference, drive.idle_seen_rpm);
    if (idling.seconds >= LEAST_S)
        *rpm = idling.rpm;
    kw_drive_free(&drive);
    return KW_OK;
}

/* The higher where both are known: an engine that idled like that on a good day
 * has a profile that nobody brought up to date. */
static enum kw_status find_sound_idle(const struct kw_scene *scene,
                                      struct sound_idle *sound,
                                      struct kw_error *error)
{
    *sound = (struct sound_idle){scene->profile->idle_rpm, false};
    double reference_rpm;
    if (idle_of_reference(scene, &reference_rpm, error) != KW_OK)
        return KW_NO_MEMORY;
    if (!isnan(reference_rpm) && !(sound->rpm > reference_rpm))
        *sound = (struct sound_idle){reference_rpm, true};
    return KW_OK;
}

/* The lowest RPM at which the clutch held the engine at a start; NAN without a
 * start. */
static double lowest_hold_rpm(const struct kw_events *events)
{
    double lowest = NAN;
    for (size_t i = 0; i < events->n; i++) {
        if (events->items[i].kind == KW_CLUTCH_ENGAGEMENT)
            lowest = fmin(lowest, events->items[i].detail.engagement.hold_rpm);
    }
    return lowest;
}

/* The engine's lowest stay may be no idle: a clutch that slips, or a kart
 * without one in a slow bend. The owner who states an idle states that it has
 * one; a reference alone does not. */
static bool is_idle(const struct kw_scene *scene,
                    const struct sound_idle *sound,
                    double rpm)
{
    const double clutch_rpm = scene->profile->clutch_rpm;
    if (rpm > KW_NO_IDLE_TIMES * sound->rpm || rpm > clutch_rpm)
        return false;
    if (lowest_hold_rpm(scene->events) > HOLDS_ABOVE * rpm)
        return true;
    return sound->on_good_day ? rpm < NEAR_CLUTCH * clutch_rpm
                              : !(rpm > NEAR_CLUTCH * clutch_rpm);
}

/* A little high may be the set screw; far too high is air past the throttle,
 * and air that no jet meters makes the whole engine lean. */
static enum kw_status tell(const struct sound_idle *sound,
                           const struct idling *idling,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const double times = idling->rpm / sound->rpm;
    struct kw_text text = {0};
    kw_text_add(&text, "The engine idled at ");
    kw_text_add_whole(&text, idling->rpm);
    kw_text_add(&text, " RPM for ");
    kw_text_add_number(&text, idling->seconds, 0);
    kw_text_add(&text, " s and went no lower; ");
    kw_text_add(&text, sound->on_good_day ? "in the reference session it "
                                            "idled at "
                                          : "the profile says ");
    kw_text_add_whole(&text, sound->rpm);
    kw_text_add(&text, ".");
    const struct kw_event event = {
        .kind = KW_AIR_LEAK,
        .start_s = idling->first_s,
        .end_s = idling->last_s,
        .severity =
            times > FAR_TOO_HIGH ? KW_BEFORE_NEXT_RUN : KW_BEFORE_NEXT_RACE,
        .confidence =
            LEAST_SURE +
            SURER * fmin((times - HIGH_IDLE) / (FAR_TOO_HIGH - HIGH_IDLE), 1.0),
    };
    return kw_events_tell(found, &event, &text, error);
}

/* Only against what the owner states or a good day shows: how high an engine
 * ought to idle is not in the log. */
enum kw_status kw_find_air_leak(const struct kw_scene *scene,
                                struct kw_events *found,
                                struct kw_error *error)
{
    struct kw_drive own;
    const struct kw_drive *drive;
    struct sound_idle sound;
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status != KW_OK)
        return status;
    status = find_sound_idle(scene, &sound, error);
    if (status == KW_OK) {
        const struct idling idling =
            add_up(scene->session, drive->idle_seen_rpm);
        if (idling.rpm > HIGH_IDLE * sound.rpm && idling.seconds >= LEAST_S &&
            is_idle(scene, &sound, idling.rpm))
            status = tell(&sound, &idling, found, error);
    }
    kw_drive_free(&own);
    return status;
}
