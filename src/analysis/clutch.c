/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clutch engagements: the starts that were found, as events with their energy
 * and their evidence.
 *
 * A centrifugal clutch takes hold at the RPM at which its shoes carry the
 * engine's torque. A start that takes longer than it did last month, or holds
 * higher, is a worn or a wet lining; one start alone says nothing. */
#include "analysis/detectors.h"

#include "analysis/clutch_energy.h"
#include "analysis/clutch_start.h"
#include "core/text.h"

#include <math.h>

/* How sure: slip seen in the speed; a knee in RPM; a lift ended the hold. */
static const double SURE_BY_SPEED = 0.97;
static const double SURE_BY_KNEE = 0.93;
static const double SURE_BY_HOLD = 0.75;

/* Points along the start that the energy is added up from. */
enum { POINTS = 200 };

/* The reading that stood at that moment, not one between two: a clutch trace
 * has steps that a straight line would round off. */
static double engine_at(const struct kw_session *session,
                        double time_s,
                        size_t *at)
{
    while (*at + 1 < session->n_samples && session->time_s[*at + 1] <= time_s)
        (*at)++;
    return session->rpm[*at];
}

/* The kart gathers speed steadily while the clutch slips: what the slip costs
 * hangs on the two ends, hardly on the way between them. */
static double slip_energy_kj(const struct kw_scene *scene,
                             const struct kw_start *start)
{
    const struct kw_profile *profile = scene->profile;
    const double gearing = kw_profile_gearing(profile);
    if (!(profile->mass_kg > 0.0) || !(profile->tyre_circumference_m > 0.0) ||
        !(gearing > 0.0))
        return NAN;
    const struct kw_driven_side kart = kw_kart_as_flywheel(
        profile->mass_kg, profile->tyre_circumference_m, gearing);
    double time_s[POINTS], engine_rpm[POINTS], driven_rpm[POINTS];
    const double from_rpm = isnan(start->axle_rpm) ? 0.0 : start->axle_rpm;
    const double for_s = start->locked_s - start->start_s;
    size_t at = 0;
    for (size_t i = 0; i < POINTS; i++) {
        const double part = (double)i / (double)(POINTS - 1);
        time_s[i] = start->start_s + part * for_s;
        const double rpm = engine_at(scene->session, time_s[i], &at);
        engine_rpm[i] = isnan(rpm) ? start->hold_rpm : rpm;
        /* Up to 3 % below the hold: there engine and axle count as turning
         * together (contract). */
        driven_rpm[i] = from_rpm + part * (0.97 * start->hold_rpm - from_rpm);
    }
    return kw_slip_energy_j(&kart, time_s, engine_rpm, driven_rpm, POINTS) /
           1000.0;
}

/* How it was seen, not how large it is: a start has no size that would make it
 * likelier. */
static double confidence_of(const struct kw_start *start)
{
    if (start->by_speed)
        return SURE_BY_SPEED;
    return isnan(start->climb_rpm_s) ? SURE_BY_HOLD : SURE_BY_KNEE;
}

/* In the order in which the driver felt it. */
static void add_evidence(struct kw_text *text, const struct kw_start *start)
{
    kw_text_add(text, "RPM rose from idle, held at ");
    kw_text_add_whole(text, start->hold_rpm);
    kw_text_add(text, " for ");
    kw_text_add_number(text, start->locked_s - start->start_s, 2);
    if (start->by_speed)
        kw_text_add(text, " s while the kart gathered speed, and then went "
                          "with it.");
    else if (isnan(start->climb_rpm_s))
        kw_text_add(text, " s, and the driver lifted before it climbed.");
    else {
        kw_text_add(text, " s, and then climbed by ");
        kw_text_add_whole(text, start->climb_rpm_s);
        kw_text_add(text, " RPM a second, as fast as a kart can.");
    }
}

/* Only ever something to watch: that a clutch takes hold is no fault, and a
 * trend of many starts says more than one slow one. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_start *start,
                           struct kw_events *found,
                           struct kw_error *error)
{
    struct kw_text text = {0};
    add_evidence(&text, start);
    const struct kw_event event = {
        .kind = KW_CLUTCH_ENGAGEMENT,
        .start_s = start->start_s,
        .end_s = start->locked_s,
        .lap = kw_lap_at(scene->laps, start->start_s),
        .severity = KW_WATCH,
        .confidence = confidence_of(start),
        .detail.engagement = {.start_rpm = start->start_rpm,
                              .hold_rpm = start->hold_rpm,
                              .slip_energy_kj = slip_energy_kj(scene, start),
                              .method = start->by_speed ? KW_CLUTCH_BY_SPEED
                                                        : KW_CLUTCH_BY_RPM},
    };
    return kw_events_tell(found, &event, &text, error);
}

/* Where they are is found in clutch_start.c; here they become events. */
enum kw_status kw_find_clutch_engagements(const struct kw_scene *scene,
                                          struct kw_events *found,
                                          struct kw_error *error)
{
    struct kw_drive own;
    const struct kw_drive *drive;
    struct kw_starts starts = {0};
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status != KW_OK)
        return status;
    status = kw_find_starts(scene, drive, &starts, error);
    for (size_t i = 0; status == KW_OK && i < starts.n; i++)
        status = tell(scene, &starts.items[i], found, error);
    kw_starts_free(&starts);
    kw_drive_free(&own);
    return status;
}
