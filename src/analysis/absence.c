/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is read while the signal may be away, and whether an engine can give it:
 * see absence.h. */
#include "analysis/absence.h"

#include "analysis/absence_drawn.h"
#include "analysis/smoothed_step.h"
#include "signal/rpm.h"

#include <math.h>

/* An engine that idled, died and was started again was gone for longer than
 * this; and it is steady for this long before and after, or it was being
 * started. Common practice, no source. */
static const double LONGEST_AT_IDLE_S = 1.0;
static const double STEADY_S = 0.6;

/* From this share of the top end on the clutch is locked in any kart, so that
 * even a part of the signal missing is told by two slow readings; below it the
 * edge must be steeper than a free engine's, for an engine may drop off its
 * clutch in a hairpin. */
static const double SURELY_LOCKED_SHARE = 0.55;

/* No kart's engine idles above this share of its top end (a third at most:
 * common practice, no source). */
static const double ABOVE_IDLE_SHARE = 0.35;

/* A doubled reading is so many times what it should be: two, and the change of
 * RPM between the readings beside it. */
static const double DOUBLED_LOW = 1.6;
static const double DOUBLED_HIGH = 2.4;
/* An engine that often gains a top end in less than a second is not tied to its
 * kart: gears and clutch make its jumps, and a wheel that spins until the next
 * gear is no double. Common practice, no source. */
static const double TIED_SHARE_S = 1.0;
/* At both edges so near to it, over so many readings, it is no chance. */
static const double EXACT = 0.08;
enum { FEWEST_EXACT = 3 };
/* And half, where every second pulse is lost. */
static const double HALVED_LOW = 0.40;
static const double HALVED_HIGH = 0.60;

/* An engine off its clutch turns at idle, and not further from it. */
static const double NEAR_IDLE = 0.15;

/* What turns no slower than this on the track has no clutch, or the lowest that
 * was found was a signal that is off: engines of karts idle at 3,000 rpm at
 * most. Common practice, no source. */
static const double FASTEST_IDLE_RPM = 3500.0;

/* Readings that the axle has to speak of. */
enum { FEWEST_BY_AXLE = 2 };

/* What is neither nothing nor half nor double counts for a moment only, when it
 * is far off, and when RPM is where it was: a wheel that hops takes RPM along
 * by a tenth. Common practice, no source. */
enum { READINGS_OF_PART = 2 };
static const double BRIEF_PART_S = 0.6;
static const double UNMOVED_SHARE = 0.05;
static const double LEAST_PART = 0.25;
/* Where a logger averages the first reading after the jump back is still some
 * of it; so long after it none is. */
static const double AVERAGED_S = 0.1;
/* Within two windows so long an engine is off its clutch and on again. Common
 * practice, no source. */
static const double LONG_WINDOW_S = 0.15;

/* Of windows that lack most of the signal: this share is left of it. */
static const double MOST_LEFT = 0.5;

/* A kart that brakes slows by more than this share while a signal is away. */
static const double SLOWED_SHARE = 0.02;
/* A receiver tells it so much later; one that reads once a second says nothing
 * of a moment. */
static const double LATE_S = 0.3;
enum { FEWEST_FRESH = 2 };

/* Where a smoothing logger hides the edges: fewest readings away (the shape has
 * three unknowns, and a wheel that spins for two readings fits any; on the way
 * down one less will do where they take so long, for a wheel that locks is free
 * again sooner), fewest and most in all (who writes faster than that does not
 * smooth), for how long after the jump back they are looked at, and how far
 * they may be off the shape, as a share of the step: less on the way down,
 * where a wheel that locks drags the engine along. Over longer RPM goes on no
 * line. Common practice, no source. */
enum { FEWEST_AWAY = 4, FEWEST_TO_FIT = 6, MOST_TO_FIT = 250 };
static const double LONG_AWAY_S = 0.5;
static const double SETTLE_S = 0.45;
static const double LONGEST_TO_FIT_S = 2.2;
static const double MOST_MISFIT_UP = 0.07;
static const double MOST_MISFIT_DOWN = 0.045;

/* Back means back under load: landing this share of where the clutch locks. */
static const double LANDS_SHARE = 0.8;

/* Was there nothing until the jump back? A logger that averages may have one
 * reading in which it had begun. */
bool kw_was_nothing(const struct kw_rpm_search *search,
                    const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const size_t leaves = absence->leaves;
    if (kw_is_nothing(search, rpm[leaves]))
        return true;
    return leaves > absence->gone && kw_is_nothing(search, rpm[leaves - 1]) &&
           rpm[leaves] < rpm[absence->back] / 2.0;
}

/* Is the reading at i so many times what the kart can be at, by the readings
 * before and after the absence? */
static bool is_times(const struct kw_rpm_search *search,
                     const struct kw_absence *absence,
                     size_t i,
                     double times)
{
    const struct kw_rate_limits *limits = search->limits;
    const double *rpm = search->session->rpm;
    const double right = rpm[i] / times;
    const double since_s =
        fmax(kw_rpm_seconds(search, absence->before, i), limits->fresh_s);
    const double until_s =
        fmax(kw_rpm_seconds(search, i, absence->back), limits->fresh_s);
    const double from = rpm[absence->before];
    const double to = rpm[absence->back];
    return right > from - limits->fall_rpm_s * since_s - limits->unsteady_rpm &&
           right < from + limits->rise_rpm_s * since_s + limits->unsteady_rpm &&
           right > to - limits->rise_rpm_s * until_s - limits->unsteady_rpm &&
           right < to + limits->fall_rpm_s * until_s + limits->unsteady_rpm;
}

/* All readings between the two edges are, and those at the edges by their
 * neighbour outside. */
static bool is_all_times(const struct kw_rpm_search *search,
                         const struct kw_absence *absence,
                         double times)
{
    for (size_t i = absence->gone; i <= absence->leaves;
         i = kw_rpm_next(search, i)) {
        if (!is_times(search, absence, i, times))
            return false;
    }
    return true;
}

static bool is_within(double value, double low, double high)
{
    return value > low && value < high;
}

/* The axle knows where the engine should be: locked before and after, and so
 * many times that between. */
static bool axle_tells(const struct kw_rpm_search *search,
                       const struct kw_absence *absence,
                       double times)
{
    size_t n = 0;
    if (!kw_meets_axle(search, absence->before, 1.0) ||
        !kw_meets_axle(search, absence->back, 1.0))
        return false;
    for (size_t i = absence->gone; i <= absence->leaves;
         i = kw_rpm_next(search, i), n++) {
        if (!kw_meets_axle(search, i, times))
            return false;
    }
    return n >= FEWEST_BY_AXLE;
}

/* An engine that fell off its clutch comes to rest at idle. */
bool kw_reaches_idle(const struct kw_rpm_search *search,
                     const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    if (search->idle_rpm > FASTEST_IDLE_RPM)
        return false;
    double lowest = rpm[absence->gone];
    for (size_t i = absence->gone; i <= absence->leaves; i++)
        lowest = fmin(lowest, rpm[i]);
    return fabs(lowest - search->idle_rpm) < NEAR_IDLE * search->idle_rpm;
}

/* Every second pulse lost. */
static bool is_halved(const struct kw_rpm_search *search,
                      const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const size_t before = absence->before;
    if (!is_within(rpm[absence->gone] / rpm[before], HALVED_LOW, HALVED_HIGH) ||
        !is_within(rpm[absence->leaves] / rpm[absence->back], HALVED_LOW,
                   HALVED_HIGH) ||
        !is_all_times(search, absence, 0.5))
        return false;
    if (axle_tells(search, absence, 0.5))
        return true;
    return !kw_reaches_idle(search, absence) &&
           (kw_is_steep(search, before, absence->gone) ||
            rpm[before] > SURELY_LOCKED_SHARE * search->limits->top_rpm);
}

/* Half throughout, at edges that a logger which averages spreads over some
 * readings: no engine does that while the clutch holds it. */
static bool is_averaged_half(const struct kw_rpm_search *search,
                             const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double locked_rpm = SURELY_LOCKED_SHARE * search->limits->top_rpm;
    return rpm[absence->before] > locked_rpm &&
           rpm[absence->back] > locked_rpm &&
           kw_is_sharp(search, absence->before, absence->gone) &&
           kw_is_sharp(search, absence->leaves, absence->back) &&
           is_halved(search, absence);
}

/* Both edges faster than an engine is revved or stopped. */
static bool is_leap(const struct kw_rpm_search *search,
                    const struct kw_absence *absence)
{
    return kw_is_impossible(search, absence->before, absence->gone) &&
           kw_is_impossible(search, absence->leaves, absence->back);
}

/* Such edges from above any idle, and back to there: a stalled engine that is
 * started again may be read from 0 and to 0. */
static bool is_leap_while_driven(const struct kw_rpm_search *search,
                                 const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double runs_rpm = ABOVE_IDLE_SHARE * search->limits->top_rpm;
    return rpm[absence->before] > runs_rpm && rpm[absence->back] > runs_rpm &&
           is_leap(search, absence);
}

/* A second pulse for each turn. Other jumps up are wheelspin and kerbs, and a
 * foot on the throttle of an engine that is off its clutch. */
static bool is_doubled(const struct kw_rpm_search *search,
                       const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const struct kw_rate_limits *limits = search->limits;
    const bool is_tied = limits->rise_rpm_s < TIED_SHARE_S * limits->top_rpm;
    return ((is_tied && rpm[absence->before] > limits->locked_rpm) ||
            axle_tells(search, absence, 2.0) || is_leap(search, absence)) &&
           is_within(rpm[absence->gone] / rpm[absence->before], DOUBLED_LOW,
                     DOUBLED_HIGH) &&
           is_within(rpm[absence->leaves] / rpm[absence->back], DOUBLED_LOW,
                     DOUBLED_HIGH) &&
           is_all_times(search, absence, 2.0);
}

/* As exactly twice at both edges as no blip is, at each within two readings. */
static bool is_exactly_doubled(const struct kw_rpm_search *search,
                               const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    return rpm[absence->before] > ABOVE_IDLE_SHARE * search->limits->top_rpm &&
           absence->leaves - absence->gone + 1 >= FEWEST_EXACT &&
           kw_is_quick(search, absence->before, absence->gone) &&
           kw_is_quick(search, absence->leaves, absence->back) &&
           is_within(rpm[absence->gone] / rpm[absence->before], 2.0 - EXACT,
                     2.0 + EXACT) &&
           is_within(rpm[absence->leaves] / rpm[absence->back], 2.0 - EXACT,
                     2.0 + EXACT) &&
           is_all_times(search, absence, 2.0);
}

/* More than any engine turns: beyond this many times the session's top end
 * there is none, wheelspin and all. Common practice, no source. */
static const double BEYOND_TOP = 1.2;

static bool is_beyond_top(const struct kw_rpm_search *search,
                          const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double most_rpm = BEYOND_TOP * search->limits->top_rpm;
    return rpm[absence->before] > search->limits->locked_rpm &&
           rpm[absence->gone] > most_rpm && rpm[absence->leaves] > most_rpm;
}

/* How far RPM is from where it was: below it as a positive number, the least in
 * the moment after the jump back. */
static double least_missing_rpm(const struct kw_rpm_search *search,
                                const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    double missing_rpm = rpm[absence->before] - rpm[absence->back];
    for (size_t i = absence->back;
         i < search->session->n_samples && missing_rpm > 0.0 &&
         kw_rpm_seconds(search, absence->back, i) <= AVERAGED_S;
         i = kw_rpm_next(search, i))
        missing_rpm = fmin(missing_rpm, rpm[absence->before] - rpm[i]);
    return missing_rpm;
}

/* A part of the signal lost for a moment, with the kart unmoved by it. A spin
 * drops the engine off its clutch too, but it comes back slower than it was. */
static bool is_brief_part(const struct kw_rpm_search *search,
                          const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const size_t before = absence->before;
    const double reading_s = search->limits->fresh_s;
    return !(kw_repeats(search) && reading_s > LONG_WINDOW_S) &&
           rpm[before] > SURELY_LOCKED_SHARE * search->limits->top_rpm &&
           absence->gone - before <= READINGS_OF_PART &&
           absence->back - absence->leaves <= READINGS_OF_PART &&
           kw_rpm_seconds(search, absence->first, absence->back) <=
               BRIEF_PART_S &&
           rpm[absence->leaves] < (1.0 - LEAST_PART) * rpm[before] &&
           fabs(least_missing_rpm(search, absence)) <=
               UNMOVED_SHARE * search->limits->top_rpm &&
           !kw_reaches_idle(search, absence);
}

/* Some other low reading, there and back at once from above any idle: a lead
 * that picks up something else. An engine may fall off its clutch within a
 * reading of a slow logger, but is not back within one. */
static bool is_elsewhere(const struct kw_rpm_search *search,
                         const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    return rpm[absence->leaves] < (1.0 - LEAST_PART) * rpm[absence->before] &&
           is_leap_while_driven(search, absence);
}

/* Not quick only as readings go that repeat. */
static bool is_at_once(const struct kw_rpm_search *search,
                       const struct kw_absence *absence)
{
    return kw_is_at_once(search, absence->before, absence->gone) &&
           kw_is_at_once(search, absence->leaves, absence->back);
}

/* Most of the signal lost over some windows, with the kart as fast or faster
 * behind it. A gear that is changed takes less, for no two are so far apart. */
static bool is_brief_drop(const struct kw_rpm_search *search,
                          const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    return kw_rpm_seconds(search, absence->first, absence->back) <=
               BRIEF_PART_S &&
           rpm[absence->leaves] < MOST_LEFT * rpm[absence->before] &&
           least_missing_rpm(search, absence) <
               UNMOVED_SHARE * search->limits->top_rpm;
}

/* For how long the signal was away if it was nothing meanwhile: the mean of a
 * window that lacks a third has lost a third of its time. */
static double seconds_missing(const struct kw_rpm_search *search,
                              const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double right_rpm = fmin(rpm[absence->before], rpm[absence->back]);
    double missing_s = 0.0;
    for (size_t i = absence->first; i < absence->back;
         i = kw_rpm_next(search, i)) {
        missing_s += (1.0 - fmin(rpm[i] / right_rpm, 1.0)) *
                     kw_rpm_seconds(search, i, kw_rpm_next(search, i));
    }
    return missing_s;
}

/* Edges that took two windows of a logger which counts in windows are no proof
 * by themselves: an engine drops off its clutch and is back at the speed at
 * which the clutch slips in as long. From this share of the top end to this
 * share it cannot: no clutch slips so high. Common practice, no source. */
static const double NO_SLIP_SHARE = 0.7;

static bool is_lost_from_high_to_high(const struct kw_rpm_search *search,
                                      const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double high_rpm = NO_SLIP_SHARE * search->limits->top_rpm;
    return rpm[absence->before] > high_rpm && rpm[absence->back] > high_rpm &&
           seconds_missing(search, absence) >= KW_GLITCH_S &&
           (is_halved(search, absence) || is_brief_drop(search, absence));
}

/* Through all of it and the moment after, by speeds that were read meanwhile.
 */
static bool axle_drives_on(const struct kw_rpm_search *search,
                           const struct kw_absence *absence)
{
    const double *axle_rpm = search->axle_rpm;
    const double least_rpm = (1.0 - SLOWED_SHARE) * axle_rpm[absence->before];
    size_t fresh = 0;
    for (size_t i = absence->first; i < search->session->n_samples; i++) {
        const double after_s = kw_rpm_seconds(search, absence->back, i);
        if (after_s > LATE_S)
            break;
        if (!(axle_rpm[i] >= least_rpm))
            return false;
        fresh += after_s <= 0.0 && fabs(axle_rpm[i] - axle_rpm[i - 1]) > 0.0;
    }
    return fresh >= FEWEST_FRESH;
}

/* The axle turned on as fast or faster, and was locked to the engine before and
 * after: nobody braked, and between the clutch let nothing go that the axle
 * drives. */
static bool is_driven_on(const struct kw_rpm_search *search,
                         const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double locked_rpm = SURELY_LOCKED_SHARE * search->limits->top_rpm;
    if (!(rpm[absence->before] > locked_rpm) ||
        !kw_meets_axle(search, absence->before, 1.0) ||
        !kw_meets_axle(search, absence->back, 1.0))
        return false;
    size_t n = 0;
    for (size_t i = absence->gone; i <= absence->leaves;
         i = kw_rpm_next(search, i), n++) {
        if (!(rpm[i] < (1.0 - LEAST_PART) * search->axle_rpm[i]))
            return false;
    }
    return n >= FEWEST_BY_AXLE && axle_drives_on(search, absence) &&
           seconds_missing(search, absence) >= KW_GLITCH_S;
}

/* Enough of them to tell a shape from. */
static bool is_long_away(const struct kw_rpm_search *search,
                         const struct kw_absence *absence)
{
    const size_t n = absence->leaves - absence->before;
    return n >= FEWEST_AWAY || (!absence->up && n + 1 >= FEWEST_AWAY &&
                                kw_rpm_seconds(search, absence->before,
                                               absence->leaves) >= LONG_AWAY_S);
}

/* Nothing, half or twice of what is right, in the shape that a smoothing logger
 * gives to it: such readings may be back before they ever reached it. */
static bool is_smoothed_loss(const struct kw_rpm_search *search,
                             const struct kw_absence *absence)
{
    const struct kw_session *session = search->session;
    size_t settled = absence->back;
    for (size_t i = kw_rpm_next(search, settled);
         i < session->n_samples &&
         kw_rpm_seconds(search, absence->back, i) < SETTLE_S;
         i = kw_rpm_next(search, i))
        settled = i;
    if (!is_long_away(search, absence) ||
        settled - absence->before < FEWEST_TO_FIT ||
        settled - absence->before > MOST_TO_FIT ||
        kw_rpm_seconds(search, absence->before, settled) > LONGEST_TO_FIT_S ||
        !(session->rpm[absence->before] > search->limits->locked_rpm) ||
        kw_reaches_idle(search, absence))
        return false;
    struct kw_smoothed_step step = {absence->before, absence->leaves, settled,
                                    2.0};
    if (absence->up)
        return kw_smoothed_misfit(session, &step) < MOST_MISFIT_UP;
    step.times = 0.5;
    if (kw_smoothed_misfit(session, &step) < MOST_MISFIT_DOWN)
        return true;
    step.times = 0.0;
    return kw_smoothed_misfit(session, &step) < MOST_MISFIT_DOWN;
}

/* Turns by itself from sample from to sample to. */
static bool runs(const struct kw_rpm_search *search, size_t from, size_t to)
{
    const double *rpm = search->session->rpm;
    for (size_t i = from; i <= to; i++) {
        if (!kw_is_turning(search, rpm[i]))
            return false;
    }
    return true;
}

/* An engine at idle, or off its clutch: from nothing it comes back by itself
 * neither so soon nor to where it was. */
static bool is_lost_at_idle(const struct kw_rpm_search *search,
                            const struct kw_absence *absence)
{
    const double *time_s = search->session->time_s;
    size_t from = absence->before;
    size_t to = absence->back;
    while (from > 0 && time_s[absence->before] - time_s[from] < STEADY_S)
        from--;
    while (to + 1 < search->session->n_samples &&
           time_s[to] - time_s[absence->back] < STEADY_S)
        to++;
    return kw_rpm_seconds(search, absence->first, absence->back) <=
               LONGEST_AT_IDLE_S &&
           kw_is_quick(search, absence->before, absence->gone) &&
           kw_is_quick(search, absence->leaves, absence->back) &&
           runs(search, from, absence->before) &&
           runs(search, absence->back, to);
}

/* Are the readings between the two edges so far off that no engine could give
 * them? */
bool kw_is_telling(const struct kw_rpm_search *search,
                   const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double locked_rpm = search->limits->locked_rpm;
    const size_t before = absence->before;
    const size_t back = absence->back;
    if (!absence->up && kw_was_nothing(search, absence))
        return (rpm[before] > locked_rpm &&
                rpm[kw_rest_behind(search, back, true, 1.0)] >
                    LANDS_SHARE * locked_rpm &&
                kw_is_brief(search, absence->leaves, back)) ||
               is_leap_while_driven(search, absence) ||
               is_lost_at_idle(search, absence);
    if (is_smoothed_loss(search, absence))
        return true;
    if (absence->up)
        return kw_is_sharp(search, before, absence->gone) &&
               kw_is_sharp(search, absence->leaves, back) &&
               (is_doubled(search, absence) ||
                is_exactly_doubled(search, absence) ||
                is_beyond_top(search, absence));
    if (!kw_is_quick(search, before, absence->gone) ||
        !kw_is_quick(search, absence->leaves, back))
        return is_averaged_half(search, absence);
    return is_driven_on(search, absence) ||
           is_lost_from_high_to_high(search, absence) ||
           (is_at_once(search, absence) &&
            (is_halved(search, absence) || is_brief_part(search, absence) ||
             is_elsewhere(search, absence)));
}
