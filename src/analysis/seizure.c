/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The piston picks up: in a hot pull RPM falls against an open throttle and the
 * engine stops, without a lift and without idling first; or it falls for
 * seconds and never comes back (seizure_drag.c), or dies on the move after lean
 * pulls (seizure_stop.c). A driver who switches off or stalls has lifted, and
 * the exhaust was no hotter than on other laps. */
#include "analysis/detectors.h"

#include "analysis/gearing.h"
#include "analysis/seizure_drag.h"
#include "analysis/seizure_stop.h"
#include "core/array.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* So long before the engine stopped the heat is looked for. */
static const double HOT_WITHIN_S = 5.0;
/* Before it stopped RPM did not fall as under brakes: less than this share of
 * the highest RPM each second, over this time. */
static const double BRAKING_EACH_S = 0.22;
static const double BEFORE_S = 1.5;
/* And it did fall: a lead that comes off leaves RPM as it was until then. */
static const double LEAST_FALL = 0.02;
/* It turned this fast, as a share of the highest RPM, at most so long (and two
 * readings) before it stood. */
static const double WORKING = 0.35;
static const double STOPS_IN_S = 0.7;
/* Hot: gas beyond this quantile of what the session shows under load, for so
 * long. Whether the load can still be told while the piston drags is another
 * matter: it is not asked for. */
static const double HOT_QUANTILE = 0.9;
static const double HOT_S = 0.3;
static const double CLEAR_EXCESS_C = 20.0;
/* How sure, with an excess as clear as that and without: a hot pull may end in
 * a broken chain or a pulled plug cap as well (common practice, no source). */
static const double SURE_BY_EXCESS = 0.85;
static const double SURE_WITHOUT = 0.6;
/* And where RPM fell for seconds in hot gas, by judgement: a want of fuel that
 * comes once looks like it. */
static const double SURE_BY_DRAG = 0.75;
/* And where it died on the move after lean pulls: he may have switched it off
 * (by judgement). */
static const double SURE_BY_STOP = 0.65;
/* And still hot at the end: a driver who brakes and stalls has let it cool for
 * seconds. Looked at for this long before the engine stopped working, and
 * halfway between the gas of no load and hot (common practice, no source). */
static const double STILL_S = 2.0;
static const double STILL_SHARE = 0.4;
static const double COOL_QUANTILE = 0.5;

/* Gas in this session: hot for it under load, and usual without. */
struct heat {
    double hot_c;
    double cool_c;
};

/* An end of running. last: the last sample at work. stood: the first after. */
struct end {
    size_t worked;
    size_t stood;
    size_t began;
    double hot_c;
    double excess_c;
    double hot_s;
    double last_c;
};

/* The engine went from speed to standing faster than a kart can slow. */
static bool stops_at_work(const struct kw_session *session,
                          const struct kw_drive *drive,
                          struct end *end)
{
    const size_t from = kw_sample_before(session, end->stood,
                                         STOPS_IN_S + 2.0 / session->rate_hz);
    size_t i = end->stood;
    while (i > from && !(session->rpm[i] > WORKING * drive->top_rpm))
        i--;
    end->worked = i;
    return session->rpm[i] > WORKING * drive->top_rpm;
}

/* Before the engine stopped RPM sank, but not as under brakes. */
static bool drags(const struct kw_session *session,
                  const struct kw_drive *drive,
                  const struct end *end)
{
    const size_t last = kw_sample_before(session, end->stood, STOPS_IN_S);
    const size_t first = kw_sample_before(session, last, BEFORE_S);
    const double for_s = session->time_s[last] - session->time_s[first];
    const double fall_rpm = session->rpm[first] - session->rpm[last];
    return fall_rpm > LEAST_FALL * drive->top_rpm &&
           fall_rpm < BRAKING_EACH_S * drive->top_rpm * fmax(for_s, 0.5);
}

/* Heat in the seconds before; it began with the first hot reading. */
static void look_at_heat(const struct kw_scene *scene,
                         double hot_from_c,
                         struct end *end)
{
    const struct kw_session *session = scene->session;
    const double still_from_s = session->time_s[end->worked] - STILL_S;
    const size_t from = kw_sample_before(session, end->worked, HOT_WITHIN_S);
    end->began = end->worked;
    end->hot_c = -INFINITY;
    end->excess_c = 0.0;
    end->hot_s = 0.0;
    end->last_c = NAN;
    for (size_t i = end->worked; i-- > from;) {
        const double gas_c = session->gas_c[i];
        const double excess_c =
            scene->expected_c != NULL ? gas_c - scene->expected_c[i] : NAN;
        if (session->time_s[i] >= still_from_s)
            end->last_c = fmax(end->last_c, gas_c);
        if (!(gas_c > hot_from_c))
            continue;
        end->hot_s += 1.0 / session->rate_hz;
        end->began = i;
        end->hot_c = fmax(end->hot_c, gas_c);
        end->excess_c = fmax(end->excess_c, excess_c);
    }
}

/* From where RPM was highest in the last pull it fell against the throttle. */
static size_t highest_in_pull(const struct kw_session *session,
                              const struct end *end)
{
    const size_t from = kw_sample_before(session, end->worked, HOT_WITHIN_S);
    size_t best = end->worked;
    for (size_t i = end->worked; i-- > from;) {
        if (session->rpm[i] > session->rpm[best] || isnan(session->rpm[best]))
            best = i;
    }
    return best;
}

/* Never to be run again unseen: the one event whose cost is a whole engine. */
static enum kw_status tell(const struct kw_scene *scene,
                           const struct end *end,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const size_t top = highest_in_pull(session, end);
    struct kw_text text = {0};
    kw_text_add(&text, "In a hot pull (gas ");
    kw_text_add_number(&text, end->hot_c, 0);
    kw_text_add(&text, " C) RPM fell from ");
    kw_text_add_whole(&text, session->rpm[top]);
    kw_text_add(&text, " and the engine stopped ");
    kw_text_add_number(&text,
                       session->time_s[end->stood] - session->time_s[top], 1);
    kw_text_add(&text, " s later at speed.");
    struct kw_event event = {
        .kind = KW_SEIZURE_ONSET,
        .start_s = session->time_s[end->began < top ? end->began : top],
        .end_s = session->time_s[end->stood],
        .severity = KW_BEFORE_NEXT_RUN,
        .confidence =
            end->excess_c > CLEAR_EXCESS_C ? SURE_BY_EXCESS : SURE_WITHOUT,
    };
    event.lap = kw_lap_at(scene->laps, event.start_s);
    return kw_events_tell(found, &event, &text, error);
}

/* Fills scratch with the gas under load or without.
 *
 * returns  how many. */
static size_t take_gas(const struct kw_scene *scene,
                       bool loaded,
                       double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < scene->session->n_samples; i++) {
        if (loaded ? kw_under_load(scene->load[i])
                   : kw_off_load(scene->load[i]))
            scratch[n++] = scene->session->gas_c[i];
    }
    return n;
}

/* Of this session itself: where a probe sits decides what is hot for it. */
static struct heat learn_heat(const struct kw_scene *scene, double *scratch)
{
    struct heat heat;
    size_t n = take_gas(scene, true, scratch);
    heat.hot_c = kw_quantile(scratch, n, HOT_QUANTILE, scratch);
    n = take_gas(scene, false, scratch);
    heat.cool_c = kw_quantile(scratch, n, COOL_QUANTILE, scratch);
    return heat;
}

/* In a log that shows no gas without load nothing is known of cooling. */
static bool is_still_hot(const struct heat *heat, const struct end *end)
{
    const double least_c =
        heat->cool_c + STILL_SHARE * (heat->hot_c - heat->cool_c);
    return !(end->last_c < least_c);
}

/* Only where running ends within the log. A log that ends at full throttle was
 * switched off, or taken out in the pits. */
static enum kw_status look_at_ends(const struct kw_scene *scene,
                                   const struct kw_drive *drive,
                                   const struct heat *heat,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    enum kw_status status = KW_OK;
    const struct kw_spans *runs = &scene->running->spans;
    for (size_t r = 0; status == KW_OK && r < runs->n; r++) {
        struct end end = {.stood = runs->items[r].to};
        if (end.stood >= scene->session->n_samples ||
            !stops_at_work(scene->session, drive, &end) ||
            !drags(scene->session, drive, &end))
            continue;
        look_at_heat(scene, heat->hot_c, &end);
        if (end.hot_s >= HOT_S && is_still_hot(heat, &end))
            status = tell(scene, &end, found, error);
    }
    return status;
}

/* Where the end of running did not show it. */
static enum kw_status look_for_drag(const struct kw_scene *scene,
                                    const struct kw_drive *drive,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    struct kw_drag drag;
    const enum kw_status status =
        kw_find_drag(scene, drive->top_rpm, &drag, error);
    if (status != KW_OK || drag.span.to == 0)
        return status;
    struct kw_text text = {0};
    kw_text_add(&text,
                "With the exhaust as hot as at full throttle (exhaust gas ");
    kw_text_add_number(&text, drag.gas_c, 0);
    kw_text_add(&text, " C) RPM fell from ");
    kw_text_add_whole(&text, drag.from_rpm);
    kw_text_add(&text, " to ");
    kw_text_add_whole(&text, drag.to_rpm);
    kw_text_add(&text, " in ");
    kw_text_add_number(&text, time_s[drag.span.to] - time_s[drag.span.from], 1);
    kw_text_add(
        &text,
        " s, and the engine never turned as fast again. A tank that runs "
        "empty looks the same: see to that first.");
    struct kw_event event = {
        .kind = KW_SEIZURE_ONSET,
        .start_s = time_s[drag.span.from],
        .end_s = time_s[drag.span.to],
        .severity = KW_BEFORE_NEXT_RUN,
        .confidence = SURE_BY_DRAG,
    };
    event.lap = kw_lap_at(scene->laps, event.start_s);
    return kw_events_tell(found, &event, &text, error);
}

static enum kw_status look_for_stop(const struct kw_scene *scene,
                                    const struct kw_drive *drive,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    struct kw_hot_stop stop;
    const enum kw_status status =
        kw_find_hot_stop(scene, drive->top_rpm, &stop, error);
    if (status != KW_OK || stop.span.to == 0)
        return status;
    struct kw_text text = {0};
    kw_text_add(&text, "After ");
    kw_text_add_number(&text, stop.hot_s, 0);
    kw_text_add(&text, " s of pulls with the exhaust ");
    kw_text_add_number(&text, stop.excess_c, 0);
    kw_text_add(&text, " C too hot, RPM fell from ");
    kw_text_add_whole(&text, stop.from_rpm);
    kw_text_add(&text, " to a standstill in ");
    kw_text_add_number(&text, time_s[stop.span.to] - time_s[stop.span.from], 1);
    kw_text_add(&text, " s without idling. If you switched it off on the move, "
                       "that may be all there is to it.");
    struct kw_event event = {
        .kind = KW_SEIZURE_ONSET,
        .start_s = time_s[stop.span.from],
        .end_s = time_s[stop.span.to],
        .severity = KW_BEFORE_NEXT_RUN,
        .confidence = SURE_BY_STOP,
    };
    event.lap = kw_lap_at(scene->laps, event.start_s);
    return kw_events_tell(found, &event, &text, error);
}

/* Without heat there is no telling a seizure from a switch. */
enum kw_status kw_find_seizure_onset(const struct kw_scene *scene,
                                     struct kw_events *found,
                                     struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    if (scene->session->gas_c == NULL || scene->load == NULL ||
        scene->running == NULL)
        return KW_OK;
    struct kw_drive own = {0};
    const struct kw_drive *drive;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = kw_borrow_drive(scene, &own, &drive, error);
    if (status == KW_OK) {
        const struct heat heat = learn_heat(scene, scratch);
        status = look_at_ends(scene, drive, &heat, found, error);
    }
    if (status == KW_OK && found->n == 0)
        status = look_for_drag(scene, drive, found, error);
    if (status == KW_OK && found->n == 0)
        status = look_for_stop(scene, drive, found, error);
    kw_drive_free(&own);
    free(scratch);
    return status;
}
