/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the engine works: load from the throttle where the log has one that can
 * be trusted, else from RPM, and the pulls that come of it.
 *
 * Under load RPM climbs, and heat follows; off it the engine is dragged and
 * cools. Nearly every question about mixture is asked under load only, so this
 * comes before them all. */
#include "analysis/load.h"

#include "analysis/rpm_load.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* A throttle open this far asks for power: a little above half, so that a pedal
 * held at half in a long bend does not flicker (share of the travel seen;
 * common practice, no source). */
static const double THROTTLE_OPEN = 0.55;
/* A throttle channel that misses more than this share of the session tells
 * nothing (common practice, no source). */
static const double THROTTLE_KNOWN_SHARE = 0.5;
/* Interruptions shorter than this are bridged: a bump, a missed reading. A foot
 * needs longer to lift and come back (common practice, no source). */
static const double BRIDGE_S = 0.25;
/* A pull shorter than this heats nothing that a probe with a lag of 0.5 s and
 * more could show (common practice, no source). */
static const double SHORTEST_PULL_S = 0.5;
/* Load is 0 or 1, and their mean over a few samples is on the side that most of
 * them are on. */
static const double HALF_LOADED = 0.5;

/* Believed only if it was seen both open and shut: a lead that came off reads
 * one value, and a pedal that never reaches half is scaled wrong. */
static bool throttle_is_known(const struct kw_session *session)
{
    size_t known = 0;
    bool open = false;
    bool closed = false;
    if (session->throttle == NULL)
        return false;
    for (size_t i = 0; i < session->n_samples; i++) {
        known += isnan(session->throttle[i]) ? 0 : 1;
        open = open || session->throttle[i] > THROTTLE_OPEN;
        closed = closed || session->throttle[i] < 1.0 - THROTTLE_OPEN;
    }
    return open && closed &&
           (double)known > THROTTLE_KNOWN_SHARE * (double)session->n_samples;
}

/* What the driver asks is what the pedal says; whether the engine follows is
 * for the detectors. */
static void load_from_throttle(const struct kw_session *session, double *load)
{
    for (size_t i = 0; i < session->n_samples; i++) {
        const double throttle = session->throttle[i];
        load[i] = isnan(throttle) ? NAN : throttle > THROTTLE_OPEN;
    }
}

/* Off where the engine stands: a pedal pressed while the engine is started, or
 * in the pits to look at the cable, is no load. */
static void mask_with_running(const struct kw_session *session,
                              const struct kw_running *running,
                              double *load)
{
    size_t run = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        while (run < running->spans.n && running->spans.items[run].to <= i)
            run++;
        if (run == running->spans.n || running->spans.items[run].from > i)
            load[i] = 0.0;
    }
}

/* From the first sample of the stretch to the first one after it. */
static double span_s(const struct kw_session *session, size_t from, size_t to)
{
    const size_t last = session->n_samples - 1;
    return session->time_s[to > last ? last : to] - session->time_s[from];
}

/* Neither side of it is true of NAN: what is not known is never part of a pull,
 * nor of a lift. */
bool kw_under_load(double load)
{
    return load > HALF_LOADED;
}

bool kw_off_load(double load)
{
    return load < HALF_LOADED;
}

/* Stretches of load (or of none) that are shorter than most_s, between two of
 * the other kind, become like their neighbours. What has a gap in it or at its
 * edge is left alone. */
static void settle(const struct kw_session *session,
                   bool loaded,
                   double most_s,
                   double *load)
{
    const size_t n = session->n_samples;
    size_t gap = 0;
    for (size_t from = 0; from < n;) {
        size_t to = from + 1;
        while (to < n && kw_under_load(load[to]) == kw_under_load(load[from]))
            to++;
        while (gap < session->gaps.n && session->gaps.items[gap].to < from)
            gap++;
        const bool has_gap =
            gap < session->gaps.n && session->gaps.items[gap].to <= to;
        if (kw_under_load(load[from]) == loaded && from > 0 && to < n &&
            !has_gap && span_s(session, from, to) < most_s) {
            for (size_t i = from; i < to; i++)
                load[i] = loaded ? 0.0 : 1.0;
        }
        from = to;
    }
}

/* A pull is complete when a lift ended it that the log shows. One that runs
 * into a gap or the end of the log may have gone on: how long it lasted, and
 * how hot it would have become, is not known. A gap parts two pulls even where
 * load stands on both sides of it. */
static enum kw_status add_pulls(const struct kw_session *session,
                                const double *load,
                                struct kw_pulls *pulls,
                                struct kw_error *error)
{
    const size_t n = session->n_samples;
    size_t gap = 0;
    for (size_t from = 0; from < n;) {
        if (!kw_under_load(load[from])) {
            from++;
            continue;
        }
        while (gap < session->gaps.n && session->gaps.items[gap].to <= from)
            gap++;
        const size_t wall =
            gap < session->gaps.n ? session->gaps.items[gap].to : n;
        size_t to = from;
        while (to < wall && kw_under_load(load[to]))
            to++;
        if (kw_array_reserve(&pulls->items, &pulls->capacity, pulls->n + 1,
                             sizeof *pulls->items, error) != KW_OK)
            return KW_NO_MEMORY;
        const bool complete = to < wall && !isnan(load[to]);
        pulls->items[pulls->n++] = (struct kw_pull){{from, to}, complete};
        from = to;
    }
    return KW_OK;
}

/* Settled in this order: first the interruptions go, so that a bumpy pull is
 * one, and then what is still too short to matter. */
enum kw_status kw_find_load(const struct kw_session *session,
                            const struct kw_running *running,
                            double **load,
                            struct kw_pulls *pulls,
                            struct kw_error *error)
{
    *pulls = (struct kw_pulls){0};
    *load = kw_array_new_nan(session->n_samples, error);
    if (*load == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = KW_OK;
    if (throttle_is_known(session))
        load_from_throttle(session, *load);
    else
        status = kw_load_from_rpm(session, *load, error);
    if (status == KW_OK) {
        mask_with_running(session, running, *load);
        settle(session, false, BRIDGE_S, *load);
        settle(session, true, SHORTEST_PULL_S, *load);
        status = add_pulls(session, *load, pulls, error);
    }
    if (status != KW_OK) {
        kw_pulls_free(pulls);
        free(*load);
        *load = NULL;
    }
    return status;
}

void kw_pulls_free(struct kw_pulls *pulls)
{
    free(pulls->items);
    *pulls = (struct kw_pulls){0};
}

/* Pulls never overlap, so the scratch of one session holds them all. */
double kw_pulls_quantile(const struct kw_pulls *pulls,
                         const double *values,
                         double fraction,
                         double *scratch)
{
    size_t n = 0;
    for (size_t k = 0; k < pulls->n; k++) {
        const struct kw_span span = pulls->items[k].span;
        for (size_t i = span.from; i < span.to; i++)
            scratch[n++] = values[i];
    }
    n = kw_finite_copy(scratch, n, scratch);
    return kw_quantile(scratch, n, fraction, scratch);
}
