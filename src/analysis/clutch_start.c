/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finds the starts through the clutch.
 *
 * The engine leaves idle, the clutch takes hold and lets the engine rise no
 * further (its capacity grows with the square of speed), the kart gathers speed
 * until it has caught up, and from that knee both climb together. The knee is
 * found by least squares; with a speed channel the slip itself is looked at. */
#include "analysis/clutch_start.h"

#include "analysis/clutch_knee.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/hold.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The contract's: engine and axle turn together, and what is a walk. */
static const double LOCKED_SLIP = 0.03;
static const double WALK_SHARE = 0.75;

/* Below this many times idle the clutch is open on every kart (it takes hold at
 * 1.4 to 2.5 times idle: common practice, no source); idle where it is not
 * known, as a share of the highest RPM. */
static const double OPEN_TIMES_IDLE = 1.22;
static const double IDLE_SHARE_OF_TOP = 0.13;
/* Of the hold: where the clutch takes hold when the profile does not say. The
 * capacity that the engine needs comes some 15 to 20 % above it. */
static const double TAKES_HOLD_SHARE = 0.84;
/* The engine has to have been that low for so long, and up for so long. */
static const double LOW_S = 0.15;
static const double STOOD_S = 1.5;
static const double UP_S = 0.5;
static const double SHORTEST_S = 0.25;
/* A hold: RPM within this share over this time, this soon after idle. */
static const double FLAT_S = 0.35;
static const double FLAT_SHARE = 0.06;
static const double SOON_S = 4.0;
/* And below this share of the highest RPM. */
static const double HIGHEST_HOLD = 0.62;
/* Where the trace has left the hold, upward and downward. */
static const double CLIMBED = 0.07;
static const double CLIMB_END = 1.45;
static const double DROPPED = 0.94;
/* How long the climb is looked at, and a whole start at most. */
static const double CLIMB_S = 1.2;
static const double LEVELS_OFF_S = 0.25;
static const double LONGEST_S = 20.0;
/* A climb: this share of the hold each second at least, and of the highest RPM
 * at most: a free engine is three times faster than any kart. */
static const double LEAST_CLIMB = 0.05;
static const double MOST_CLIMB = 0.4;
/* A hold may drift by this share each second as the driver opens up. */
static const double MOST_DRIFT = 0.02;
/* The kart slows with the engine after a lift from a locked clutch: from the
 * hold to where it lets go takes so long at least. A free engine falls through
 * in a tenth of a second. */
static const double LETS_GO = 0.88;
static const double SLOWS_S = 0.14;
/* From the climb the axle's speed at the start is known to some 15 % of where
 * the clutch takes hold; slow corners come each lap, starts do not. */
static const double ROLLS_SHARE = 0.55;
/* Holds of one session are alike within this share. */
static const double ALIKE = 0.05;
/* Speed tells slip better than the knee when it scatters less than this. */
static const double CLEAN_SPEED = 0.012;

enum { MOST_POINTS = 240 };

/* What the search works on.
 *
 * rpm  rpm[n]: fresh readings joined by lines.  axle_rpm smoothed or NULL.
 * low_rpm  below it the clutch is open. */
struct search {
    const struct kw_session *session;
    const struct kw_profile *profile;
    const struct kw_drive *drive;
    double *rpm;
    double *axle_rpm;
    double low_rpm;
};

/* A rise from idle, and what the hold after it looks like. */
struct rise {
    size_t up;    /* first sample that is up */
    size_t flat;  /* the hold begins */
    size_t leave; /* first sample after it: climbed, dropped or too long */
    size_t stop;  /* end of what the knee is fitted to */
    double hold_rpm;
    bool climbs;
};

static size_t gap_after(const struct kw_session *session, size_t from)
{
    for (size_t g = 0; g < session->gaps.n; g++) {
        if (session->gaps.items[g].to > from)
            return session->gaps.items[g].to;
    }
    return session->n_samples;
}

static double after_s(const struct search *s, size_t from, size_t i)
{
    return s->session->time_s[i] - s->session->time_s[from];
}

/* The engine stays up after i (a reading may be missing). */
static bool stays_up(const struct search *s, size_t i)
{
    size_t seen = 0;
    for (size_t k = i; k < s->session->n_samples; k++) {
        if (after_s(s, i, k) > UP_S && seen > 1)
            return true;
        if (s->rpm[k] < s->low_rpm)
            return false;
        seen += isnan(s->rpm[k]) ? 0 : 1;
    }
    return false;
}

/* The engine idled before i, or stood and was started: a signal that was lost
 * for a moment reads low too. */
static bool idled_before(const struct search *s, size_t i)
{
    const double turning_rpm = 0.3 * s->low_rpm;
    bool turned = false;
    size_t first = i;
    while (first > 0 && !(s->rpm[first - 1] >= s->low_rpm)) {
        first--;
        turned = turned ||
                 (s->rpm[first] > turning_rpm && after_s(s, first, i) < UP_S);
    }
    return first == 0 || after_s(s, first, i) >= (turned ? LOW_S : STOOD_S);
}

static bool is_flat(const struct search *s, size_t from, size_t stop)
{
    double lowest = INFINITY;
    double highest = -INFINITY;
    size_t n = 0;
    const double least_s = fmax(FLAT_S, 1.6 / s->session->rate_hz);
    for (size_t k = from; k < stop; k++) {
        const bool enough = after_s(s, from, k) > least_s && n > 1;
        if (enough)
            break;
        if (isnan(s->rpm[k]))
            continue;
        lowest = fmin(lowest, s->rpm[k]);
        highest = fmax(highest, s->rpm[k]);
        n++;
    }
    return n > 1 &&
           highest - lowest < FLAT_SHARE * lowest + 3.0 * s->drive->noise_rpm;
}

/* Robust level of the flat stretch and what follows while it stays near. */
static double level_from(const struct search *s, size_t from, size_t stop)
{
    double values[MOST_POINTS];
    size_t n = 0;
    for (size_t k = from; k < stop && n < MOST_POINTS; k++) {
        if (after_s(s, from, k) > 2.0 * FLAT_S && n > 2)
            break;
        if (!isnan(s->rpm[k]))
            values[n++] = s->rpm[k];
    }
    return kw_median(values, n, values);
}

/* The climb lasts while RPM finds new heights. */
static void follow_climb(const struct search *s,
                         struct rise *rise,
                         size_t wall)
{
    double highest_rpm = s->rpm[rise->leave];
    size_t at = rise->leave;
    for (size_t k = at; k < wall && after_s(s, rise->leave, k) < CLIMB_S &&
                        highest_rpm < CLIMB_END * rise->hold_rpm;
         k++) {
        if (s->rpm[k] > highest_rpm + s->drive->noise_rpm) {
            highest_rpm = s->rpm[k];
            at = k;
        }
        if (after_s(s, at, k) > fmax(LEVELS_OFF_S, 2.1 * s->drive->fresh_s))
            break;
    }
    rise->stop = at + 1;
}

/* From the hold on: where it is left, and whether by a climb. */
static void follow_hold(const struct search *s, struct rise *rise, size_t wall)
{
    const double noise_rpm = s->drive->noise_rpm;
    const double high_rpm =
        rise->hold_rpm + fmax(CLIMBED * rise->hold_rpm, 5.0 * noise_rpm);
    const double low_rpm = DROPPED * rise->hold_rpm - 3.0 * noise_rpm;
    size_t k = rise->flat;
    while (k < wall && after_s(s, rise->flat, k) < LONGEST_S &&
           !(s->rpm[k] > high_rpm) && !(s->rpm[k] < low_rpm))
        k++;
    rise->leave = k;
    rise->stop = k;
    rise->climbs = k < wall && s->rpm[k] > high_rpm;
    if (rise->climbs)
        follow_climb(s, rise, wall);
}

/* The first hold from a sample on, soon after the engine was up. */
static bool find_hold(const struct search *s,
                      size_t up,
                      size_t from,
                      struct rise *rise)
{
    *rise = (struct rise){.up = up};
    const size_t wall = gap_after(s->session, up);
    const double most_rpm = HIGHEST_HOLD * s->drive->top_rpm;
    size_t k = from;
    while (k < wall && after_s(s, from, k) < SOON_S &&
           !(s->rpm[k] < s->low_rpm) && !(s->rpm[k] > most_rpm)) {
        if (!isnan(s->rpm[k]) && is_flat(s, k, wall)) {
            rise->flat = k;
            rise->hold_rpm = level_from(s, k, wall);
            if (!(rise->hold_rpm < most_rpm))
                return false;
            follow_hold(s, rise, wall);
            return true;
        }
        k++;
    }
    return false;
}

/* The trace from the hold to the end of the climb, in at most MOST_POINTS
 * points: means of equal blocks. */
static size_t take_points(const struct search *s,
                          const struct rise *rise,
                          double *t,
                          double *y)
{
    const size_t block = (rise->stop - rise->flat) / MOST_POINTS + 1;
    size_t n = 0;
    for (size_t from = rise->flat; from < rise->stop; from += block) {
        double sum_s = 0.0;
        double sum_rpm = 0.0;
        size_t count = 0;
        for (size_t i = from; i < from + block && i < rise->stop; i++) {
            if (isnan(s->rpm[i]))
                continue;
            sum_s += s->session->time_s[i];
            sum_rpm += s->rpm[i];
            count++;
        }
        if (count > 0 && n < MOST_POINTS) {
            t[n] = sum_s / (double)count;
            y[n++] = sum_rpm / (double)count;
        }
    }
    return n;
}

/* When RPM, on its way up to the hold, last passed a level. */
static double passed_s(const struct search *s,
                       const struct rise *rise,
                       double level_rpm)
{
    const double *time_s = s->session->time_s;
    size_t i = rise->flat;
    while (i > 0 && !(s->rpm[i] < level_rpm))
        i--;
    size_t next = i + 1;
    while (next < s->session->n_samples && isnan(s->rpm[next]))
        next++;
    if (next >= s->session->n_samples || !(s->rpm[next] > s->rpm[i]))
        return time_s[i];
    const double part = (level_rpm - s->rpm[i]) / (s->rpm[next] - s->rpm[i]);
    return time_s[i] + fmin(part, 1.0) * (time_s[next] - time_s[i]);
}

/* Where this clutch takes hold. */
static double takes_hold_rpm(const struct search *s, double hold_rpm)
{
    const double stated = s->profile->clutch_rpm;
    if (stated > 0.65 * hold_rpm && stated < 0.99 * hold_rpm)
        return stated;
    return TAKES_HOLD_SHARE * hold_rpm;
}

/* The last sample before RPM fell out of the hold. */
static size_t last_in_hold(const struct search *s, const struct rise *rise)
{
    size_t i = rise->leave - 1;
    while (i > rise->flat && !(s->rpm[i] >= 0.975 * rise->hold_rpm))
        i--;
    return i;
}

/* After a lift the engine slowed with the kart: the clutch had locked. */
static bool slows_with_kart(const struct search *s, const struct rise *rise)
{
    const double lets_go_rpm = LETS_GO * rise->hold_rpm;
    size_t k = rise->leave;
    while (k < s->session->n_samples && !(s->rpm[k] < lets_go_rpm))
        k++;
    return k < s->session->n_samples && after_s(s, last_in_hold(s, rise), k) >=
                                            SLOWS_S + 0.5 / s->session->rate_hz;
}

/* From the shape of RPM alone. */
static bool start_by_rpm(const struct search *s,
                         const struct rise *rise,
                         struct kw_start *start)
{
    double t[MOST_POINTS];
    double y[MOST_POINTS];
    struct kw_knee knee;
    start->climb_rpm_s = NAN;
    if (!rise->climbs) {
        start->locked_s = s->session->time_s[last_in_hold(s, rise)];
        return rise->leave < s->session->n_samples;
    }
    const size_t n = take_points(s, rise, t, y);
    const double most_drift = MOST_DRIFT * rise->hold_rpm;
    if (!kw_fit_knee(t, y, n, most_drift, &knee) ||
        knee.climb < LEAST_CLIMB * rise->hold_rpm ||
        knee.climb > MOST_CLIMB * s->drive->top_rpm)
        return false;
    start->climb_rpm_s = knee.climb + knee.drift;
    const double at_knee = knee.level + knee.drift * (knee.knee_s - t[0]);
    start->locked_s = knee.knee_s - LOCKED_SLIP * at_knee / knee.climb;
    return true;
}

/* The axle's speed at the start as the climb tells: the kart gathers speed as
 * fast while the clutch slips as after. */
static bool rolls_already(const struct kw_start *start, double hold_rpm)
{
    const double gained =
        start->climb_rpm_s * (start->locked_s - start->start_s);
    return (1.0 - LOCKED_SLIP) * hold_rpm - gained >
           ROLLS_SHARE * start->start_rpm;
}

static size_t sample_at(const struct kw_session *session, double time_s)
{
    size_t low = 0;
    size_t high = session->n_samples;
    while (high - low > 1) {
        const size_t mid = low + (high - low) / 2;
        if (session->time_s[mid] <= time_s)
            low = mid;
        else
            high = mid;
    }
    return low;
}

/* When the axle came within 3 % of the engine: the root of the line through
 * what they differ by on the way there. NAN when they never meet. */
static double met_s(const struct search *s, size_t from, size_t stop)
{
    const double *time_s = s->session->time_s;
    size_t met = from;
    while (met < stop &&
           !(s->axle_rpm[met] >= (1.0 - LOCKED_SLIP) * s->rpm[met]))
        met++;
    if (met == stop)
        return NAN;
    double n = 0.0, sum_t = 0.0, sum_y = 0.0, sum_tt = 0.0, sum_ty = 0.0;
    for (size_t i = met + 1; i-- > from && after_s(s, i, met) < 0.7;) {
        const double y = (1.0 - LOCKED_SLIP) - s->axle_rpm[i] / s->rpm[i];
        const double t = time_s[i] - time_s[met];
        if (isnan(y))
            continue;
        n += 1.0;
        sum_t += t;
        sum_y += y;
        sum_tt += t * t;
        sum_ty += t * y;
    }
    const double slope =
        (n * sum_ty - sum_t * sum_y) / (n * sum_tt - sum_t * sum_t);
    if (!(n >= 3.0) || !(slope < 0.0))
        return time_s[met];
    const double root = (sum_t - sum_y / slope) / n;
    return time_s[met] + fmin(fmax(root, -0.4), 0.3);
}

/* The kart rolled when the clutch took hold and went on slowing: the start is
 * where the axle has come down to a walk. False when it never does. */
static bool wait_for_walk(const struct search *s,
                          const struct rise *rise,
                          struct kw_start *start)
{
    const double walk_rpm = WALK_SHARE * start->start_rpm;
    size_t i = sample_at(s->session, start->start_s);
    while (i < rise->leave && s->axle_rpm[i] >= walk_rpm)
        i++;
    if (i >= rise->leave)
        return false;
    start->start_s = fmax(start->start_s, s->session->time_s[i]);
    start->axle_rpm = s->axle_rpm[i];
    return true;
}

/* A receiver that has lost the sky shows a speed that stands still. */
static bool axle_moves(const struct search *s, size_t from, size_t stop)
{
    double highest = 0.0;
    for (size_t i = from; i < stop; i++)
        highest = fmax(highest, s->axle_rpm[i] / s->rpm[i]);
    return highest > 0.25;
}

/* Looks at the slip itself. False when it shows that this was no start. */
static bool look_at_slip(const struct search *s,
                         const struct rise *rise,
                         bool has_knee,
                         struct kw_start *start)
{
    if (s->axle_rpm == NULL || !wait_for_walk(s, rise, start))
        return s->axle_rpm == NULL;
    if (isnan(start->axle_rpm))
        return true;
    const size_t from = sample_at(s->session, start->start_s);
    const size_t wall = gap_after(s->session, rise->flat);
    size_t stop = rise->climbs ? rise->stop : last_in_hold(s, rise) + 1;
    while (rise->climbs && stop < wall && after_s(s, rise->leave, stop) < 1.0)
        stop++;
    const double locked_s = met_s(s, from, stop);
    if (isnan(locked_s))
        return has_knee && axle_moves(s, from, stop);
    start->by_speed = true;
    if (!has_knee || s->drive->scatter < CLEAN_SPEED)
        start->locked_s = locked_s;
    return true;
}

static double mean_rpm(const struct search *s, double from_s, double to_s)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = sample_at(s->session, from_s);
         i < s->session->n_samples && s->session->time_s[i] <= to_s; i++) {
        if (s->session->time_s[i] < from_s || isnan(s->rpm[i]))
            continue;
        sum += s->rpm[i];
        n++;
    }
    return n > 0 ? sum / (double)n : NAN;
}

/* A hold by the driver's foot, with nothing on the clutch, is no start. */
static bool had_locked(const struct search *s,
                       const struct rise *rise,
                       const struct kw_start *start)
{
    return rise->climbs || start->by_speed || slows_with_kart(s, rise);
}

/* Judges one hold. */
static bool judge(const struct search *s,
                  const struct rise *rise,
                  struct kw_start *start)
{
    *start = (struct kw_start){.axle_rpm = NAN};
    start->start_rpm =
        fmax(takes_hold_rpm(s, rise->hold_rpm), 1.01 * s->low_rpm);
    if (start->start_rpm > 0.95 * rise->hold_rpm)
        return false;
    start->start_s = passed_s(s, rise, start->start_rpm);
    const bool shaped = start_by_rpm(s, rise, start);
    if (!shaped && s->axle_rpm == NULL)
        return false;
    if (!look_at_slip(s, rise, shaped && rise->climbs, start))
        return false;
    if (!start->by_speed && (!shaped || rolls_already(start, rise->hold_rpm)))
        return false;
    if (!had_locked(s, rise, start) ||
        start->locked_s - start->start_s < SHORTEST_S)
        return false;
    start->hold_rpm = mean_rpm(s, start->start_s, start->locked_s);
    if (isnan(start->hold_rpm))
        start->hold_rpm = rise->hold_rpm;
    return true;
}

/* The first hold may be a blip of the throttle on the way: one that is left
 * upward gives way to the next. */
static bool look_at_rise(const struct search *s,
                         size_t up,
                         struct kw_start *start,
                         size_t *go_on)
{
    struct rise rise;
    size_t from = up;
    for (int tries = 0; tries < 3; tries++) {
        if (!find_hold(s, up, from, &rise))
            return false;
        *go_on = rise.flat + 1;
        if (judge(s, &rise, start))
            return true;
        if (!rise.climbs)
            return false;
        from = rise.leave;
    }
    return false;
}

static enum kw_status search_all(const struct search *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    out->n = 0;
    size_t go_on = 1;
    for (size_t i = 1; i < s->session->n_samples; i = go_on) {
        go_on = i + 1;
        struct kw_start start;
        if (!(s->rpm[i] >= s->low_rpm) || s->rpm[i - 1] >= s->low_rpm ||
            !stays_up(s, i) || !idled_before(s, i) ||
            !look_at_rise(s, i, &start, &go_on))
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] = start;
    }
    return KW_OK;
}

/* Median hold: of the starts with a knee or a speed where there are any. */
static double usual_hold_rpm(const struct kw_starts *starts,
                             bool sure,
                             double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start *start = &starts->items[i];
        if (!sure || start->by_speed || !isnan(start->climb_rpm_s))
            scratch[n++] = start->hold_rpm;
    }
    return kw_median(scratch, n, scratch);
}

/* Starts without a knee or a speed must hold like the others, or like each
 * other when all are so; a lone one must fit the profile. */
static enum kw_status keep_alike(const struct search *s,
                                 struct kw_starts *starts,
                                 struct kw_error *error)
{
    double *scratch = kw_array_new(starts->n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    double usual_rpm = usual_hold_rpm(starts, true, scratch);
    if (isnan(usual_rpm) && starts->n > 1)
        usual_rpm = usual_hold_rpm(starts, false, scratch);
    if (isnan(usual_rpm))
        usual_rpm = s->profile->clutch_rpm / TAKES_HOLD_SHARE;
    size_t kept = 0;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start start = starts->items[i];
        const bool sure = start.by_speed || !isnan(start.climb_rpm_s);
        if (sure || fabs(start.hold_rpm - usual_rpm) < ALIKE * usual_rpm)
            starts->items[kept++] = start;
    }
    starts->n = kept;
    free(scratch);
    return KW_OK;
}

/* The axle smoothed as far as its scatter asks for. */
static enum kw_status take_axle(struct search *s, struct kw_error *error)
{
    if (s->drive->axle_rpm == NULL)
        return KW_OK;
    s->axle_rpm = kw_array_new_nan(s->session->n_samples, error);
    if (s->axle_rpm == NULL)
        return KW_NO_MEMORY;
    kw_smooth(s->session, s->drive->axle_rpm,
              s->drive->scatter < CLEAN_SPEED ? 0.1 : 0.4, s->axle_rpm);
    return KW_OK;
}

static double first_low_rpm(const struct search *s)
{
    const double idle_rpm = isnan(s->drive->idle_rpm)
                                ? IDLE_SHARE_OF_TOP * s->drive->top_rpm
                                : s->drive->idle_rpm;
    const double low_rpm = OPEN_TIMES_IDLE * idle_rpm;
    return s->profile->clutch_rpm > 0.0
               ? fmax(0.85 * s->profile->clutch_rpm,
                      fmin(low_rpm, 0.95 * s->profile->clutch_rpm))
               : low_rpm;
}

/* A second look where the first has told how high the clutch holds: after a
 * spin the engine may not have come down to its idle. */
static enum kw_status look_again(struct search *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    double *scratch = kw_array_new(out->n, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double hold_rpm = usual_hold_rpm(out, true, scratch);
    free(scratch);
    const double low_rpm = 0.92 * takes_hold_rpm(s, hold_rpm);
    if (!(low_rpm > s->low_rpm))
        return KW_OK;
    s->low_rpm = low_rpm;
    return search_all(s, out, error);
}

enum kw_status kw_find_starts(const struct kw_scene *scene,
                              const struct kw_drive *drive,
                              struct kw_starts *out,
                              struct kw_error *error)
{
    *out = (struct kw_starts){0};
    struct search s = {
        .session = scene->session, .profile = scene->profile, .drive = drive};
    s.rpm = kw_array_new(scene->session->n_samples, sizeof *s.rpm, error);
    if (s.rpm == NULL)
        return KW_NO_MEMORY;
    memcpy(s.rpm, scene->session->rpm,
           scene->session->n_samples * sizeof *s.rpm);
    s.low_rpm = first_low_rpm(&s);
    enum kw_status status = kw_join_updates(scene->session, s.rpm, error);
    if (status == KW_OK)
        status = take_axle(&s, error);
    if (status == KW_OK)
        status = search_all(&s, out, error);
    if (status == KW_OK)
        status = look_again(&s, out, error);
    if (status == KW_OK)
        status = keep_alike(&s, out, error);
    free(s.rpm);
    free(s.axle_rpm);
    if (status != KW_OK)
        kw_starts_free(out);
    return status;
}

void kw_starts_free(struct kw_starts *starts)
{
    free(starts->items);
    *starts = (struct kw_starts){0};
}
