/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The distance axis. Order: scale to the usual top, bridge losses of signal,
 * tell driving from standing, integrate. Each step is O(n).
 *
 * Laps are compared place by place and not second by second: a kart that is
 * held up for a lap passes the same bends, later. Way is metres where a speed
 * is logged, else engine turns, which with the clutch locked are as good. */
#include "analysis/lap_axis.h"

#include "analysis/lap_pace.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Full pace is this quantile of the faster readings: one wild reading more or
 * less does not matter. */
static const double TOP_QUANTILE = 0.9;
static const double FASTER_SHARE = 0.4;
/* Nearly the highest reading: one in two hundred is higher, and odd. */
static const double NEARLY_HIGHEST = 0.995;
/* No reading counts for more than this share of full pace: RPM that doubles is
 * no distance. */
static const double MOST_PACE = 1.25;
/* The slowest corners are taken at 0.4 of full RPM and more, and clutches take
 * hold at 0.25 to 0.4 of it (common practice, no source). */
static const double DRIVES_RPM_SHARE = 0.32;
/* An idle is held for some seconds within a few per cent, and lower than any
 * corner is driven; some fast idles are above DRIVES_RPM_SHARE. */
static const double IDLE_S = 3.0;
static const double IDLE_RATIO = 1.2;
static const double FASTEST_IDLE = 0.42;
/* The same where the log begins or ends so, or the engine has just come to
 * life: a learner on a rental kart turns hardly twice the idle. */
static const double FASTEST_IDLE_AT_REST = 0.6;
static const double SLOWEST_IDLE = 0.05;
/* Above the idle by so much the kart drives. */
static const double ABOVE_IDLE = 1.15;
/* A slipping clutch holds the engine within this share of one RPM, and no
 * longer than this. */
static const double SLIP_SHARE = 0.08;
static const double LONGEST_SLIP_S = 15.0;
/* A walk, against 25 to 35 m/s on the straight. */
static const double DRIVES_SPEED_SHARE = 0.06;
/* The same for speed that was derived from position: a receiver wanders while
 * the kart stands. */
static const double WANDERS_SPEED_SHARE = 0.12;
/* This much above its idle the engine pulls the kart out of the pits, the
 * clutch slipping, for no longer than that. */
static const double CREEPS_ABOVE_IDLE = 1.3;
static const double LONGEST_CREEP_S = 12.0;
/* A signal that is away for no longer was lost if the kart drives before and
 * after; the way goes on. */
static const double LONGEST_BRIDGE_S = 3.0;
/* A fall to nothing within less than this is no kart that slows. */
static const double EDGE_S = 0.4;
/* So far above driving at both edges, and so large a step at the first, both in
 * shares: a kart at the driving pace itself may as well have stopped. */
static const double WELL_ABOVE = 1.15;
static const double LEAST_STEP = 0.1;
/* A stop on the track that lasts longer ends a stretch of driving. */
static const double LONGEST_STOP_S = 25.0;
/* Below the driving pace for so long the kart stands; for less it is in a slow
 * corner. */
static const double STANDS_S = 2.0;
/* A stretch of driving is at least this long. */
static const double SHORTEST_DRIVE_S = 5.0;

/* NULL where the session does not have it. */
static const double *channel(const struct kw_session *session,
                             enum kw_pace_source source)
{
    return source == KW_PACE_SPEED ? kw_speed_channel(session) : session->rpm;
}

/* Full pace in the channel's own unit; NAN where there is none. */
static double usual_top(const double *values, size_t n, double *scratch)
{
    const double near_top = kw_quantile(values, n, NEARLY_HIGHEST, scratch);
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (values[i] > FASTER_SHARE * near_top)
            scratch[kept++] = values[i];
    }
    return kept > 0 ? kw_quantile(scratch, kept, TOP_QUANTILE, scratch) : NAN;
}

/* Two readings that are above 0: a channel of zeros was never connected. */
bool kw_lap_axis_possible(const struct kw_session *session,
                          enum kw_pace_source source)
{
    const double *values = channel(session, source);
    size_t known = 0;
    for (size_t i = 0; values != NULL && i < session->n_samples; i++)
        known += values[i] > 0.0 ? 1 : 0;
    return known >= 2;
}

/* The lowest pace at which the engine stays as an idle does; 0 without. A start
 * with a slipping clutch stays too, but higher. */
static double idle_of(const struct kw_lap_axis *axis)
{
    double slowest = INFINITY;
    double lowest = INFINITY;
    double highest = -INFINITY;
    double before = 0.0;
    bool fresh = true;
    size_t from = 0;
    for (size_t i = 0; i < axis->n; i++) {
        const double pace = axis->pace[i];
        if (isnan(pace))
            continue;
        lowest = fmin(lowest, pace);
        highest = fmax(highest, pace);
        if (highest > IDLE_RATIO * lowest || pace < SLOWEST_IDLE ||
            pace > FASTEST_IDLE_AT_REST) {
            lowest = highest = pace;
            from = i;
            fresh = before < SLOWEST_IDLE;
        }
        before = pace;
        const double middle = 0.5 * (lowest + highest);
        const bool at_rest =
            fresh || axis->time_s[axis->n - 1] - axis->time_s[i] < IDLE_S;
        if (axis->time_s[i] - axis->time_s[from] > IDLE_S &&
            middle < (at_rest ? FASTEST_IDLE_AT_REST : FASTEST_IDLE))
            slowest = fmin(slowest, middle);
    }
    return isfinite(slowest) ? slowest : 0.0;
}

/* False for a missing pace. */
static bool is_driving(const struct kw_lap_axis *axis, size_t i)
{
    return axis->pace[i] >= axis->drives;
}

/* true when the pace at both edges of the stretch is well above driving, and
 * falls and comes back faster than a kart slows and pulls. */
static bool is_lost_signal(const struct kw_lap_axis *axis, struct kw_span low)
{
    if (low.from == 0 || low.to >= axis->n)
        return false;
    const double before = axis->pace[low.from - 1];
    const double after = axis->pace[low.to];
    const double away_s = axis->time_s[low.to] - axis->time_s[low.from - 1];
    const double step_s = axis->time_s[low.from] - axis->time_s[low.from - 1];
    const double well = WELL_ABOVE * axis->drives;
    return away_s < LONGEST_BRIDGE_S + 2.0 * step_s && before > well &&
           after > well &&
           (away_s < LONGEST_BRIDGE_S / 2.0 || step_s > EDGE_S ||
            isnan(axis->pace[low.from]) ||
            before - axis->pace[low.from] > LEAST_STEP);
}

/* A straight line over the loss: the kart did not stop because its wire did. */
static void bridge(struct kw_lap_axis *axis, struct kw_span low)
{
    const double from_s = axis->time_s[low.from - 1];
    const double took_s = axis->time_s[low.to] - from_s;
    const double before = axis->pace[low.from - 1];
    const double after = axis->pace[low.to];
    for (size_t i = low.from; i < low.to; i++) {
        const double part = (axis->time_s[i] - from_s) / took_s;
        axis->pace[i] = before + part * (after - before);
    }
}

/* From one stretch of low pace to the next. */
static void bridge_losses(struct kw_lap_axis *axis)
{
    for (size_t from = 0; from < axis->n;) {
        size_t to = from;
        while (to < axis->n && !is_driving(axis, to))
            to++;
        const struct kw_span low = {from, to};
        if (to > from && is_lost_signal(axis, low))
            bridge(axis, low);
        from = to + 1;
    }
}

/* Where the clutch, after the start at sample `from`, stops holding the engine
 * at one RPM: the kart has caught up. */
static size_t end_of_slip(const struct kw_lap_axis *axis, size_t from)
{
    double held = axis->pace[from];
    size_t i = from;
    for (; i < axis->n && is_driving(axis, i); i++) {
        const double since_s = axis->time_s[i] - axis->time_s[from];
        if (since_s < EDGE_S)
            held = fmax(held, axis->pace[i]);
        else if (fabs(axis->pace[i] - held) > SLIP_SHARE * held)
            break;
        if (since_s > LONGEST_SLIP_S)
            return from;
    }
    return i;
}

/* The integral of pace; while a clutch slips after a stand-still the kart comes
 * from nothing to the engine's pace, half the way on the whole. Across a long
 * hole of the log nobody knows the way: ten minutes at full pace would be
 * fifteen laps that were never seen. */
static void integrate(struct kw_lap_axis *axis)
{
    double way = 0.0;
    double stood_since_s = -INFINITY;
    struct kw_span slip = {0, 0};
    for (size_t i = 0; i < axis->n; i++) {
        const bool drives = is_driving(axis, i);
        const bool stood = axis->time_s[i] - stood_since_s > EDGE_S;
        const double step_s =
            i > 0 ? axis->time_s[i] - axis->time_s[i - 1] : 0.0;
        if (drives && (i == 0 || !is_driving(axis, i - 1)) && stood &&
            axis->source == KW_PACE_RPM)
            slip = (struct kw_span){i, end_of_slip(axis, i)};
        if (i > 0 && drives && is_driving(axis, i - 1) &&
            step_s <= LONGEST_STOP_S)
            way += (i < slip.to ? 0.5 : 1.0) * 0.5 *
                   (axis->pace[i - 1] + axis->pace[i]) * step_s;
        if (drives)
            stood_since_s = axis->time_s[i];
        axis->way[i] = way;
    }
}

/* A drive about the yard has no laps in it. */
static enum kw_status add_span(struct kw_lap_axis *axis,
                               struct kw_span span,
                               struct kw_error *error)
{
    const double length_s = axis->time_s[span.to - 1] - axis->time_s[span.from];
    if (length_s < SHORTEST_DRIVE_S)
        return KW_OK;
    return kw_spans_add(&axis->spans, span.from, span.to, error);
}

/* Short stops belong to the drive: the kart spun, or waited for another. */
static enum kw_status find_spans(struct kw_lap_axis *axis,
                                 struct kw_error *error)
{
    enum kw_status status = KW_OK;
    struct kw_span span = {0, 0};
    for (size_t i = 0; status == KW_OK && i < axis->n; i++) {
        if (!is_driving(axis, i))
            continue;
        if (span.to > 0 &&
            axis->time_s[i] - axis->time_s[span.to - 1] > LONGEST_STOP_S) {
            status = add_span(axis, span, error);
            span.to = 0;
        }
        if (span.to == 0)
            span.from = i;
        span.to = i + 1;
    }
    if (status == KW_OK && span.to > 0)
        status = add_span(axis, span, error);
    return status;
}

/* From the channel's own unit to a share of the usual top; way is scratch. */
static void scale(struct kw_lap_axis *axis)
{
    axis->top = usual_top(axis->pace, axis->n, axis->way);
    for (size_t i = 0; i < axis->n; i++) {
        const double share = axis->pace[i] / axis->top;
        axis->pace[i] = share > MOST_PACE ? MOST_PACE : share;
    }
}

/* A speed that was worked out of positions wanders while the kart stands; a
 * measured one does not. */
static double driving_share(const struct kw_session *session,
                            enum kw_pace_source source)
{
    if (source == KW_PACE_RPM)
        return DRIVES_RPM_SHARE;
    return session->speed_is_derived ? WANDERS_SPEED_SHARE : DRIVES_SPEED_SHARE;
}

/* Pace is a share of the usual top, whatever the channel was: all limits behind
 * this hold for speed and for RPM, for a two-stroke and for a rental. */
enum kw_status kw_lap_axis_new(const struct kw_session *session,
                               enum kw_pace_source source,
                               struct kw_lap_axis *out,
                               struct kw_error *error)
{
    const size_t n = session->n_samples;
    *out = (struct kw_lap_axis){
        .source = source,
        .n = n,
        .time_s = session->time_s,
        .drives = driving_share(session, source),
        .creeps = driving_share(session, source),
    };
    out->pace = kw_array_new_nan(n, error);
    out->way = kw_array_new(n, sizeof *out->way, error);
    enum kw_status status = KW_NO_MEMORY;
    if (out->pace == NULL || out->way == NULL)
        goto done;
    if (source == KW_PACE_SPEED &&
        kw_kart_speed(session, out->pace, error) != KW_OK)
        goto done;
    if (source == KW_PACE_RPM)
        memcpy(out->pace, session->rpm, n * sizeof *out->pace);
    scale(out);
    if (source == KW_PACE_RPM) {
        const double idle = idle_of(out);
        out->drives = fmax(out->drives, ABOVE_IDLE * idle);
        out->creeps = idle > 0.0 ? CREEPS_ABOVE_IDLE * idle : out->drives;
        out->creeps = fmin(out->creeps, out->drives);
    }
    bridge_losses(out);
    integrate(out);
    status = find_spans(out, error);
done:
    if (status != KW_OK)
        kw_lap_axis_free(out);
    return status;
}

void kw_lap_axis_free(struct kw_lap_axis *axis)
{
    free(axis->pace);
    free(axis->way);
    kw_spans_free(&axis->spans);
    *axis = (struct kw_lap_axis){0};
}

/* By halving, O(log n): called for every lap, block and passing. */
size_t kw_sample_at(const double *time_s, size_t n, double at_s)
{
    size_t low = 0;
    size_t high = n;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (time_s[middle] <= at_s)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Room for a search that takes samples some time apart, known before it
 * begins. */
size_t kw_most_samples(const double *time_s, size_t n, double apart_s)
{
    /* One more for the first, and one for what rounding takes off a step. */
    const double most =
        n > 0 ? (time_s[n - 1] - time_s[0]) / apart_s + 2.0 : 0.0;
    return most < (double)n ? (size_t)most : n;
}

/* y at x between samples i and i + 1. */
static double between(const double *xs, const double *ys, size_t i, double x)
{
    const double part = (x - xs[i]) / (xs[i + 1] - xs[i]);
    return ys[i] + fmin(fmax(part, 0.0), 1.0) * (ys[i + 1] - ys[i]);
}

/* Between two samples the kart drives evenly. */
double kw_lap_axis_way_at(const struct kw_lap_axis *axis, double time_s)
{
    if (axis->n < 2)
        return 0.0;
    size_t i = kw_sample_at(axis->time_s, axis->n, time_s);
    if (i + 1 >= axis->n)
        i = axis->n - 2;
    return between(axis->time_s, axis->way, i, time_s);
}

/* Where the kart stood, one way has many times: the first of them is given. */
double kw_lap_axis_time_at(const struct kw_lap_axis *axis, double way)
{
    size_t low = 0;
    size_t high = axis->n - 1;
    if (axis->n < 2 || way <= axis->way[0])
        return axis->n > 0 ? axis->time_s[0] : NAN;
    if (way > axis->way[high])
        return axis->time_s[high];
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (axis->way[middle] < way)
            low = middle;
        else
            high = middle;
    }
    return between(axis->way, axis->time_s, low, way);
}

/* Back from the first passing to where the kart last stood, and from there on
 * back over the creep with which it set off. */
double kw_lap_axis_drive_off_s(const struct kw_lap_axis *axis, double time_s)
{
    size_t i = kw_sample_at(axis->time_s, axis->n, time_s);
    size_t first = i;
    for (; i > 0; i--) {
        if (is_driving(axis, i))
            first = i;
        if (axis->time_s[first] - axis->time_s[i] > STANDS_S)
            break;
    }
    if (axis->n == 0)
        return NAN;
    const double drives_s = axis->time_s[first];
    while (first > 0 && axis->pace[first - 1] > axis->creeps &&
           drives_s - axis->time_s[first - 1] < LONGEST_CREEP_S)
        first--;
    return axis->time_s[first];
}

/* The other way round: on from the last passing to where the kart stays. */
double kw_lap_axis_rest_s(const struct kw_lap_axis *axis, double time_s)
{
    size_t i = kw_sample_at(axis->time_s, axis->n, time_s);
    size_t last = i;
    /* By speed a stop on the way in is told from the pits; RPM in the pits is
     * revving as often as driving. */
    const double stands_s =
        axis->source == KW_PACE_SPEED ? LONGEST_STOP_S : STANDS_S;
    for (; i < axis->n; i++) {
        if (is_driving(axis, i))
            last = i;
        if (axis->time_s[i] - axis->time_s[last] > stands_s)
            break;
    }
    return axis->n > 0 ? axis->time_s[last] : NAN;
}
