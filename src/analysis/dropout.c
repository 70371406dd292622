/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drop-outs: of the signal or the spark first, which no driver can cause; then
 * of the fuel, in what is left.
 *
 * The two call for different evenings: a jump within a reading or two is a
 * wire, since a mass that turns cannot stop at once; an engine that falls
 * behind over a second with its exhaust hot is short of fuel. */
#include "analysis/detectors.h"

#include "analysis/dropout_fuel.h"
#include "analysis/dropout_signal.h"
#include "analysis/gearing.h"
#include "analysis/rate_limit.h"
#include "core/notices.h"

#include <math.h>
#include <stdlib.h>

/* A contact that bounces comes and goes several times in a moment. Closer than
 * this is one drop-out to anybody who looks (common practice, no source). */
static const double BOUNCE_S = 0.34;

/* Losses of one moment become one: it is as deep as the deepest and as certain
 * as the most certain, and says what the first one said. */
static void join_bounces(struct kw_events *found)
{
    kw_events_sort(found);
    size_t kept = 0;
    for (size_t i = 0; i < found->n; i++) {
        struct kw_event *next = &found->items[i];
        struct kw_event *last = kept > 0 ? &found->items[kept - 1] : NULL;
        if (last == NULL || next->start_s - last->end_s >= BOUNCE_S) {
            found->items[kept++] = *next;
            continue;
        }
        last->end_s = fmax(last->end_s, next->end_s);
        last->confidence = fmax(last->confidence, next->confidence);
        last->detail.dropout.depth_rpm = fmax(last->detail.dropout.depth_rpm,
                                              next->detail.dropout.depth_rpm);
        last->detail.dropout.one_reading = false;
        free(next->evidence);
    }
    found->n = kept;
}

/* What is seen in one reading may have been shorter than a drop-out: a glitch,
 * and no more than a notice (contract: what is below 0.05 s). Beside a loss
 * that lasted it is the same wire, and so are many of them: so many at least,
 * and one in less than so long (common practice, no source). */
enum { MANY_READINGS = 4 };
static const double COMMON_EACH_S = 150.0;

/* How many there are; 0 where they are believed. */
static size_t count_glitches(const struct kw_session *session,
                             const struct kw_events *found)
{
    const double log_s = session->time_s[session->n_samples - 1];
    const double many = fmax(MANY_READINGS, log_s / COMMON_EACH_S);
    size_t n = 0;
    for (size_t i = 0; i < found->n; i++) {
        const struct kw_dropout *dropout = &found->items[i].detail.dropout;
        if (dropout->cause == KW_CAUSE_LOOSE_CONNECTION &&
            !dropout->one_reading)
            return 0;
        n += dropout->one_reading ? 1 : 0;
    }
    return (double)n < many ? n : 0;
}

static enum kw_status tell_glitches(const struct kw_scene *scene,
                                    size_t n,
                                    double first_s,
                                    struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_addf(&text, "RPM: %zu odd reading%s, %s ", n, n == 1 ? "" : "s",
                 n == 1 ? "at" : "the first at");
    kw_text_add_number(&text, first_s, 1);
    kw_text_add(&text,
                " s, not counted as drop-outs: too brief to tell a glitch "
                "from a loose wire. If more come, look at the wires");
    return kw_notices_tell(scene->notices, 0, &text, error);
}

/* Last: until then they tell the others where RPM was not the engine's. */
static enum kw_status set_glitches_aside(const struct kw_scene *scene,
                                         struct kw_events *found,
                                         struct kw_error *error)
{
    const size_t n_glitches = count_glitches(scene->session, found);
    double first_s = INFINITY;
    size_t kept = 0;
    if (n_glitches == 0)
        return KW_OK;
    for (size_t i = 0; i < found->n; i++) {
        if (found->items[i].detail.dropout.one_reading) {
            first_s = fmin(first_s, found->items[i].start_s);
            free(found->items[i].evidence);
        } else {
            found->items[kept++] = found->items[i];
        }
    }
    found->n = kept;
    return scene->notices != NULL
               ? tell_glitches(scene, n_glitches, first_s, error)
               : KW_OK;
}

/* The axle is asked where the log has its speed. */
static enum kw_status find_loose_connections(
    const struct kw_scene *scene,
    const struct kw_rate_limits *limits,
    struct kw_events *found,
    struct kw_error *error)
{
    struct kw_drive own;
    const struct kw_drive *drive;
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status != KW_OK)
        return status;
    const struct kw_rpm_search search = {
        .session = scene->session,
        .limits = limits,
        .axle_rpm = drive->axle_rpm,
        .axle_scatter = drive->scatter,
        .idle_rpm = drive->idle_rpm,
        .is_driven = scene->laps != NULL && scene->laps->n > 0,
    };
    status = kw_find_signal_dropouts(scene, &search, found, error);
    if (status == KW_OK)
        status = kw_find_frozen_signal(scene, &search, found, error);
    if (status == KW_OK)
        status = kw_find_scattered_signal(scene, &search, found, error);
    if (status == KW_OK)
        status = kw_find_blank_signal(scene, &search, found, error);
    if (status == KW_OK)
        status = kw_find_filtered_dropouts(scene, &search, found, error);
    if (status == KW_OK)
        status = kw_find_spark_cuts(scene, &search, found, error);
    join_bounces(found);
    kw_drive_free(&own);
    return status;
}

/* Without a top end the engine never ran, and nothing can drop out. */
enum kw_status kw_find_dropouts(const struct kw_scene *scene,
                                struct kw_events *found,
                                struct kw_error *error)
{
    struct kw_rate_limits limits;
    enum kw_status status =
        kw_find_rate_limits(scene->session, scene->profile, &limits, error);
    if (status != KW_OK || isnan(limits.top_rpm))
        return status;
    status = find_loose_connections(scene, &limits, found, error);
    if (status == KW_OK)
        status = kw_find_fuel_dropouts(scene, &limits, found, error);
    if (status == KW_OK)
        status = set_glitches_aside(scene, found, error);
    return status;
}
