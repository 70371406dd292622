/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the engine turns under its own power.
 *
 * The engine stands where RPM is far below idle. A stretch like that is a stop
 * only if the engine could have stopped and started in it: a signal that goes
 * and comes back at speed, or for a moment, is a drop-out. */
#include "analysis/running.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Below this share of idle the engine is not turning by itself: it is being
 * cranked, or stands. This and all that follows: common practice, no source. */
static const double STOP_SHARE_OF_IDLE = 0.4;
/* The same as a share of the highest RPM, where idle is not known: idle is an
 * eighth to a quarter of it on karts (common practice, no source). */
static const double STOP_SHARE_OF_TOP = 0.08;
/* No idle is slower than this share of the highest RPM; what turns slower is a
 * starter at work. No idle is faster than half of it: that is a slow corner. */
static const double SLOWEST_IDLE_SHARE = 0.07;
static const double FASTEST_IDLE_SHARE = 0.5;
/* A starter may turn the engine at half its idle: a start ends when the engine
 * first turns faster than this share of it. */
static const double FIRES_SHARE_OF_IDLE = 0.6;
/* A starter turns no longer at a time, or its battery is empty. */
static const double LONGEST_CRANKING_S = 20.0;
/* After the spark is cut the engine turns out in a second or two. */
static const double LONGEST_DYING_S = 3.0;
/* Seconds at one RPM, within 12 %, that make it an idle: a kart that is driven
 * passes through each RPM in less. */
static const double IDLE_S = 2.0;
/* Nobody stops and starts an engine in less. */
static const double SHORTEST_STOP_S = 1.5;
/* An engine that lives shorter than this has not started. */
static const double SHORTEST_RUN_S = 1.0;
/* RPM this many times the idle at both edges of a stop: the kart was driving
 * and drives on, so the signal was lost and not the engine. */
static const double DRIVING_TIMES_IDLE = 2.0;
/* Looked at on both sides of a stop: long enough to pass over the few readings
 * that a failing signal spoils on its way out. */
static const double EDGE_S = 0.5;

enum state { STANDS, TURNS, NOT_KNOWN };

/* Not the very highest reading: a doubled pulse would make an idle look like a
 * standstill. */
static double highest_rpm(const struct kw_session *session, double *scratch)
{
    return kw_quantile_of_sample(session->rpm, session->n_samples, 0.995,
                                 scratch);
}

/* Idle is the lowest RPM at which the engine stays for some seconds. RPM is
 * counted in bins of 4 % width, so that slow and fast engines are alike. */
static double learn_idle_rpm(const struct kw_session *session, double top_rpm)
{
    enum { BINS = 80 };
    const double bin_width = log(1.04);
    double seconds[BINS] = {0};
    const double lowest_rpm = SLOWEST_IDLE_SHARE * top_rpm;
    for (size_t i = 0; i < session->n_samples; i++) {
        const double bin = log(session->rpm[i] / lowest_rpm) / bin_width;
        if (bin >= 0.0 && bin < BINS)
            seconds[(size_t)bin] += 1.0 / session->rate_hz;
    }
    /* The lowest peak, over three bins: idle wanders, and may lie on an
     * edge. */
    for (size_t i = 0; i + 2 < BINS; i++) {
        const double rpm = lowest_rpm * exp(bin_width * ((double)i + 1.5));
        const double here_s = seconds[i] + seconds[i + 1] + seconds[i + 2];
        const bool rising = seconds[i + 2] > seconds[i + 1];
        if (rpm < FASTEST_IDLE_SHARE * top_rpm && here_s >= IDLE_S && !rising)
            return rpm;
    }
    return NAN;
}

/* What the loops below share. */
struct view {
    const struct kw_session *session;
    double idle_rpm; /* NAN when not known */
    double stop_rpm;
};

/* An end of the log, or of its readings: the engine neither starts nor stops
 * there, the log does. */
static bool is_edge(const struct kw_session *session, size_t i)
{
    return i == 0 || i >= session->n_samples ||
           session->time_s[i] - session->time_s[i - 1] >
               fmax(KW_LONG_GAP_S, 2.0 / session->rate_hz);
}

/* What a single reading says; the loops below make sense of the sequence. */
static enum state state_at(const struct view *view, size_t i)
{
    const double rpm = view->session->rpm[i];
    if (isnan(rpm))
        return NOT_KNOWN;
    return rpm < view->stop_rpm ? STANDS : TURNS;
}

/* From the first sample of the span to the first after it; one step behind its
 * own last where the log ends. */
static double length_s(const struct kw_session *session, struct kw_span span)
{
    const double *time_s = session->time_s;
    if (is_edge(session, span.to))
        return time_s[span.to - 1] - time_s[span.from] + 1.0 / session->rate_hz;
    return time_s[span.to] - time_s[span.from];
}

/* Highest RPM within EDGE_S before a sample, itself left out; NAN if none. */
static double rpm_before(const struct kw_session *session, size_t at)
{
    double highest = NAN;
    for (size_t i = at; i > 0; i--) {
        if (session->time_s[at] - session->time_s[i - 1] > EDGE_S && i < at)
            break;
        highest = fmax(highest, session->rpm[i - 1]);
    }
    return highest;
}

/* The same after a sample, itself counted. */
static double rpm_after(const struct kw_session *session, size_t at)
{
    double highest = NAN;
    for (size_t i = at; i < session->n_samples; i++) {
        if (session->time_s[i] - session->time_s[at] > EDGE_S && i > at)
            break;
        highest = fmax(highest, session->rpm[i]);
    }
    return highest;
}

/* True when the engine may have stood in the stretch, false when only the
 * reading was lost. */
static bool is_stop(const struct view *view, struct kw_span low)
{
    const struct kw_session *session = view->session;
    if (is_edge(session, low.from) || is_edge(session, low.to))
        return true;
    if (length_s(session, low) < SHORTEST_STOP_S)
        return false;
    if (isnan(view->idle_rpm))
        return true;
    const double driving_rpm = DRIVING_TIMES_IDLE * view->idle_rpm;
    return !(rpm_before(session, low.from) > driving_rpm &&
             rpm_after(session, low.to) > driving_rpm);
}

/* The run without the starter's work at its beginning and without the last
 * turns after the spark was cut. An edge of the log is no start and no stop. */
static struct kw_span trim(const struct view *view, struct kw_span run)
{
    const struct kw_session *session = view->session;
    const double fires_rpm = FIRES_SHARE_OF_IDLE * view->idle_rpm;
    size_t from = run.from;
    while (from < run.to && !(session->rpm[from] >= fires_rpm))
        from++;
    size_t to = run.to;
    while (to > from && !(session->rpm[to - 1] >= fires_rpm))
        to--;
    /* Too long for a starter or for a dying engine: it idles like that. */
    if (from == to ||
        session->time_s[from] - session->time_s[run.from] > LONGEST_CRANKING_S)
        from = run.from;
    if (to <= from ||
        session->time_s[run.to - 1] - session->time_s[to - 1] > LONGEST_DYING_S)
        to = run.to;
    return (struct kw_span){is_edge(session, run.from) ? run.from : from,
                            is_edge(session, run.to) ? run.to : to};
}

/* Keeps a run, trimmed, unless it is too short to be a start: a kick that did
 * not fire, a reading that flickers while the kart stands. One at the edge of
 * the log is kept, since the log may show only the end of it. */
static enum kw_status add_run(const struct view *view,
                              struct kw_span run,
                              struct kw_running *out,
                              struct kw_error *error)
{
    run = trim(view, run);
    const bool to_the_edge =
        is_edge(view->session, run.from) || is_edge(view->session, run.to);
    if (!to_the_edge && length_s(view->session, run) < SHORTEST_RUN_S)
        return KW_OK;
    return kw_spans_add(&out->spans, run.from, run.to, error);
}

/* The end of the stretch of one state that starts at `from`. */
static size_t end_of(const struct view *view, size_t from, enum state state)
{
    size_t to = from + 1;
    while (!is_edge(view->session, to) && state_at(view, to) == state)
        to++;
    return to;
}

/* A stretch without readings ends a run only when nobody can say what the
 * engine did in it. */
static bool ends_run(const struct view *view,
                     enum state state,
                     struct kw_span span)
{
    if (state == TURNS)
        return false;
    if (state == STANDS)
        return is_stop(view, span);
    return span.to == view->session->n_samples ||
           length_s(view->session, span) > KW_LONG_GAP_S;
}

/* One pass over the stretches of equal state; a run is closed when something
 * that ends it has been seen whole. */
static enum kw_status find_runs(const struct view *view,
                                struct kw_running *out,
                                struct kw_error *error)
{
    const size_t n = view->session->n_samples;
    enum kw_status status = KW_OK;
    struct kw_span run = {0, 0};
    bool runs = false;
    for (size_t from = 0; status == KW_OK && from < n;) {
        const enum state state = state_at(view, from);
        const struct kw_span span = {from, end_of(view, from, state)};
        if (runs && is_edge(view->session, from)) {
            status = add_run(view, run, out, error);
            runs = false;
        }
        if (state == TURNS && !runs)
            run.from = from;
        if (status == KW_OK && runs && ends_run(view, state, span)) {
            status = add_run(view, run, out, error);
            runs = false;
        }
        if (state == TURNS) {
            runs = true;
            run.to = span.to;
        }
        from = span.to;
    }
    if (status == KW_OK && runs)
        status = add_run(view, run, out, error);
    return status;
}

/* A run that does not begin with the log's first reading, or with the first
 * after a hole in it, began with a start. */
static void add_up(const struct view *view, struct kw_running *out)
{
    size_t first = 0;
    while (first < view->session->n_samples &&
           state_at(view, first) == NOT_KNOWN)
        first++;
    for (size_t i = 0; i < out->spans.n; i++) {
        out->seconds += length_s(view->session, out->spans.items[i]);
        const size_t from = out->spans.items[i].from;
        out->starts += from > first && !is_edge(view->session, from) ? 1 : 0;
    }
}

/* The owner's idle counts before a learned one; where neither is known, a share
 * of the highest RPM has to do. A log in which RPM never leaves zero has no
 * running, which is an answer and no error. */
enum kw_status kw_find_running(const struct kw_session *session,
                               const struct kw_profile *profile,
                               struct kw_running *out,
                               struct kw_error *error)
{
    *out = (struct kw_running){0};
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double top_rpm = highest_rpm(session, scratch);
    free(scratch);
    if (!(top_rpm > 0.0))
        return KW_OK;
    struct view view = {.session = session, .idle_rpm = profile->idle_rpm};
    if (!(view.idle_rpm > 0.0))
        view.idle_rpm = learn_idle_rpm(session, top_rpm);
    view.stop_rpm = isnan(view.idle_rpm) ? STOP_SHARE_OF_TOP * top_rpm
                                         : STOP_SHARE_OF_IDLE * view.idle_rpm;
    enum kw_status status = find_runs(&view, out, error);
    if (status == KW_OK)
        add_up(&view, out);
    else
        kw_running_free(out);
    return status;
}

void kw_running_free(struct kw_running *running)
{
    kw_spans_free(&running->spans);
    *running = (struct kw_running){0};
}
