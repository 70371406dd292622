/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the engine works.
 *
 * With the clutch locked RPM is speed: under load it rises, or holds where drag
 * balances the engine; off the throttle it falls, fast at speed (drag) and
 * faster with the brakes on. How fast is learned from the session, so that no
 * engine, gearing or logger is assumed. Two thresholds keep a pull together: it
 * begins with a clear rise and ends with a clear fall, so that a sag against
 * the throttle, or a plateau at the top, belongs to it. */
#include "analysis/load.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* A throttle open this far asks for power. */
static const double THROTTLE_OPEN = 0.55;
/* A throttle channel that never moves, or misses much, tells nothing. */
static const double THROTTLE_KNOWN_SHARE = 0.5;
/* Window for the slope of RPM: shorter than a driver's shortest lift. */
static const double SLOPE_WINDOW_S = 0.3;
/* A rise counts from this share of the usual strong rise, a fall from this
 * share of the usual strong fall. */
static const double RISE_SHARE = 0.25;
static const double FALL_SHARE = 0.30;
/* Interruptions shorter than this are bridged: a gear of the chain, a bump. */
static const double BRIDGE_S = 0.25;
/* A pull shorter than this heats nothing. */
static const double SHORTEST_PULL_S = 0.5;
/* RPM in this share of the range counts as the top: holding it needs load. */
static const double TOP_SHARE = 0.85;

/* What was learned about this engine in this session. */
struct habits {
    double top_rpm;
    double rise_rpm_s; /* usual strong rise, > 0 */
    double fall_rpm_s; /* usual strong fall, < 0 */
};

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

static void load_from_throttle(const struct kw_session *session, double *load)
{
    for (size_t i = 0; i < session->n_samples; i++) {
        const double throttle = session->throttle[i];
        load[i] = isnan(throttle) ? NAN : throttle > THROTTLE_OPEN;
    }
}

/* The median of the positive and of the negative half of the slopes. */
static struct habits learn(const struct kw_session *session,
                           const double *slope,
                           double *scratch)
{
    struct habits habits = {0};
    const size_t n_samples = session->n_samples;
    habits.top_rpm = kw_quantile(session->rpm, n_samples, 0.99, scratch);
    size_t n = 0;
    for (size_t i = 0; i < n_samples; i++) {
        if (slope[i] > 0.0 && session->rpm[i] > habits.top_rpm / 3.0)
            scratch[n++] = slope[i];
    }
    habits.rise_rpm_s = kw_quantile(scratch, n, 0.7, scratch);
    n = 0;
    for (size_t i = 0; i < n_samples; i++) {
        if (slope[i] < 0.0 && session->rpm[i] > habits.top_rpm / 3.0)
            scratch[n++] = slope[i];
    }
    habits.fall_rpm_s = kw_quantile(scratch, n, 0.3, scratch);
    return habits;
}

static void load_from_rpm(const struct kw_session *session,
                          const double *slope,
                          const struct habits *habits,
                          double *load)
{
    double now = NAN;
    size_t gap = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (gap < session->gaps.n && session->gaps.items[gap].to == i) {
            now = NAN;
            gap++;
        }
        const double rpm = session->rpm[i];
        if (rpm < habits->top_rpm / 4.0)
            now = 0.0;
        else if (slope[i] > RISE_SHARE * habits->rise_rpm_s)
            now = 1.0;
        else if (slope[i] < FALL_SHARE * habits->fall_rpm_s)
            now = 0.0;
        else if (isnan(now) && !isnan(slope[i]))
            now = rpm > TOP_SHARE * habits->top_rpm ? 1.0 : 0.0;
        load[i] = isnan(rpm) ? NAN : now;
    }
}

/* Off where the engine stands. */
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

static double span_s(const struct kw_session *session, size_t from, size_t to)
{
    const size_t last = session->n_samples - 1;
    return session->time_s[to > last ? last : to] - session->time_s[from];
}

static bool has_gap(const struct kw_session *session, size_t from, size_t to)
{
    for (size_t i = 0; i < session->gaps.n; i++) {
        if (session->gaps.items[i].to > from && session->gaps.items[i].to < to)
            return true;
    }
    return false;
}

/* Short stretches without load between two of load become load, then stretches
 * of load that are too short become none. */
static void settle(const struct kw_session *session,
                   double from_value,
                   double most_s,
                   double *load)
{
    const size_t n = session->n_samples;
    for (size_t from = 0; from < n;) {
        size_t to = from + 1;
        const bool differs = fabs(load[from] - from_value) < 0.5 ||
                             (from_value < 0.5 && isnan(load[from]));
        while (to < n && (fabs(load[to] - from_value) < 0.5 ||
                          (from_value < 0.5 && isnan(load[to]))) == differs)
            to++;
        if (differs && from > 0 && to < n &&
            span_s(session, from, to) < most_s && !has_gap(session, from, to)) {
            for (size_t i = from; i < to; i++)
                load[i] = 1.0 - from_value;
        }
        from = to;
    }
}

static enum kw_status add_pulls(const struct kw_session *session,
                                const double *load,
                                struct kw_pulls *pulls,
                                struct kw_error *error)
{
    const size_t n = session->n_samples;
    size_t gap = 0;
    for (size_t from = 0; from < n;) {
        if (!(load[from] > 0.5)) {
            from++;
            continue;
        }
        while (gap < session->gaps.n && session->gaps.items[gap].to <= from)
            gap++;
        const size_t wall =
            gap < session->gaps.n ? session->gaps.items[gap].to : n;
        size_t to = from;
        while (to < wall && load[to] > 0.5)
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

static enum kw_status tell_load(const struct kw_session *session,
                                double *load,
                                struct kw_error *error)
{
    if (throttle_is_known(session)) {
        load_from_throttle(session, load);
        return KW_OK;
    }
    const size_t n = session->n_samples;
    double *slope = kw_array_new(n, sizeof *slope, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (slope == NULL || scratch == NULL)
        goto done;
    kw_slope(session, session->rpm, SLOPE_WINDOW_S, slope);
    const struct habits habits = learn(session, slope, scratch);
    load_from_rpm(session, slope, &habits, load);
    status = KW_OK;
done:
    free(slope);
    free(scratch);
    return status;
}

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
    enum kw_status status = tell_load(session, *load, error);
    if (status == KW_OK) {
        mask_with_running(session, running, *load);
        settle(session, 0.0, BRIDGE_S, *load);
        settle(session, 1.0, SHORTEST_PULL_S, *load);
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
