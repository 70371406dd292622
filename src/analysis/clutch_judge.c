/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is this hold a start?
 *
 * The engine leaves idle, the clutch takes hold and lets the engine rise no
 * further (its capacity grows with the square of speed), the kart gathers speed
 * until it has caught up, and from that knee both climb together. The knee is
 * found by least squares; with a speed channel the slip itself is looked at. */
#include "analysis/clutch_judge.h"

#include "analysis/clutch_knee.h"
#include "analysis/lap_axis.h"

#include <math.h>

/* No number here has a source where none is named. */

/* What the profile states is believed from the first of these shares of the
 * hold on, and is no more than the second. */
static const double LEAST_STATED = 0.65;
static const double MOST_STATED = 0.975;
/* A climb: this share of the hold each second at least, and of the highest RPM
 * at most: its tyres let no kart gather speed faster than at 1 g, which is this
 * share of 95 km/h; a free engine is several times faster. One faster than the
 * last of these shares is at full throttle, and goes on for more than a step.
 */
static const double LEAST_CLIMB = 0.05;
static const double MOST_CLIMB = 0.37;
static const double BRISK_CLIMB = 0.25;
/* The first part of a climb is taken for the whole where it is so much steeper:
 * then the driver eased off. A climb that ends within the last of these shares
 * above the hold was a step of his foot. */
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
/* Above this share of the highest RPM a loaded engine may level off; one that
 * rose freely up to the other share of its hold was not loaded. */
static const double PULLS_SHARE = 0.65;
static const double NEAR_HOLD = 0.9;
/* A kart that has braked for a slow corner does not idle for so long. */
static const double AT_REST_S = 2.0;
/* From the climb the axle's speed at the start is known to some 15 % of where
 * the clutch takes hold; slow corners come each lap, starts do not. */
static const double ROLLS_SHARE = 0.66;
/* One that idled for so long stood, whatever the climb tells: he who eases off
 * as it locks, in a pit lane, climbs slower than he started. Above this share
 * there was hardly a knee. */
static const double STOOD_S = 5.0;
static const double EASES_SHARE = 0.85;
/* A start begins above the RPM from which it was looked for, if only just. */
static const double JUST_ABOVE = 1.01;
/* Points that a knee is fitted to: more tell nothing new. */
enum { MOST_POINTS = 240 };

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
double kw_takes_hold_rpm(const struct kw_clutch_trace *s, double hold_rpm)
{
    const double stated = s->profile->clutch_rpm;
    if (stated > LEAST_STATED * hold_rpm)
        return fmin(stated, MOST_STATED * hold_rpm);
    return KW_TAKES_HOLD_SHARE * hold_rpm;
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

/* The climb soon ends in another hold: the driver opened up in two steps. */
static bool levels_off(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise)
{
    return s->rpm[rise->stop - 1] < (1.0 + STEP_SHARE) * rise->hold_rpm;
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
        knee.climb > MOST_CLIMB * s->drive->top_rpm ||
        (knee.climb > BRISK_CLIMB * s->drive->top_rpm && levels_off(s, rise)))
        return false;
    start->climb_rpm_s = knee.climb + knee.drift;
    start->locked_s =
        knee.knee_s - KW_LOCKED_SLIP * rise->hold_rpm / knee.climb;
    return true;
}

/* The axle's speed at the start as the climb tells: the kart gathers speed as
 * fast while the clutch slips as after. */
static bool rolls_already(const struct kw_clutch_trace *s,
                          const struct kw_rise *rise,
                          const struct kw_start *start)
{
    const double gained =
        start->climb_rpm_s * (start->locked_s - start->start_s);
    const double share =
        kw_low_before_s(s, rise->up) < STOOD_S ? ROLLS_SHARE : EASES_SHARE;
    return (1.0 - KW_LOCKED_SLIP) * rise->hold_rpm - gained >
           share * start->start_rpm;
}

/* The tyres could have brought the kart from rest to the hold in that time. */
static bool has_grip(const struct kw_clutch_trace *s,
                     const struct kw_rise *rise,
                     const struct kw_start *start)
{
    return rise->hold_rpm <
           MOST_CLIMB * s->drive->top_rpm * (start->locked_s - start->start_s);
}

/* The clutch hunts about its hold; the mean is what the lining felt. */
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

/* From idle to a share of the hold faster than a loaded engine climbs. */
static bool rose_free(const struct kw_clutch_trace *s,
                      const struct kw_rise *rise,
                      double share)
{
    const double near_rpm = share * rise->hold_rpm;
    size_t near = rise->up;
    while (near < rise->flat && !(s->rpm[near] >= near_rpm))
        near++;
    size_t i = near;
    while (i > 0 && !(s->rpm[i] < s->open_rpm))
        i--;
    return near_rpm - s->open_rpm >
           MOST_CLIMB * s->drive->top_rpm * kw_after_s(s, i, near);
}

/* Near the top end a hold may be the end of a straight. Of a kart that idled
 * and that climbs from it, the last of the rise may have crept: its driver
 * opens up as the clutch takes hold. */
static bool may_be_straight(const struct kw_clutch_trace *s,
                            const struct kw_rise *rise)
{
    return rise->hold_rpm > PULLS_SHARE * s->drive->top_rpm &&
           !rose_free(s, rise, 1.0) &&
           !(rise->climbs && kw_low_before_s(s, rise->up) >= AT_REST_S &&
             rose_free(s, rise, NEAR_HOLD));
}

/* A hold by the driver's foot, with nothing on the clutch, is no start. Where
 * RPM alone ends with a lift, the kart must have had time to come to rest, and
 * time to gather speed. */
static bool had_locked(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise,
                       const struct kw_start *start)
{
    if (start->by_speed)
        return true;
    if (may_be_straight(s, rise))
        return false;
    if (rise->climbs)
        return true;
    return rose_by_clutch(s, rise, start) && slows_with_kart(s, rise) &&
           has_grip(s, rise, start) &&
           kw_low_before_s(s, rise->up) >= AT_REST_S;
}

/* The speed may overrule the shape, and the shape alone has to show that the
 * clutch had locked and that the kart had stood. */
enum kw_judgement kw_judge_hold(const struct kw_clutch_trace *s,
                                const struct kw_rise *rise,
                                struct kw_start *start)
{
    *start = (struct kw_start){.axle_rpm = NAN};
    start->start_rpm =
        fmax(kw_takes_hold_rpm(s, rise->hold_rpm), JUST_ABOVE * s->low_rpm);
    if (start->start_rpm > MOST_STATED * rise->hold_rpm)
        return KW_LOOK_ON;
    start->start_s = passed_s(s, rise, start->start_rpm);
    const bool shaped = start_by_rpm(s, rise, start);
    enum kw_judgement judgement = kw_look_at_slip(s, rise, shaped, start);
    if (judgement != KW_STARTS)
        return judgement;
    if (!kw_surely_walks(s, rise, start) && rolls_already(s, rise, start))
        return levels_off(s, rise) ? KW_LOOK_ON : KW_NO_START;
    if (!had_locked(s, rise, start) ||
        start->locked_s - start->start_s < s->shortest_s)
        return KW_LOOK_ON;
    start->hold_rpm = mean_rpm(s, start->start_s, start->locked_s);
    if (isnan(start->hold_rpm))
        start->hold_rpm = rise->hold_rpm;
    return KW_STARTS;
}
