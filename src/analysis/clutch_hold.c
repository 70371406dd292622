/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Holds after a rise from idle. A hold begins where RPM has become flat, and is
 * left upward (the kart takes the engine along) or downward (a lift).
 *
 * That is what a centrifugal clutch looks like in RPM alone: it lets the engine
 * turn at one RPM while it slips. Nothing here assumes at which: karts take
 * hold anywhere between 2,000 and 8,000. */
#include "analysis/clutch_hold.h"

#include "core/robust.h"

#include <math.h>

/* Shares are of the hold where nothing else is said; none of the numbers has a
 * source. */

/* The engine has to have been low for so long, or off for so long, and then up
 * for so long. */
static const double LOW_S = 0.05;
static const double OFF_S = 1.5;
static const double UP_S = 0.5;
/* A hold: RPM within this share over this time, this soon after idle. */
static const double FLAT_S = 0.35;
static const double FLAT_SHARE = 0.06;
static const double SOON_S = 4.0;
/* And below this share of the highest RPM, or this many times idle or what the
 * profile states: a drive about the yard goes no higher than its holds. */
static const double HIGHEST_HOLD = 0.62;
static const double HOLD_TIMES_IDLE = 3.0;
static const double HOLD_TIMES_STATED = 1.6;
/* Where the trace has left the hold, upward and downward. */
static const double CLIMBED = 0.07;
static const double CLIMB_END = 1.45;
static const double DROPPED = 0.94;
/* How long the climb is looked at, and a whole start at most. */
static const double CLIMB_S = 1.2;
static const double LEVELS_OFF_S = 0.25;
static const double LONGEST_S = 20.0;

/* A level is the median of so many samples at most. */
enum { MOST_SAMPLES = 240 };

/* A logger that writes to its card misses less than this, and in so long no
 * driver lifts and starts again (common practice, no source). */
static const double SHORT_GAP_S = 1.0;

/* What lies behind a longer gap is another start, whatever it looks like. */
size_t kw_gap_after(const struct kw_session *session, size_t from)
{
    for (size_t g = 0; g < session->gaps.n; g++) {
        const struct kw_span *gap = &session->gaps.items[g];
        if (gap->to > from &&
            session->time_s[gap->to] - session->time_s[gap->from] > SHORT_GAP_S)
            return gap->to;
    }
    return session->n_samples;
}

/* In seconds from one sample to another; a log may miss rows, so that counting
 * them would not do. */
double kw_after_s(const struct kw_clutch_trace *s, size_t from, size_t i)
{
    return s->session->time_s[i] - s->session->time_s[from];
}

/* A blip of the throttle in the pits comes down again within half a second and
 * is no start. */
bool kw_stays_up(const struct kw_clutch_trace *s, size_t i)
{
    size_t seen = 0;
    for (size_t k = i; k < s->session->n_samples; k++) {
        if (kw_after_s(s, i, k) > UP_S && seen > 1)
            return true;
        if (s->rpm[k] < s->low_rpm)
            return false;
        seen += isnan(s->rpm[k]) ? 0 : 1;
    }
    return false;
}

/* Missing readings count as low: a reading that is not there cannot show that
 * the engine ran up. */
double kw_low_before_s(const struct kw_clutch_trace *s, size_t i)
{
    size_t first = i;
    while (first > 0 && !(s->rpm[first - 1] >= s->low_rpm))
        first--;
    return kw_after_s(s, first, i);
}

/* A running engine need have idled for a moment only: the driver may blip and
 * go. One that stood was started, and its first rise is a warm-up; the kart
 * goes when it has been up for longer. The start of the log counts as idle. */
bool kw_idled_before(const struct kw_clutch_trace *s, size_t i)
{
    /* Cranking with the starter turns it at a fifth or so of idle; from there
     * on it runs (common practice, no source). */
    const double turning_rpm = 0.3 * s->low_rpm;
    bool turned = false;
    size_t first = i;
    while (first > 0 && !(s->rpm[first - 1] >= s->low_rpm)) {
        first--;
        turned = turned || (s->rpm[first] > turning_rpm &&
                            kw_after_s(s, first, i) < UP_S);
    }
    return first == 0 || kw_after_s(s, first, i) >= (turned ? LOW_S : OFF_S);
}

/* By highest and lowest, not by a standard deviation: two readings decide it at
 * 5 Hz, and those that climb are told apart by the way they went. */
static bool is_flat(const struct kw_clutch_trace *s, size_t from, size_t stop)
{
    double lowest = INFINITY;
    double highest = -INFINITY;
    size_t n = 0;
    /* Two readings at least, three where the log is slow. */
    const double least_s = fmax(FLAT_S, 1.6 / s->session->rate_hz);
    for (size_t k = from; k < stop; k++) {
        const bool enough = kw_after_s(s, from, k) > least_s && n > 1;
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
static double level_from(const struct kw_clutch_trace *s,
                         size_t from,
                         size_t stop)
{
    double values[MOST_SAMPLES];
    size_t n = 0;
    for (size_t k = from; k < stop && n < MOST_SAMPLES; k++) {
        if (kw_after_s(s, from, k) > 2.0 * FLAT_S && n > 2)
            break;
        if (!isnan(s->rpm[k]))
            values[n++] = s->rpm[k];
    }
    return kw_median(values, n, values);
}

/* The climb lasts while RPM finds new heights. */
static void follow_climb(const struct kw_clutch_trace *s,
                         struct kw_rise *rise,
                         size_t wall)
{
    double highest_rpm = s->rpm[rise->leave];
    size_t at = rise->leave;
    for (size_t k = at; k < wall && kw_after_s(s, rise->leave, k) < CLIMB_S &&
                        highest_rpm < CLIMB_END * rise->hold_rpm;
         k++) {
        if (s->rpm[k] > highest_rpm + s->drive->noise_rpm) {
            highest_rpm = s->rpm[k];
            at = k;
        }
        /* A logger that repeats its readings shows none between two. */
        if (kw_after_s(s, at, k) > fmax(LEVELS_OFF_S, 2.1 * s->drive->fresh_s))
            break;
    }
    rise->stop = at + 1;
}

/* From the hold on: where it is left, and whether by a climb. */
static void follow_hold(const struct kw_clutch_trace *s,
                        struct kw_rise *rise,
                        size_t wall)
{
    const double noise_rpm = s->drive->noise_rpm;
    /* Five and three standard deviations: of the hundreds of readings of a hold
     * none may end it by noise alone; a lift is a larger step than a climb. */
    const double high_rpm =
        rise->hold_rpm + fmax(CLIMBED * rise->hold_rpm, 5.0 * noise_rpm);
    const double low_rpm = DROPPED * rise->hold_rpm - 3.0 * noise_rpm;
    size_t k = rise->flat;
    while (k < wall && kw_after_s(s, rise->flat, k) < LONGEST_S &&
           !(s->rpm[k] > high_rpm) && !(s->rpm[k] < low_rpm))
        k++;
    rise->leave = k;
    rise->stop = k;
    rise->climbs = k < wall && s->rpm[k] > high_rpm;
    rise->drops = k < wall && s->rpm[k] < low_rpm;
    if (rise->climbs)
        follow_climb(s, rise, wall);
}

/* What is not known, NAN, decides nothing. */
static double highest_hold_rpm(const struct kw_clutch_trace *s)
{
    return fmax(fmax(HIGHEST_HOLD * s->drive->top_rpm,
                     HOLD_TIMES_IDLE * s->drive->idle_rpm),
                HOLD_TIMES_STATED * s->profile->clutch_rpm);
}

/* Looks on for some seconds after the rise: a driver plays with the throttle
 * before the kart moves. A reading below idle or far up the range ends the
 * search: that was no start. */
bool kw_find_hold(const struct kw_clutch_trace *s,
                  size_t up,
                  size_t from,
                  struct kw_rise *rise)
{
    *rise = (struct kw_rise){.up = up};
    const size_t wall = kw_gap_after(s->session, up);
    const double most_rpm = highest_hold_rpm(s);
    size_t k = from;
    while (k < wall && kw_after_s(s, from, k) < SOON_S &&
           !(s->rpm[k] < s->low_rpm) && !(s->rpm[k] > most_rpm)) {
        rise->hold_rpm = NAN;
        if (!isnan(s->rpm[k]) && is_flat(s, k, wall))
            rise->hold_rpm = level_from(s, k, wall);
        if (fabs(s->rpm[k] - rise->hold_rpm) <
            FLAT_SHARE * rise->hold_rpm + s->drive->noise_rpm) {
            rise->flat = k;
            follow_hold(s, rise, wall);
            return rise->hold_rpm < most_rpm;
        }
        k++;
    }
    return false;
}

/* 2.5 % below the hold is still in it: within the band in which a centrifugal
 * clutch hunts (common practice, no source). */
size_t kw_last_in_hold(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise)
{
    size_t i = rise->leave - 1;
    while (i > rise->flat && !(s->rpm[i] >= 0.975 * rise->hold_rpm))
        i--;
    return i;
}
