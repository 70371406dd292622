/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load from RPM alone.
 *
 * With the clutch locked RPM is speed: under load it rises, or holds where drag
 * balances the engine; off the throttle it falls, fast at speed (drag) and
 * faster with the brakes on. How fast is learned from the session, so that no
 * engine, gearing or logger is assumed. Two thresholds keep a pull together: it
 * begins with a clear rise and ends with a clear fall, so that a sag against
 * the throttle, or a plateau at the top, belongs to it. */
#include "analysis/rpm_load.h"

#include "core/array.h"
#include "core/robust.h"
#include "kartwright/review.h"
#include "signal/slope.h"
#include "signal/spike.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Window for the slope of RPM: shorter than a driver's shortest lift, and wider
 * where noise or a coarse resolution would hide the slope. */
static const double SLOPE_WINDOW_S = 0.3;
static const double WIDEST_WINDOW_S = 1.2;

/* What follows is in shares of the highest RPM, where slopes are concerned in
 * each second. In brackets for an engine of 15,000 rpm; a kart with 78/11 teeth
 * and 0.85 m has 500 rpm for each m/s. None is from a source. */

/* A slope that must stand clear of noise (150 rpm/s): the weakest pull. */
static const double FAINT_SLOPE = 0.01;
/* Slopes beyond this teach (450 rpm/s); the others are plateaus and noise. */
static const double CLEAR_SLOPE = 0.03;
/* Whatever was learned: less of a rise is a plateau (180 rpm/s), less of a fall
 * a sag (750 rpm/s). Rolling with the throttle shut costs 1 m/s2 and more. */
static const double SMALLEST_RISE = 0.012;
static const double SMALLEST_FALL = 0.05;
/* High up, a fall that goes no farther (300 rpm) is no lift. */
static const double SMALL_FALL = 0.02;
/* Above this a kart is under way; below the lesser one it rolls or stands. */
static const double UNDER_WAY = 0.33;
static const double ROLLING = 0.20;
/* Holding this much RPM needs load. Holding less than the lower one for some
 * seconds is idling, or rolling along behind a yellow flag: a full throttle
 * would drive the kart on. In between an engine may be starved of fuel. */
static const double TOP = 0.85;
static const double HELD_LOW = 0.70;
static const double HELD_WINDOW_S = 2.0;
static const double HELD_S = 1.0;
/* A kart that is driven goes this low for this share of the time. */
static const double LOW = 0.80;
static const double LOW_SHARE = 0.05;
/* What no turning engine does: so much at once (1,800 rpm), and so much in each
 * second besides (9,000 rpm/s; 1 g of braking is 4,900). */
static const double LEAP = 0.12;
static const double LEAP_EACH_S = 0.6;
/* A reading that leaps and has not come back by then is believed. */
static const double LEAP_S = 2.0;
/* For so long the load from before a leap is believed. */
static const double BELIEVED_S = 1.0;

/* Learned: strong slopes are those that this share is weaker than. */
static const double STRONG = 0.7;
/* A rise counts from this share of a strong one, a fall likewise. */
static const double RISE_SHARE = 0.25;
static const double FALL_SHARE = 0.30;

/* What was learned about this engine in this session. */
struct habits {
    double top_rpm;
    double rise_rpm_s; /* what rises faster is under load, > 0 */
    double fall_rpm_s; /* what falls faster is not, < 0 */
};

/* The window in which the standard error of a slope is the faint one: s / (step
 * * (n^3 / 12)^0.5) for n readings with the standard deviation s, solved for
 * the time n * step. A rounded reading errs by its step over the root of 12. */
static double choose_window_s(const struct kw_session *session,
                              double top_rpm,
                              double *scratch)
{
    const size_t n = session->n_samples;
    const double rounding_rpm =
        kw_resolution(session->rpm, n, scratch) / sqrt(12.0);
    const double noise_rpm = kw_noise_sd(session->rpm, n, scratch);
    const double sd_rpm = fmax(noise_rpm, rounding_rpm);
    const double faint_rpm_s = FAINT_SLOPE * top_rpm;
    const double window_s =
        cbrt(12.0 * sd_rpm * sd_rpm /
             (faint_rpm_s * faint_rpm_s * session->rate_hz));
    return fmin(fmax(window_s, SLOPE_WINDOW_S), WIDEST_WINDOW_S);
}

/* Clears readings that were reached by a leap, until they are back. */
static void clear_leaps(const struct kw_session *session,
                        double top_rpm,
                        double *rpm)
{
    size_t last = 0;
    while (last < session->n_samples && isnan(rpm[last]))
        last++;
    for (size_t i = last + 1; i < session->n_samples; i++) {
        if (isnan(rpm[i]))
            continue;
        const double since_s = session->time_s[i] - session->time_s[last];
        const double most_rpm = top_rpm * (LEAP + LEAP_EACH_S * since_s);
        if (since_s <= LEAP_S && fabs(rpm[i] - rpm[last]) > most_rpm)
            rpm[i] = NAN;
        else
            last = i;
    }
}

/* A strong slope of one sign, from a kart under way; NAN when there is none. */
static double strong_slope(const double *rpm,
                           const double *slope,
                           size_t n_samples,
                           double clear_rpm_s,
                           double *scratch)
{
    const double sign = clear_rpm_s > 0.0 ? 1.0 : -1.0;
    const double top_rpm = fabs(clear_rpm_s) / CLEAR_SLOPE;
    size_t n = 0;
    for (size_t i = 0; i < n_samples; i++) {
        if (sign * slope[i] > fabs(clear_rpm_s) && rpm[i] > UNDER_WAY * top_rpm)
            scratch[n++] = sign * slope[i];
    }
    return sign * kw_quantile(scratch, n, STRONG, scratch);
}

/* From what this kart does, so that a heavy kart on a long gear is
 * measured by itself. */
static void learn(const double *rpm,
                  const double *slope,
                  size_t n,
                  double *scratch,
                  struct habits *habits)
{
    const double clear_rpm_s = CLEAR_SLOPE * habits->top_rpm;
    /* fmax and fmin pass over a NAN: nothing learned, the smallest counts. */
    habits->rise_rpm_s =
        fmax(RISE_SHARE * strong_slope(rpm, slope, n, clear_rpm_s, scratch),
             SMALLEST_RISE * habits->top_rpm);
    habits->fall_rpm_s =
        fmin(FALL_SHARE * strong_slope(rpm, slope, n, -clear_rpm_s, scratch),
             -SMALLEST_FALL * habits->top_rpm);
}

/* now       load at this moment, NAN when not known.
 * fell_at   the sample at which a fall ended a pull, while the fall lasts and
 *           has not gone far; else n_samples.
 * fell_rpm  where it began. */
struct walker {
    const struct kw_session *session;
    const struct habits *habits;
    double *load;
    double now;
    size_t fell_at;
    double fell_rpm;
};

/* A fall that stops before it has gone far was the first dip of a sag, or a
 * bump: the pull goes on. */
static void watch_fall(struct walker *w, size_t i, double rpm, double slope)
{
    const size_t none = w->session->n_samples;
    const bool far = w->fell_rpm - rpm > SMALL_FALL * w->habits->top_rpm ||
                     kw_under_load(w->now);
    if (w->fell_at == none)
        return;
    if (far) {
        w->fell_at = none;
    } else if (slope >= w->habits->fall_rpm_s) {
        for (size_t k = w->fell_at; k < i; k++)
            w->load[k] = 1.0;
        w->now = 1.0;
        w->fell_at = none;
    }
}

/* Takes the reading in: load turns on with a clear rise, off with a clear fall,
 * and stays as it was with anything between. */
static void step(struct walker *w, size_t i, double rpm, double slope)
{
    const double was = w->now;
    const struct habits *habits = w->habits;
    if (rpm < ROLLING * habits->top_rpm)
        w->now = 0.0;
    else if (slope > habits->rise_rpm_s)
        w->now = 1.0;
    else if (slope < habits->fall_rpm_s)
        w->now = 0.0;
    else if (isnan(w->now) && !isnan(slope) && !isnan(rpm))
        w->now = rpm > TOP * habits->top_rpm ? 1.0 : 0.0;
    if (kw_under_load(was) && kw_off_load(w->now) &&
        rpm > HELD_LOW * habits->top_rpm) {
        w->fell_at = i;
        w->fell_rpm = rpm;
    }
    watch_fall(w, i, rpm, slope);
    w->load[i] = w->now;
}

/* One pass in time; what a gap or a long silence hides is not known after
 * it. */
static void walk(const struct kw_session *session,
                 const double *rpm,
                 const double *slope,
                 const struct habits *habits,
                 double *load)
{
    struct walker w = {session, habits, load, NAN, session->n_samples, NAN};
    double read_s = session->time_s[0];
    size_t gap = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        const bool after_gap =
            gap < session->gaps.n && session->gaps.items[gap].to == i;
        gap += after_gap ? 1 : 0;
        if (!isnan(rpm[i]))
            read_s = session->time_s[i];
        if (after_gap || session->time_s[i] - read_s > BELIEVED_S) {
            w.now = NAN;
            w.fell_at = session->n_samples;
        }
        step(&w, i, rpm[i], slope[i]);
    }
}

/* The stretches in which RPM is held low: flat over a wide window for a while.
 * The flat stretch reaches nearly half a window beyond the windows' centres. */
static void clear_low_plateaus(const struct kw_session *session,
                               const double *rpm,
                               const double *wide_slope,
                               double top_rpm,
                               double *load)
{
    const size_t n = session->n_samples;
    const double *time_s = session->time_s;
    /* Less than half, so that the pull beside the plateau keeps its edge. */
    const double reach_s = 0.4 * HELD_WINDOW_S;
    for (size_t from = 0; from < n;) {
        size_t to = from;
        while (to < n && rpm[to] < HELD_LOW * top_rpm &&
               fabs(wide_slope[to]) <= SMALLEST_RISE * top_rpm)
            to++;
        const bool held = to > from && time_s[to - 1] - time_s[from] > HELD_S;
        for (size_t i = from; held && i < to; i++)
            load[i] = 0.0;
        for (size_t i = from;
             held && i > 0 && time_s[from] - time_s[i - 1] < reach_s; i--)
            load[i - 1] = 0.0;
        for (size_t i = to;
             held && i < n && time_s[i] - time_s[to - 1] < reach_s; i++)
            load[i] = 0.0;
        from = to > from ? to : from + 1;
    }
}

/* An engine that only idles shows one RPM: nothing tells load from none. */
static bool has_range(const double *rpm,
                      size_t n_samples,
                      double top_rpm,
                      double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < n_samples; i++) {
        if (rpm[i] > ROLLING * top_rpm)
            scratch[n++] = rpm[i];
    }
    return kw_quantile(scratch, n, LOW_SHARE, scratch) < LOW * top_rpm;
}

/* Leaps go first, since one lost reading would make the steepest slopes of the
 * session and be learned as its habit. The wide slope of the plateaus comes
 * last: it may take load away and never gives any. */
enum kw_status kw_load_from_rpm(const struct kw_session *session,
                                double *load,
                                struct kw_error *error)
{
    const size_t n = session->n_samples;
    double *rpm = kw_array_new(n, sizeof *rpm, error);
    double *slope = kw_array_new(n, sizeof *slope, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (rpm == NULL || slope == NULL || scratch == NULL)
        goto done;
    memcpy(rpm, session->rpm, n * sizeof *rpm);
    struct habits habits = {.top_rpm =
                                kw_quantile_of_sample(rpm, n, 0.99, scratch)};
    status = KW_OK;
    for (size_t i = 0; i < n; i++)
        load[i] = NAN;
    clear_leaps(session, habits.top_rpm, rpm);
    if (!has_range(rpm, n, habits.top_rpm, scratch))
        goto done;
    kw_slope(session, rpm, choose_window_s(session, habits.top_rpm, scratch),
             slope);
    learn(rpm, slope, n, scratch, &habits);
    walk(session, rpm, slope, &habits, load);
    kw_slope(session, rpm, HELD_WINDOW_S, slope);
    clear_low_plateaus(session, rpm, slope, habits.top_rpm, load);
done:
    free(rpm);
    free(slope);
    free(scratch);
    return status;
}
