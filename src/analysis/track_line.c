/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line across the track and the moment in which the kart came over it.
 *
 * A fix is a metre or two off and a tenth of a second away from the next. So
 * the distance from the line is fitted over all fixes around the passing, as a
 * polynomial in the way done: a receiver's noise averages out. */
#include "analysis/track_line.h"

#include "core/array.h"
#include "core/plane.h"
#include "signal/least_squares.h"
#include "signal/position.h"

#include <math.h>

/* A profile's line is lengthened by this at both ends: a receiver drifts, and
 * the owner may have measured the kerbs only (common practice, no source). What
 * passes there may be in the pit lane, see lap_position.c. */
static const double LONGER_M = 8.0;
/* Two points nearer than this are one: the line has no direction. */
static const double SHORTEST_LINE_M = 0.1;
/* Fixes within this time on both sides of the line tell when it was crossed; of
 * a slow receiver so many on each side. */
static const double FIT_S = 1.5;
static const double FIT_FIXES = 2.5;
/* Slower than this share of full pace (a spin, a stop on the line) the way
 * stands nearly still, and time is the better axis. */
static const double SLOWEST_BY_WAY = 0.3;

double kw_beyond_line_m(const struct kw_track_line *line,
                        double x_m,
                        double y_m)
{
    return (x_m - line->x_m) * line->east + (y_m - line->y_m) * line->north;
}

double kw_beside_line_m(const struct kw_track_line *line,
                        double x_m,
                        double y_m)
{
    return (y_m - line->y_m) * line->east - (x_m - line->x_m) * line->north;
}

/* Both ends, or it is none. */
static bool has_line(const struct kw_profile *profile)
{
    return isfinite(profile->line_lat_deg[0]) &&
           isfinite(profile->line_lat_deg[1]) &&
           isfinite(profile->line_lon_deg[0]) &&
           isfinite(profile->line_lon_deg[1]);
}

/* Across the line, and so a quarter turn from one end to the other. */
bool kw_line_of_profile(const struct kw_session *session,
                        const struct kw_profile *profile,
                        double x_m[2],
                        double y_m[2],
                        struct kw_track_line *line)
{
    if (!has_line(profile))
        return false;
    const struct kw_plane plane =
        kw_plane_at(session->origin_lat_deg, session->origin_lon_deg);
    for (size_t i = 0; i < 2; i++)
        kw_plane_project(&plane, profile->line_lat_deg[i],
                         profile->line_lon_deg[i], &x_m[i], &y_m[i]);
    const double length_m = hypot(x_m[1] - x_m[0], y_m[1] - y_m[0]);
    if (!(length_m > SHORTEST_LINE_M))
        return false;
    *line = (struct kw_track_line){
        .x_m = 0.5 * (x_m[0] + x_m[1]),
        .y_m = 0.5 * (y_m[0] + y_m[1]),
        .east = (y_m[1] - y_m[0]) / length_m,
        .north = -(x_m[1] - x_m[0]) / length_m,
        .half_m = 0.5 * length_m + LONGER_M,
        .stated_m = 0.5 * length_m,
    };
    return true;
}

/* ---- when exactly -------------------------------------------------------- */

/* A cubic follows a kart that brakes round a bend; fewer fixes than these bear
 * fewer terms only. */
enum { TERMS = 4, FIXES_FOR_CUBIC = 8, FIXES_FOR_SQUARE = 5, FEWEST_FIXES = 3 };

static size_t terms_for(size_t n_fixes)
{
    return n_fixes >= FIXES_FOR_CUBIC    ? TERMS
           : n_fixes >= FIXES_FOR_SQUARE ? TERMS - 1
                                         : TERMS - 2;
}

/* Root of the polynomial nearest 0 (Newton, whose right digits double with each
 * step); NAN when it runs out of the window, which ends at -1 and 1, or where
 * the kart ran along the line. */
static double root_near_zero(const double *c, size_t terms)
{
    double x = 0.0;
    for (size_t step = 0; step < 12; step++) {
        double value = 0.0;
        double slope = 0.0;
        for (size_t i = terms; i-- > 0;) {
            slope = slope * x + value;
            value = value * x + c[i];
        }
        if (!(fabs(slope) > 1e-9))
            return NAN;
        x -= value / slope;
        if (fabs(x) > 1.0)
            return NAN;
    }
    return x;
}

/* What the fit runs over.
 *
 * guess_s, half_s  the window, and half its width.
 * way     the axis that is fitted on: the way done, or NULL for the time.
 * centre, scale    of that axis: the window goes from -1 to 1. */
struct window {
    double guess_s;
    double half_s;
    const double *way;
    double centre;
    double scale;
};

/* Three seconds of driving, or a few fixes of a slow receiver. */
static struct window window_about(const struct kw_session *session,
                                  const struct kw_lap_axis *axis,
                                  double guess_s)
{
    const double half_s = fmax(FIT_S, FIT_FIXES / session->rate_hz);
    const double rate = axis != NULL
                            ? (kw_lap_axis_way_at(axis, guess_s + half_s) -
                               kw_lap_axis_way_at(axis, guess_s - half_s)) /
                                  (2.0 * half_s)
                            : 0.0;
    if (rate > SLOWEST_BY_WAY)
        return (struct window){guess_s, half_s, axis->way,
                               kw_lap_axis_way_at(axis, guess_s),
                               rate * half_s};
    return (struct window){guess_s, half_s, NULL, guess_s, half_s};
}

/* Fits the distance from the line over the window.
 *
 * returns  the polynomial's terms; 0 where it cannot be fitted. */
static size_t fit_distance(const struct kw_session *session,
                           const struct kw_track_line *line,
                           const struct window *window,
                           double coefficient[TERMS])
{
    static const double no_ridge[TERMS];
    const double *time_s = session->time_s;
    const size_t n = session->n_samples;
    const double from_s = window->guess_s - window->half_s;
    const double to_s = window->guess_s + window->half_s;
    struct kw_least_squares fit;
    size_t n_fixes = 0;
    kw_least_squares_start(&fit, TERMS);
    for (size_t i = kw_sample_at(time_s, n, from_s); i < n && time_s[i] <= to_s;
         i++) {
        if (!kw_has_place(session, i) || time_s[i] < from_s)
            continue;
        const double at = window->way != NULL ? window->way[i] : time_s[i];
        const double x = (at - window->centre) / window->scale;
        const double powers[TERMS] = {1.0, x, x * x, x * x * x};
        kw_least_squares_add(
            &fit, powers,
            kw_beyond_line_m(line, session->x_m[i], session->y_m[i]), 1.0);
        n_fixes++;
    }
    /* The sums of the first terms are those of a fit with no others. */
    fit.n_terms = terms_for(n_fixes);
    return n_fixes >= FEWEST_FIXES &&
                   kw_least_squares_solve(&fit, no_ridge, coefficient)
               ? fit.n_terms
               : 0;
}

/* By the way where the kart drives: it passes the same places at the same way,
 * however it brakes. */
double kw_line_passed_s(const struct kw_session *session,
                        const struct kw_lap_axis *axis,
                        const struct kw_track_line *line,
                        double guess_s)
{
    const struct window window = window_about(session, axis, guess_s);
    double coefficient[TERMS];
    const size_t terms = fit_distance(session, line, &window, coefficient);
    const double root = terms > 0 ? root_near_zero(coefficient, terms) : NAN;
    if (isnan(root))
        return guess_s;
    const double found = window.centre + root * window.scale;
    return window.way != NULL ? kw_lap_axis_time_at(axis, found) : found;
}
