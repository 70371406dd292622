/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Position: valid fixes, a local plane, the path between fixes, speed.
 *
 * A track is a kilometre across, so a plane through its middle is true to a
 * millimetre; the Earth's shape enters by two radii at that latitude. Receivers
 * jump when they lose a satellite: a fix that no kart could have reached is set
 * aside. */
#include "signal/position.h"

#include "core/array.h"
#include "core/notices.h"
#include "core/plane.h"
#include "core/robust.h"
#include "core/text.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* No kart, and no car on the way to the track, is faster: 360 km/h. */
static const double FASTEST_M_S = 100.0;
/* A receiver wanders some metres at a stand-still: not a jump. */
static const double WANDER_M = 15.0;
/* Fixes that agree with each other, for so long, before a new place is
 * believed: a reflection is over sooner (common practice, no source). */
enum { BELIEVED_AFTER = 3 };
static const double BELIEVED_AFTER_S = 3.0;
/* A fix held for longer than so many usual intervals: the kart stands, or the
 * receiver is lost. */
static const double LONG_HOLD = 2.5;
static const double STOOD_M = 5.0;
static const double LOST_S = 3.0;
/* Speed from position: window in seconds, and in intervals between fixes. A
 * shorter one shows the receiver's noise, a longer one flattens braking. */
static const double SPEED_WINDOW_S = 0.4;
static const double SPEED_WINDOW_FIXES = 2.2;
static const double WIDEST_SPEED_WINDOW_S = 1.5;
/* Error of speed along one axis that is worth a wider window. */
static const double SPEED_ERROR_M_S = 0.4;

/* A receiver without a fix writes zeros, or nothing, or nonsense. */
static bool is_on_globe(double lat_deg, double lon_deg)
{
    /* Zero north, zero east lies in the Gulf of Guinea: it is what a receiver
     * writes before its first fix. */
    const double nowhere_deg = 1e-9;
    return fabs(lat_deg) <= 90.0 && fabs(lon_deg) <= 360.0 &&
           (fabs(lat_deg) > nowhere_deg || fabs(lon_deg) > nowhere_deg);
}

/* The distinct fixes: index of the sample at which each first shows. */
struct fixes {
    size_t *at;
    size_t n;
    size_t n_bad;
};

struct place {
    double x_m;
    double y_m;
    double time_s;
};

static struct place place_at(const struct kw_session *s, size_t i)
{
    return (struct place){s->x_m[i], s->y_m[i], s->time_s[i]};
}

/* The way is measured along the straight line, so that nothing a kart can do is
 * refused. */
static bool can_reach(const struct place *from, const struct place *to)
{
    const double way_m = hypot(to->x_m - from->x_m, to->y_m - from->y_m);
    return way_m <= WANDER_M + FASTEST_M_S * (to->time_s - from->time_s);
}

/* A receiver repeats its last fix to the last digit until it has a new one;
 * even a standing one moves by more than this from fix to fix. */
static bool moved(const struct kw_session *s, size_t from, size_t to)
{
    const double nothing_m = 1e-6;
    const double east_m = s->x_m[to] - s->x_m[from];
    const double north_m = s->y_m[to] - s->y_m[from];
    return fabs(east_m) > nothing_m || hypot(east_m, north_m) > nothing_m;
}

/* Keeps the fixes that can be reached from those before; a new place is
 * believed once some fixes in a row agree on it. Those set aside become NAN. */
static void find_fixes(struct kw_session *s, struct fixes *fixes)
{
    size_t strangers = 0;
    double since_s = NAN;
    struct place stranger = {0};
    for (size_t i = 0; i < s->n_samples; i++) {
        if (isnan(s->x_m[i]))
            continue;
        const size_t last = fixes->n > 0 ? fixes->at[fixes->n - 1] : i;
        if (fixes->n > 0 && !moved(s, last, i))
            continue;
        const struct place here = place_at(s, i);
        const struct place before = place_at(s, last);
        /* The first fix is taken as it comes; if it was wild, those that agree
         * against it win soon. */
        if (can_reach(&before, &here)) {
            fixes->at[fixes->n++] = i;
            strangers = 0;
            continue;
        }
        const bool agrees = strangers > 0 && can_reach(&stranger, &here);
        /* Strangers must agree with each other, not only disagree with the old
         * place: noise does not. */
        strangers = agrees ? strangers + 1 : 1;
        since_s = agrees ? since_s : here.time_s;
        stranger = here;
        if (strangers >= BELIEVED_AFTER &&
            here.time_s - since_s >= BELIEVED_AFTER_S) {
            fixes->at[fixes->n++] = i;
            strangers = 0;
            continue;
        }
        s->x_m[i] = s->y_m[i] = NAN;
        fixes->n_bad++;
    }
}

/* Usual time between two fixes. */
static double fix_interval_s(const struct kw_session *s,
                             const struct fixes *fixes,
                             double *scratch)
{
    for (size_t i = 1; i < fixes->n; i++)
        scratch[i - 1] = s->time_s[fixes->at[i]] - s->time_s[fixes->at[i - 1]];
    return fixes->n > 1 ? kw_median(scratch, fixes->n - 1, scratch) : NAN;
}

/* What became of the kart between two fixes. */
enum between {
    DROVE, /* it drove from the one to the other */
    STOOD, /* it stood until one interval before the second */
    LOST   /* the receiver lost its way */
};

/* A pause between fixes says little by itself: what counts is whether the kart
 * is somewhere else after it. */
static enum between tell_between(const struct kw_session *s,
                                 size_t a,
                                 size_t b,
                                 double interval_s)
{
    const double took_s = s->time_s[b] - s->time_s[a];
    /* One fix missed is nothing. */
    if (took_s <= LONG_HOLD * interval_s)
        return DROVE;
    const double way_m = hypot(s->x_m[b] - s->x_m[a], s->y_m[b] - s->y_m[a]);
    /* Waiting at the start or in the pits: no logger repeats a fix of a moving
     * kart. */
    if (way_m < STOOD_M)
        return STOOD;
    /* A straight line over a short loss is nearer to the truth than no path;
     * over a longer one it would cut corners, and laps are timed by where the
     * path crosses the line. */
    return took_s <= LOST_S ? DROVE : LOST;
}

/* The samples between two fixes lie on the line that joins them. Those that had
 * no reading at all stay unknown when they are many. */
static void join(struct kw_session *s, size_t a, size_t b, double interval_s)
{
    const enum between between = tell_between(s, a, b, interval_s);
    const bool few = s->time_s[b] - s->time_s[a] <= LONG_HOLD * interval_s;
    const double leave_s =
        between == STOOD ? s->time_s[b] - interval_s : s->time_s[a];
    const double way_x_m = s->x_m[b] - s->x_m[a];
    const double way_y_m = s->y_m[b] - s->y_m[a];
    for (size_t i = a + 1; i < b; i++) {
        const double part =
            fmax((s->time_s[i] - leave_s) / (s->time_s[b] - leave_s), 0.0);
        const bool known = between != LOST && (few || !isnan(s->x_m[i]));
        s->x_m[i] = known ? s->x_m[a] + part * way_x_m : NAN;
        s->y_m[i] = known ? s->y_m[a] + part * way_y_m : NAN;
    }
}

/* A gap in the log is not bridged. */
static void join_fixes(struct kw_session *s,
                       const struct fixes *fixes,
                       double interval_s)
{
    size_t gap = 0;
    for (size_t i = 1; i < fixes->n; i++) {
        while (gap < s->gaps.n && s->gaps.items[gap].to <= fixes->at[i - 1])
            gap++;
        if (gap == s->gaps.n || s->gaps.items[gap].to > fixes->at[i])
            join(s, fixes->at[i - 1], fixes->at[i], interval_s);
    }
}

/* ---- a receiver that hangs ----------------------------------------------- */

/* A fix that stands for so long while the engine drives for this share of it,
 * at more than this share of its top end, is none. Common practice, no source.
 */
static const double HANGS_S = 8.0;
static const double DRIVEN_SHARE = 0.5;
static const double DRIVES_SHARE = 0.5;
/* The slowest receivers send a fix each second (common practice, no source):
 * over one such interval a speed is led over to the next (signal/hold.h). */
static const double LED_OVER_S = 1.0;

/* From one fix to the next, or to the end of the log. Blank rows behind the
 * last repeat are no fix that stands: there the receiver has none. */
static bool hangs(const struct kw_session *s,
                  size_t from,
                  size_t to,
                  double top_rpm)
{
    size_t last = to - 1;
    while (last > from && isnan(s->x_m[last]))
        last--;
    const double held_s = s->time_s[last] - s->time_s[from];
    if (held_s < HANGS_S ||
        (to < s->n_samples && hypot(s->x_m[to] - s->x_m[from],
                                    s->y_m[to] - s->y_m[from]) >= STOOD_M))
        return false;
    double driven_s = 0.0;
    for (size_t i = from + 1; i <= last; i++) {
        if (s->rpm[i] > DRIVES_SHARE * top_rpm)
            driven_s += s->time_s[i] - s->time_s[i - 1];
    }
    return driven_s > DRIVEN_SHARE * held_s;
}

/* A speed that the receiver writes hangs with its fix, from a little later on
 * it may be; one that is measured by a wheel goes on. */
static bool speed_hangs(const struct kw_session *s, size_t from, size_t to)
{
    double held_m_s = NAN;
    for (size_t i = from + 1; s->speed_m_s != NULL && i < to; i++) {
        const double speed_m_s = s->speed_m_s[i];
        if (isnan(speed_m_s) || s->time_s[i] - s->time_s[from] < LOST_S ||
            s->time_s[to - 1] - s->time_s[i] < LED_OVER_S)
            continue;
        if (isnan(held_m_s))
            held_m_s = speed_m_s;
        if (fabs(speed_m_s - held_m_s) > 0.0)
            return false;
    }
    return !isnan(held_m_s);
}

/* The fix, and what hangs with it. */
static void forget(struct kw_session *s, size_t from, size_t to)
{
    const bool with_speed = speed_hangs(s, from, to);
    for (size_t i = from + 1; i < to; i++) {
        s->x_m[i] = s->y_m[i] = NAN;
        if (with_speed)
            s->speed_m_s[i] = NAN;
    }
}

/* A kart that stands has an engine that idles. */
static enum kw_status forget_hangs(struct kw_session *s,
                                   const struct fixes *fixes,
                                   double *scratch,
                                   struct kw_error *error)
{
    const double top_rpm =
        kw_quantile_of_sample(s->rpm, s->n_samples, 0.99, scratch);
    double first_s = NAN;
    double sum_s = 0.0;
    for (size_t k = 0; k < fixes->n; k++) {
        const size_t from = fixes->at[k];
        const size_t to = k + 1 < fixes->n ? fixes->at[k + 1] : s->n_samples;
        if (!hangs(s, from, to, top_rpm))
            continue;
        first_s = isnan(first_s) ? s->time_s[from] : first_s;
        sum_s += s->time_s[to - 1] - s->time_s[from];
        forget(s, from, to);
    }
    if (isnan(first_s))
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "position: it stood still for ");
    kw_text_add_number(&text, sum_s, 0);
    kw_text_add(&text, " s while the engine drove, from ");
    kw_text_add_number(&text, first_s, 1);
    kw_text_add(&text, " s on: taken as missing");
    return kw_notices_tell(&s->notices, 0, &text, error);
}

/* Noise of one fix along one axis, in metres: from third differences of x,
 * which steady braking and a steady bend hardly enter. */
static double fix_noise_m(const struct kw_session *s,
                          const struct fixes *fixes,
                          double *scratch)
{
    size_t kept = 0;
    for (size_t i = 3; i < fixes->n; i++) {
        const size_t *at = &fixes->at[i - 3];
        scratch[kept++] = fabs(s->x_m[at[3]] - 3.0 * s->x_m[at[2]] +
                               3.0 * s->x_m[at[1]] - s->x_m[at[0]]);
    }
    /* The root of 1 + 9 + 9 + 1. */
    return kw_median(scratch, kept, scratch) * KW_MAD_TO_SD / sqrt(20.0);
}

/* How speed is derived: over which window, with which error along one axis. */
struct speed_plan {
    double window_s;
    double error_m_s;
};

/* Wide enough for the speed's error that is wanted: s / step * (12 / n^3)^0.5
 * for n fixes in the window, solved for n * step. */
static struct speed_plan plan_speed(double interval_s, double noise_m)
{
    const double wanted = SPEED_ERROR_M_S * SPEED_ERROR_M_S;
    const double wide_s = cbrt(12.0 * noise_m * noise_m * interval_s / wanted);
    struct speed_plan plan;
    plan.window_s = fmin(fmax(SPEED_WINDOW_S, wide_s), WIDEST_SPEED_WINDOW_S);
    plan.window_s = fmax(plan.window_s, SPEED_WINDOW_FIXES * interval_s);
    plan.error_m_s =
        noise_m * sqrt(12.0 * interval_s / pow(plan.window_s, 3.0));
    return plan;
}

/* Noise along two axes makes a standing kart move: its share of the square is
 * taken out. */
static double speed_of(double vx_m_s, double vy_m_s, double error_m_s)
{
    const double square =
        vx_m_s * vx_m_s + vy_m_s * vy_m_s - 2.0 * error_m_s * error_m_s;
    return isnan(square) ? NAN : sqrt(fmax(square, 0.0));
}

/* The slopes of east and north are fitted each for itself and then joined, so
 * that noise across the path does not lengthen it as adding up distances would.
 */
static enum kw_status derive_speed(struct kw_session *s,
                                   const struct speed_plan *plan,
                                   struct kw_error *error)
{
    double *vx_m_s = kw_array_new(s->n_samples, sizeof *vx_m_s, error);
    double *speed_m_s = kw_array_new(s->n_samples, sizeof *speed_m_s, error);
    if (vx_m_s == NULL || speed_m_s == NULL) {
        free(vx_m_s);
        free(speed_m_s);
        return KW_NO_MEMORY;
    }
    kw_slope(s, s->x_m, plan->window_s, vx_m_s);
    kw_slope(s, s->y_m, plan->window_s, speed_m_s);
    for (size_t i = 0; i < s->n_samples; i++)
        speed_m_s[i] = speed_of(vx_m_s[i], speed_m_s[i], plan->error_m_s);
    free(vx_m_s);
    s->speed_m_s = speed_m_s;
    s->speed_is_derived = true;
    return KW_OK;
}

/* Fewer than two fixes are no path: the session has no position. */
static void drop_position(struct kw_session *s)
{
    free(s->x_m);
    free(s->y_m);
    s->x_m = s->y_m = NULL;
    s->origin_lat_deg = s->origin_lon_deg = NAN;
}

/* One notice for all of them; the map shows where they are missing. */
static enum kw_status tell_bad_fixes(struct kw_session *s,
                                     size_t n_bad,
                                     struct kw_error *error)
{
    if (n_bad == 0)
        return KW_OK;
    struct kw_text text = {0};
    kw_text_add(&text, "position: ");
    kw_text_add_whole(&text, (double)n_bad);
    kw_text_addf(&text,
                 " fix%s set aside, farther away than a kart can drive in the "
                 "time",
                 n_bad == 1 ? "" : "es");
    return kw_notices_tell(&s->notices, 0, &text, error);
}

/* The plane touches at the median fix: a wild one cannot move it. */
static void project(struct kw_session *s,
                    const double *lat_deg,
                    const double *lon_deg,
                    double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_samples; i++) {
        if (is_on_globe(lat_deg[i], lon_deg[i]))
            scratch[n++] = lat_deg[i];
    }
    s->origin_lat_deg = kw_median(scratch, n, scratch);
    n = 0;
    for (size_t i = 0; i < s->n_samples; i++) {
        if (is_on_globe(lat_deg[i], lon_deg[i]))
            scratch[n++] = lon_deg[i];
    }
    s->origin_lon_deg = kw_median(scratch, n, scratch);
    const struct kw_plane plane =
        kw_plane_at(s->origin_lat_deg, s->origin_lon_deg);
    for (size_t i = 0; i < s->n_samples; i++) {
        if (is_on_globe(lat_deg[i], lon_deg[i]))
            kw_plane_project(&plane, lat_deg[i], lon_deg[i], &s->x_m[i],
                             &s->y_m[i]);
    }
}

/* Fixes first, speed last: the joined path is what speed is derived from. */
enum kw_status kw_place_session(struct kw_session *session,
                                const double *lat_deg,
                                const double *lon_deg,
                                struct kw_error *error)
{
    const size_t n = session->n_samples;
    enum kw_status status = KW_NO_MEMORY;
    struct fixes fixes = {.at = kw_array_new(n, sizeof *fixes.at, error)};
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    session->x_m = kw_array_new_nan(n, error);
    session->y_m = kw_array_new_nan(n, error);
    if (fixes.at == NULL || scratch == NULL || session->x_m == NULL ||
        session->y_m == NULL)
        goto done;
    project(session, lat_deg, lon_deg, scratch);
    find_fixes(session, &fixes);
    const double interval_s = fix_interval_s(session, &fixes, scratch);
    /* Noise is asked before the fixes are joined: joined samples have none. */
    const struct speed_plan plan =
        plan_speed(interval_s, fix_noise_m(session, &fixes, scratch));
    join_fixes(session, &fixes, interval_s);
    status = tell_bad_fixes(session, fixes.n_bad, error);
    if (status == KW_OK)
        status = forget_hangs(session, &fixes, scratch, error);
    if (fixes.n < 2)
        drop_position(session);
    else if (status == KW_OK && session->speed_m_s == NULL)
        status = derive_speed(session, &plan, error);
done:
    free(scratch);
    free(fixes.at);
    return status;
}

bool kw_has_place(const struct kw_session *session, size_t i)
{
    return !isnan(session->x_m[i]) && !isnan(session->y_m[i]);
}
