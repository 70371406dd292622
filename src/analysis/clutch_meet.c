/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the axle catches up with the engine, as a speed channel shows it: the
 * slip itself, against which the shape of RPM is only a guess. */
#include "analysis/clutch_meet.h"

#include "analysis/lap_axis.h"

#include <math.h>

/* The contract's: what is a walk. */
static const double WALK_SHARE = 0.75;
/* Speed tells slip better than the knee when it scatters less than this share,
 * less than half of the slip at which a clutch counts as locked (common
 * practice, no source). */
static const double CLEAN_SPEED = 0.012;
/* So near to locked, what is left is the lag of a slow receiver. */
static const double NEARLY_LOCKED = 0.9;
/* The line through the slip is laid over this time before the two met, and its
 * root is believed no further before and after the reading in which they had:
 * the kart gathers speed evenly for a moment only. These and what follows:
 * common practice, no source. */
static const double LINE_S = 0.7;
static const double MOST_BEFORE_S = 0.4;
static const double MOST_AFTER_S = 0.3;
/* The clutch may lock as late as this after the hold was left: a receiver is
 * late, and the driver goes on pulling. */
static const double LATE_S = 1.0;
/* Of the hold: below it the driver had lifted before they met. */
static const double STILL_PULLS = 0.92;
/* Shares of the engine: an axle that never came to the first stands still, and
 * one below the second is far behind. */
static const double AXLE_MOVES = 0.25;
static const double FAR_BEHIND = 0.8;

bool kw_has_clean_speed(const struct kw_clutch_trace *s)
{
    return s->drive->scatter < CLEAN_SPEED;
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
           !(s->axle_rpm[met] >= (1.0 - KW_LOCKED_SLIP) * s->rpm[met]))
        met++;
    if (met == stop || s->rpm[met] < least_rpm)
        return NAN;
    double n = 0.0, sum_t = 0.0, sum_y = 0.0, sum_tt = 0.0, sum_ty = 0.0;
    for (size_t i = met + 1; i-- > from && kw_after_s(s, i, met) < LINE_S;) {
        const double y = (1.0 - KW_LOCKED_SLIP) - s->axle_rpm[i] / s->rpm[i];
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
    return time_s[met] + fmin(fmax(root, -MOST_BEFORE_S), MOST_AFTER_S);
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

/* A speed that was derived from fixes is as far off at a walk as at the top
 * end, where its scatter about the engine is counted. One that was measured
 * scatters by wheelspin, which a walk knows nothing of. */
bool kw_surely_walks(const struct kw_clutch_trace *s,
                     const struct kw_rise *rise,
                     const struct kw_start *start)
{
    if (isnan(start->axle_rpm) || !s->session->speed_is_derived)
        return !isnan(start->axle_rpm);
    const double surely_rpm =
        WALK_SHARE * start->start_rpm - s->drive->scatter * s->drive->top_rpm;
    size_t i =
        kw_sample_at(s->session->time_s, s->session->n_samples, start->start_s);
    while (i < rise->leave && !(s->axle_rpm[i] < surely_rpm))
        i++;
    return i < rise->leave;
}

/* A receiver that has lost the sky shows a speed that stands still. */
static bool axle_moves(const struct kw_clutch_trace *s,
                       size_t from,
                       size_t stop)
{
    double highest = 0.0;
    for (size_t i = from; i < stop; i++)
        highest = fmax(highest, s->axle_rpm[i] / s->rpm[i]);
    return highest > AXLE_MOVES;
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
    while (stop < wall && kw_after_s(s, rise->leave, stop) < LATE_S)
        stop++;
    const double locked_s = met_s(s, from, stop, STILL_PULLS * rise->hold_rpm);
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
    return s->axle_rpm[i] < FAR_BEHIND * s->rpm[i];
}

/* The speed says whether there was a start at all. When it ended is told by it
 * only where it is clean, or RPM shows no knee: the lag of a receiver would be
 * told as slip. */
enum kw_judgement kw_look_at_slip(const struct kw_clutch_trace *s,
                                  const struct kw_rise *rise,
                                  bool has_knee,
                                  struct kw_start *start)
{
    if (s->axle_rpm == NULL)
        return has_knee ? KW_STARTS : KW_LOOK_ON;
    if (!wait_for_walk(s, rise, start))
        return KW_NO_START;
    if (isnan(start->axle_rpm))
        return has_knee ? KW_STARTS : KW_LOOK_ON;
    const bool has_climb = has_knee && rise->climbs;
    const double locked_s = locked_by_speed_s(s, rise, start);
    if (isinf(locked_s))
        return KW_LOOK_ON;
    if (isnan(locked_s))
        return has_climb && !lags_far(s, start) ? KW_STARTS : KW_LOOK_ON;
    start->by_speed = true;
    if (!has_climb || kw_has_clean_speed(s))
        start->locked_s = locked_s;
    return KW_STARTS;
}
