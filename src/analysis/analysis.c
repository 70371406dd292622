/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened: the stages of the analysis, in order. A new detector is a row
 * of the table below.
 *
 * Each stage stands on the ones before it: when the engine ran, when it pulled,
 * which lap a moment belongs to, how hot the gas should be there, and how the
 * drive turns. Only then can a detector say that something departs from it. */
#include "analysis/analysis.h"

#include "analysis/detectors.h"
#include "analysis/gearing.h"
#include "analysis/heat.h"
#include "analysis/laps.h"
#include "analysis/load.h"
#include "analysis/reference_level.h"
#include "analysis/running.h"

#include <math.h>

/* Those that explain come before those that would tell the same thing again:
 * a slipping clutch explains RPM that is held, a drop-out explains heat and a
 * sag, a dead probe explains cold. */
static kw_detector *const detectors[] = {
    kw_find_clutch_engagements,
    kw_find_dropouts,
    kw_find_probe_faults,
    kw_find_lean,
    kw_find_rich,
    kw_find_exhaust_leak,
    kw_find_clutch_slip,
    kw_find_chain_jumps,
    kw_find_seizure_onset,
    kw_find_air_leak,
};

enum { N_DETECTORS = sizeof detectors / sizeof detectors[0] };

/* Each detector fills a list of its own: one that fails, or is stopped half
 * way, leaves nothing in the review. What it found is added before the next one
 * runs, so that a later one can look at what was explained already. Sorted at
 * the end and not before: the events of one detector are by time, those of two
 * are not. */
static enum kw_status run_detectors(struct kw_review *review,
                                    const struct kw_scene *scene,
                                    struct kw_error *error)
{
    for (size_t i = 0; i < N_DETECTORS; i++) {
        struct kw_events found = {0};
        enum kw_status status = detectors[i](scene, &found, error);
        for (size_t k = 0; status == KW_OK && k < found.n; k++)
            status = kw_events_add(&review->events, &found.items[k], error);
        kw_events_free(&found);
        if (status != KW_OK)
            return status;
    }
    kw_events_sort(&review->events);
    return KW_OK;
}

/* The session that this one is held against, NULL for none. Held against
 * another kart's, what is different is the kart. */
static enum kw_status choose_reference(struct kw_review *review,
                                       const struct kw_review_options *known,
                                       const struct kw_session **reference,
                                       struct kw_error *error)
{
    *reference = known->reference;
    if (known->reference == NULL)
        return KW_OK;
    const enum kw_status status = kw_reference_is_of_another(
        known->reference, &review->session, review->load,
        &review->reference_is_of_another, error);
    if (review->reference_is_of_another)
        *reference = NULL;
    return status;
}

/* The scene is what a detector may know: all of it is worked out once and only
 * read from then on. Expected heat comes late because it needs load and laps;
 * the drive (engine against axle) comes last because it needs running. */
enum kw_status kw_analyse(struct kw_review *review,
                          const struct kw_review_options *known,
                          struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    const struct kw_profile *profile = known->profile;
    struct kw_pulls pulls = {0};
    enum kw_status status =
        kw_find_running(session, profile, &review->running, error);
    if (status == KW_OK)
        status = kw_find_load(session, &review->running, &review->load, &pulls,
                              error);
    if (status == KW_OK)
        status = kw_find_laps(session, profile, &review->running, &review->laps,
                              error);
    const struct kw_session *reference = NULL;
    if (status == KW_OK)
        status = choose_reference(review, known, &reference, error);
    struct kw_scene scene = {
        .session = session,
        .profile = profile,
        .reference = reference,
        .since_reference = known->since_reference,
        .running = &review->running,
        .laps = &review->laps,
        .load = review->load,
        .pulls = &pulls,
        .events = &review->events,
        .notices = &review->session.notices,
    };
    if (status == KW_OK)
        status =
            kw_expect_heat(&scene, &review->expected_c,
                           &review->expected_spread_c, &scene.changed, error);
    scene.expected_c = review->expected_c;
    scene.expected_spread_c = review->expected_spread_c;
    struct kw_reference_level level = {NAN, NULL, NAN};
    if (status == KW_OK)
        status = kw_level_above_reference(&scene, &level, error);
    review->above_reference_c = level.above_c;
    review->reference_c = level.gas_c;
    review->reference_spread_c = level.spread_c;
    review->egt_limit_c = profile->egt_limit_c;
    struct kw_drive drive = {0};
    if (status == KW_OK)
        status = kw_find_drive(&scene, &drive, error);
    scene.drive = &drive;
    review->locked_rpm_per_m_s =
        drive.axle_rpm != NULL && drive.rpm_per_m_s > 0.0 ? drive.rpm_per_m_s
                                                          : NAN;
    if (status == KW_OK)
        status = run_detectors(review, &scene, error);
    kw_drive_free(&drive);
    kw_pulls_free(&pulls);
    return status;
}
