/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finds the starts through the clutch.
 *
 * The engine leaves idle, the clutch takes hold and lets the engine rise no
 * further (its capacity grows with the square of speed), the kart gathers speed
 * until it has caught up, and from that knee both climb together. The knee is
 * found by least squares; with a speed channel the slip itself is looked at. */
#include "analysis/clutch_start.h"

#include "analysis/clutch_hold.h"
#include "analysis/clutch_knee.h"
#include "analysis/lap_axis.h"
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
 * capacity that the engine needs comes some 7 to 20 % above it. */
static const double TAKES_HOLD_SHARE = 0.87;
/* What the profile states is believed from the first of these shares of the
 * hold on, and is no more than the second. */
static const double LEAST_STATED = 0.65;
static const double MOST_STATED = 0.975;
static const double SHORTEST_S = 0.25;
/* A climb: this share of the hold each second at least, and of the highest RPM
 * at most: a free engine is three times faster than any kart. */
static const double LEAST_CLIMB = 0.05;
static const double MOST_CLIMB = 0.25;
static const double FIRST_PART = 0.6;
static const double STEEPER = 1.4;
static const double STEP_SHARE = 0.2;
/* A hold may drift by this share each second as the driver opens up. */
static const double MOST_DRIFT = 0.02;
/* The kart slows with the engine after a lift from a locked clutch: from the
 * hold to where it lets go takes so long at least. A free engine falls through
 * in a tenth of a second. */
static const double LETS_GO = 0.88;
static const double SLOWS_S = 0.14;
/* A free engine rises to the hold in a small part of the time that the clutch
 * then slips, no more than this share, or is held on the way, which drifts by
 * this share each second at most. A foot that revs it up on the stand, and a
 * kart without a clutch that is pushed off, rise steadily in between. */
static const double RISES_SHARE = 0.33;
static const double HELD_DRIFT = 0.04;
/* A kart that has braked for a slow corner does not idle for so long. */
static const double AT_REST_S = 2.0;
/* From the climb the axle's speed at the start is known to some 15 % of where
 * the clutch takes hold; slow corners come each lap, starts do not. */
static const double ROLLS_SHARE = 0.66;
/* Holds of one session are alike within this share. */
static const double ALIKE = 0.05;
static const double LIKE = 0.12;
/* Speed tells slip better than the knee when it scatters less than this. */
static const double CLEAN_SPEED = 0.012;

/* So near to locked, what is left is the lag of a slow receiver. */
static const double NEARLY_LOCKED = 0.9;

enum { MOST_POINTS = 240 };

/* LOOK_ON: what comes after this hold may be the start. */
enum judgement { NO_START, LOOK_ON, STARTS };

/* The trace from the hold to the end of the climb, in at most MOST_POINTS
 * points: means of equal blocks. */
static size_t take_points(const struct kw_clutch_trace *s,
                          const struct kw_rise *rise,
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
static double passed_s(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise,
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

/* Where this clutch takes hold: as stated, which may be just below the hold. */
static double takes_hold_rpm(const struct kw_clutch_trace *s, double hold_rpm)
{
    const double stated = s->profile->clutch_rpm;
    if (stated > LEAST_STATED * hold_rpm)
        return fmin(stated, MOST_STATED * hold_rpm);
    return TAKES_HOLD_SHARE * hold_rpm;
}

/* After a lift the engine slowed with the kart: the clutch had locked. */
static bool slows_with_kart(const struct kw_clutch_trace *s,
                            const struct kw_rise *rise)
{
    const double lets_go_rpm = LETS_GO * rise->hold_rpm;
    size_t k = rise->leave;
    while (k < s->session->n_samples && !(s->rpm[k] < lets_go_rpm))
        k++;
    return k < s->session->n_samples &&
           kw_after_s(s, kw_last_in_hold(s, rise), k) >=
               SLOWS_S + 0.5 / s->session->rate_hz;
}

/* The knee before the climb. A driver who eases off soon (out of the pits, say)
 * rounds the climb: its first part alone is fitted when that is steeper. */
static bool fit_climb(const struct kw_clutch_trace *s,
                      const struct kw_rise *rise,
                      struct kw_knee *knee)
{
    double t[MOST_POINTS];
    double y[MOST_POINTS];
    const size_t n = take_points(s, rise, t, y);
    const double most_drift = MOST_DRIFT * rise->hold_rpm;
    if (n < 5 || !kw_fit_knee(t, y, n, most_drift, knee))
        return false;
    size_t early = n;
    while (early > 0 &&
           y[early - 1] >
               rise->hold_rpm + FIRST_PART * (y[n - 1] - rise->hold_rpm))
        early--;
    struct kw_knee first;
    if (kw_fit_knee(t, y, early + 1 < n ? early + 1 : n, most_drift, &first) &&
        first.climb > STEEPER * knee->climb)
        *knee = first;
    return true;
}

/* From the shape of RPM alone. */
static bool start_by_rpm(const struct kw_clutch_trace *s,
                         const struct kw_rise *rise,
                         struct kw_start *start)
{
    struct kw_knee knee;
    start->climb_rpm_s = NAN;
    if (!rise->climbs) {
        start->locked_s = s->session->time_s[kw_last_in_hold(s, rise)];
        return rise->drops;
    }
    if (!fit_climb(s, rise, &knee) ||
        knee.climb < LEAST_CLIMB * rise->hold_rpm ||
        knee.climb > MOST_CLIMB * s->drive->top_rpm)
        return false;
    start->climb_rpm_s = knee.climb + knee.drift;
    start->locked_s = knee.knee_s - LOCKED_SLIP * rise->hold_rpm / knee.climb;
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

/* When the axle came within 3 % of the engine: the root of the line through
 * what they differ by on the way there. NAN when they never meet, or only after
 * the engine has fallen below a level: the driver lifted before the clutch had
 * locked. */
static double met_s(const struct kw_clutch_trace *s,
                    size_t from,
                    size_t stop,
                    double least_rpm)
{
    const double *time_s = s->session->time_s;
    size_t met = from;
    while (met < stop &&
           !(s->axle_rpm[met] >= (1.0 - LOCKED_SLIP) * s->rpm[met]))
        met++;
    if (met == stop || s->rpm[met] < least_rpm)
        return NAN;
    double n = 0.0, sum_t = 0.0, sum_y = 0.0, sum_tt = 0.0, sum_ty = 0.0;
    for (size_t i = met + 1; i-- > from && kw_after_s(s, i, met) < 0.7;) {
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
static bool wait_for_walk(const struct kw_clutch_trace *s,
                          const struct kw_rise *rise,
                          struct kw_start *start)
{
    const double walk_rpm = WALK_SHARE * start->start_rpm;
    size_t i =
        kw_sample_at(s->session->time_s, s->session->n_samples, start->start_s);
    while (i < rise->leave && s->axle_rpm[i] >= walk_rpm)
        i++;
    if (i >= rise->leave)
        return false;
    start->start_s = fmax(start->start_s, s->session->time_s[i]);
    start->axle_rpm = s->axle_rpm[i];
    return true;
}

/* A receiver that has lost the sky shows a speed that stands still. */
static bool axle_moves(const struct kw_clutch_trace *s,
                       size_t from,
                       size_t stop)
{
    double highest = 0.0;
    for (size_t i = from; i < stop; i++)
        highest = fmax(highest, s->axle_rpm[i] / s->rpm[i]);
    return highest > 0.25;
}

/* When the clutch locked as the speed shows it; NAN when it did not. A driver
 * who lifts just as it locks leaves no slip under 3 % to be seen. */
static double locked_by_speed_s(const struct kw_clutch_trace *s,
                                const struct kw_rise *rise,
                                const struct kw_start *start)
{
    const size_t walk =
        kw_sample_at(s->session->time_s, s->session->n_samples, start->start_s);
    const size_t from = walk > rise->flat ? walk : rise->flat;
    const size_t wall = kw_gap_after(s->session, rise->flat);
    size_t stop = rise->stop;
    while (stop < wall && kw_after_s(s, rise->leave, stop) < 1.0)
        stop++;
    const double locked_s = met_s(s, from, stop, 0.92 * rise->hold_rpm);
    const size_t last = kw_last_in_hold(s, rise);
    if (isnan(locked_s) && !rise->climbs &&
        s->axle_rpm[last] > NEARLY_LOCKED * s->rpm[last])
        return s->session->time_s[last];
    if (isnan(locked_s) && !axle_moves(s, from, stop))
        return INFINITY;
    return locked_s;
}

/* The axle is far behind the engine where RPM alone says that it locked. */
static bool lags_far(const struct kw_clutch_trace *s,
                     const struct kw_start *start)
{
    const size_t i = kw_sample_at(s->session->time_s, s->session->n_samples,
                                  start->locked_s);
    return s->axle_rpm[i] < 0.8 * s->rpm[i];
}

/* Looks at the slip itself, where the log shows it.
 *
 * has_knee  RPM alone shows when the clutch locked. */
static enum judgement look_at_slip(const struct kw_clutch_trace *s,
                                   const struct kw_rise *rise,
                                   bool has_knee,
                                   struct kw_start *start)
{
    if (s->axle_rpm == NULL)
        return has_knee ? STARTS : LOOK_ON;
    if (!wait_for_walk(s, rise, start))
        return NO_START;
    if (isnan(start->axle_rpm))
        return has_knee ? STARTS : LOOK_ON;
    const bool has_climb = has_knee && rise->climbs;
    const double locked_s = locked_by_speed_s(s, rise, start);
    if (isinf(locked_s))
        return LOOK_ON;
    if (isnan(locked_s))
        return has_climb && !lags_far(s, start) ? STARTS : LOOK_ON;
    start->by_speed = true;
    if (!has_climb || s->drive->scatter < CLEAN_SPEED)
        start->locked_s = locked_s;
    return STARTS;
}

static double mean_rpm(const struct kw_clutch_trace *s,
                       double from_s,
                       double to_s)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i =
             kw_sample_at(s->session->time_s, s->session->n_samples, from_s);
         i < s->session->n_samples && s->session->time_s[i] <= to_s; i++) {
        if (s->session->time_s[i] < from_s || isnan(s->rpm[i]))
            continue;
        sum += s->rpm[i];
        n++;
    }
    return n > 0 ? sum / (double)n : NAN;
}

/* The engine rose with nothing to move but itself, or was held by the clutch.
 */
static bool rose_by_clutch(const struct kw_clutch_trace *s,
                           const struct kw_rise *rise,
                           const struct kw_start *start)
{
    const double rose_s = s->session->time_s[rise->flat] - start->start_s;
    const double rose = 1.0 - start->start_rpm / rise->hold_rpm;
    return rose_s < RISES_SHARE * (start->locked_s - start->start_s) ||
           rose < HELD_DRIFT * rose_s;
}

/* A hold by the driver's foot, with nothing on the clutch, is no start. Where
 * RPM alone ends with a lift, the kart must have had time to come to rest. */
static bool had_locked(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise,
                       const struct kw_start *start)
{
    if (rise->climbs || start->by_speed)
        return true;
    return rose_by_clutch(s, rise, start) && slows_with_kart(s, rise) &&
           kw_low_before_s(s, rise->up) >= AT_REST_S;
}

/* The climb soon ends in another hold: the driver opened up in two steps. */
static bool levels_off(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise)
{
    return s->rpm[rise->stop - 1] < (1.0 + STEP_SHARE) * rise->hold_rpm;
}

/* Judges one hold. */
static enum judgement judge(const struct kw_clutch_trace *s,
                            const struct kw_rise *rise,
                            struct kw_start *start)
{
    *start = (struct kw_start){.axle_rpm = NAN};
    start->start_rpm =
        fmax(takes_hold_rpm(s, rise->hold_rpm), 1.01 * s->low_rpm);
    if (start->start_rpm > MOST_STATED * rise->hold_rpm)
        return LOOK_ON;
    start->start_s = passed_s(s, rise, start->start_rpm);
    const bool shaped = start_by_rpm(s, rise, start);
    enum judgement judgement = look_at_slip(s, rise, shaped, start);
    if (judgement != STARTS)
        return judgement;
    if (isnan(start->axle_rpm) && rolls_already(start, rise->hold_rpm))
        return levels_off(s, rise) ? LOOK_ON : NO_START;
    if (!had_locked(s, rise, start) ||
        start->locked_s - start->start_s < SHORTEST_S)
        return LOOK_ON;
    start->hold_rpm = mean_rpm(s, start->start_s, start->locked_s);
    if (isnan(start->hold_rpm))
        start->hold_rpm = rise->hold_rpm;
    return STARTS;
}

/* The first hold may be a blip of the throttle on the way: one that is left
 * upward gives way to the next. */
static bool look_at_rise(const struct kw_clutch_trace *s,
                         size_t up,
                         struct kw_start *start,
                         size_t *go_on)
{
    struct kw_rise rise;
    size_t from = up;
    for (int tries = 0; tries < 3; tries++) {
        if (!kw_find_hold(s, up, from, &rise))
            return false;
        *go_on = rise.flat + 1;
        const enum judgement judgement = judge(s, &rise, start);
        if (judgement != LOOK_ON || !rise.climbs)
            return judgement == STARTS;
        from = rise.leave;
    }
    return false;
}

static enum kw_status search_all(const struct kw_clutch_trace *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    out->n = 0;
    size_t go_on = 1;
    for (size_t i = 1; i < s->session->n_samples; i = go_on) {
        go_on = i + 1;
        struct kw_start start;
        if (!(s->rpm[i] >= s->low_rpm) || s->rpm[i - 1] >= s->low_rpm ||
            !kw_stays_up(s, i) || !kw_idled_before(s, i) ||
            !look_at_rise(s, i, &start, &go_on))
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] = start;
    }
    return KW_OK;
}

/* Seen in the speed, or with a climb behind it: others need company, see
 * keep_alike(). */
static bool is_sure(const struct kw_start *start)
{
    return start->by_speed || !isnan(start->climb_rpm_s);
}

/* The hold of the longest start, of the sure ones where there are any: the
 * longer it was, the less the driver's foot had to do with it. */
static double usual_hold_rpm(const struct kw_starts *starts, bool sure)
{
    double longest_s = 0.0;
    double hold_rpm = NAN;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start *start = &starts->items[i];
        const double for_s = start->locked_s - start->start_s;
        if (for_s > longest_s && (!sure || is_sure(start))) {
            longest_s = for_s;
            hold_rpm = start->hold_rpm;
        }
    }
    return hold_rpm;
}

/* Starts hold alike. Those without a knee or a speed must hold like the others,
 * or like each other when all are so; a lone one must fit the profile. */
static void keep_alike(const struct kw_clutch_trace *s,
                       struct kw_starts *starts)
{
    double usual_rpm = usual_hold_rpm(starts, true);
    if (isnan(usual_rpm) && starts->n > 1)
        usual_rpm = usual_hold_rpm(starts, false);
    if (isnan(usual_rpm))
        usual_rpm = s->profile->clutch_rpm / TAKES_HOLD_SHARE;
    size_t kept = 0;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start start = starts->items[i];
        const double off = fabs(start.hold_rpm - usual_rpm) / usual_rpm;
        if (start.by_speed || off < (is_sure(&start) ? LIKE : ALIKE))
            starts->items[kept++] = start;
    }
    starts->n = kept;
}

/* The axle smoothed as far as its scatter asks for. */
static enum kw_status take_axle(struct kw_clutch_trace *s,
                                struct kw_error *error)
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

/* Where the search for rises begins: above idle and below the hold. The
 * profile's figure for the clutch bounds it from both sides. */
static double first_low_rpm(const struct kw_clutch_trace *s)
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
static enum kw_status look_again(struct kw_clutch_trace *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    const double low_rpm = 0.92 * takes_hold_rpm(s, usual_hold_rpm(out, true));
    if (!(low_rpm > s->low_rpm))
        return KW_OK;
    s->low_rpm = low_rpm;
    return search_all(s, out, error);
}

/* Twice: the holds of the sure starts say where to look for the others. */
enum kw_status kw_find_starts(const struct kw_scene *scene,
                              const struct kw_drive *drive,
                              struct kw_starts *out,
                              struct kw_error *error)
{
    *out = (struct kw_starts){0};
    struct kw_clutch_trace s = {
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
        keep_alike(&s, out);
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
