/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps from position: passings of a line across the track.
 *
 * The line is the profile's, or one of our own: across the path at a fast place
 * that is passed as often as the session has laps. A passing counts when the
 * kart crosses the line itself (not its extension across another straight) in
 * the usual direction, some way after the last one. When exactly is told from
 * all fixes around it, see track_line.h. */
#include "analysis/lap_passings.h"

#include "analysis/lap_delay.h"
#include "analysis/lap_drive.h"
#include "analysis/track_line.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/position.h"

#include <math.h>
#include <stdlib.h>

/* Points for the search are at least so far apart: five a second are enough to
 * see a hairpin. */
static const double APART_S = 0.198;
/* The path's direction and speed are taken over this time on both sides. */
static const double CHORD_S = 0.4;
/* Slower than this the kart stands and only the receiver wanders. */
static const double STANDS_M_S = 2.5;
/* Our own line: half its width, wide enough for the track and a receiver's
 * drift, narrower than what lies between two straights going the same way. */
static const double HALF_WIDTH_M = 15.0;
/* A passing of a profile's line beyond its stated ends is in the pit lane,
 * where it lies so far beside the usual one and was slower than this share of
 * the usual speed. A receiver's drift moves all passings alike, and a fix that
 * jumps is as fast as any: of 1,900 simulated passings those beyond the ends
 * were at 0.95 of the usual speed and more. Pit lanes lie 10 m and more beside
 * the track and are driven at 0.35 to 0.6 of it there. */
static const double PIT_LANE_M = 6.0;
static const double PIT_SPEED = 0.75;
/* The kart comes by again after this way at the earliest. */
static const double SHORTEST_LAP_M = 120.0;
static const double SHORTEST_LAP_S = 12.0;
/* Within this angle of the usual direction, as a cosine: 60 degrees. */
static const double SAME_WAY = 0.5;
/* So many places are tried, of those that are faster than this share of the
 * way: on a straight fixes lie in line, and no spin ends there. */
enum { TRIALS = 64 };
static const double FAST_QUANTILE = 0.7;
/* A place with one passing too many or too few is worth so much less: ten times
 * the speed would not make up for it. */
static const double PRICE_OF_A_MISS = 10.0;
/* Laps are as long as each other within this share ... */
static const double SAME_LENGTH = 0.06;
/* ... and so many of them. */
static const double LEAST_ALIKE = 0.5;
enum { FEWEST_PASSINGS = 3 };
/* The passings are few and a receiver drifts slowly: its error may be this many
 * times what the passings show. Common practice, no source. */
static const double FEW_TOLD = 3.0;

/* One of the fixes that the search looks at, on the session's plane. */
struct point {
    size_t sample;
    double x_m;
    double y_m;
    double east; /* direction of travel, a unit vector; 0, 0 standing */
    double north;
    double speed_m_s;
    double way_m;
};

struct points {
    struct point *items;
    size_t n;
};

/* What the search has to work with. at[n] and scratch[2 n] are room for as many
 * points; out_and_in is that of struct kw_line_search. */
struct search {
    const struct kw_session *session;
    double out_and_in;
    const struct points *points;
    size_t *at;
    double *scratch;
};

/* Samples some 0.2 s apart that have a position. */
static void take_points(const struct kw_session *session, struct points *points)
{
    double next_s = -INFINITY;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!kw_has_place(session, i) || session->time_s[i] < next_s)
            continue;
        points->items[points->n++] = (struct point){
            .sample = i,
            .x_m = session->x_m[i],
            .y_m = session->y_m[i],
        };
        next_s = session->time_s[i] + APART_S;
    }
}

/* Direction and speed from the chord between the points around each. */
static void find_motion(const struct kw_session *session, struct points *points)
{
    size_t low = 0;
    size_t high = 0;
    double way_m = 0.0;
    for (size_t i = 0; i < points->n; i++) {
        struct point *now = &points->items[i];
        const double now_s = session->time_s[now->sample];
        while (session->time_s[points->items[low].sample] < now_s - CHORD_S &&
               low + 1 < i)
            low++;
        while (high + 1 < points->n &&
               (high <= i ||
                session->time_s[points->items[high].sample] < now_s + CHORD_S))
            high++;
        const struct point *a = &points->items[low];
        const struct point *b = &points->items[high];
        const double took_s =
            session->time_s[b->sample] - session->time_s[a->sample];
        const double chord_m = hypot(b->x_m - a->x_m, b->y_m - a->y_m);
        if (!(took_s > 0.0))
            continue;
        now->speed_m_s = chord_m / took_s;
        if (now->speed_m_s > STANDS_M_S) {
            now->east = (b->x_m - a->x_m) / chord_m;
            now->north = (b->y_m - a->y_m) / chord_m;
        }
        if (i > 0 && now->speed_m_s > STANDS_M_S)
            way_m += now->speed_m_s *
                     fmin(now_s - session->time_s[now[-1].sample], took_s);
        now->way_m = way_m;
    }
}

/* Where the straight between two points meets the line, beside its middle. */
static double met_beside_m(const struct kw_track_line *line,
                           const struct point *a,
                           const struct point *b)
{
    const double before_m = kw_beyond_line_m(line, a->x_m, a->y_m);
    const double after_m = kw_beyond_line_m(line, b->x_m, b->y_m);
    const double part = before_m / (before_m - after_m);
    return kw_beside_line_m(line, a->x_m + part * (b->x_m - a->x_m),
                            a->y_m + part * (b->y_m - a->y_m));
}

/* true when the step to point i crosses the line forwards. */
static bool crosses(const struct kw_track_line *line,
                    const struct points *points,
                    size_t i)
{
    const struct point *a = &points->items[i - 1];
    const struct point *b = &points->items[i];
    if (!(kw_beyond_line_m(line, a->x_m, a->y_m) < 0.0 &&
          kw_beyond_line_m(line, b->x_m, b->y_m) >= 0.0))
        return false;
    /* The other side of a hairpin goes the other way; a spin on the line is
     * forgiven to one of the two points. */
    if (b->east * line->east + b->north * line->north < SAME_WAY &&
        a->east * line->east + a->north * line->north < SAME_WAY)
        return false;
    return fabs(met_beside_m(line, a, b)) <= line->half_m;
}

/* Every crossing, as indices of the point after the line. */
static size_t find_crossings(const struct points *points,
                             const struct kw_track_line *line,
                             size_t *at)
{
    size_t n = 0;
    for (size_t i = 1; i < points->n; i++) {
        if (crosses(line, points, i))
            at[n++] = i;
    }
    return n;
}

/* Where the step to point i met the line, beside its middle. */
static double beside_m(const struct search *search,
                       const struct kw_track_line *line,
                       size_t i)
{
    const struct point *point = &search->points->items[i];
    return met_beside_m(line, &point[-1], point);
}

/* Drops the crossings of the lengthened part that were in the pit lane. Those
 * of the stated line say what is usual. */
static size_t leave_pit_lane_out(const struct search *search,
                                 const struct kw_track_line *line,
                                 size_t n)
{
    const struct point *items = search->points->items;
    size_t *at = search->at;
    double *beside = search->scratch;
    double *speeds = beside + n;
    size_t stated = 0;
    for (size_t i = 0; i < n; i++) {
        const double now_m = beside_m(search, line, at[i]);
        if (fabs(now_m) > line->stated_m)
            continue;
        beside[stated] = now_m;
        speeds[stated++] = items[at[i]].speed_m_s;
    }
    if (stated == 0)
        return n;
    const double usual_m = kw_median(beside, stated, beside);
    const double slow_m_s = PIT_SPEED * kw_median(speeds, stated, speeds);
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        const double now_m = beside_m(search, line, at[i]);
        if (fabs(now_m) <= line->stated_m ||
            fabs(now_m - usual_m) <= PIT_LANE_M ||
            items[at[i]].speed_m_s >= slow_m_s)
            at[kept++] = at[i];
    }
    return kept;
}

/* Drops those within a short way or time of the one before. */
static size_t one_a_lap(const struct kw_session *session,
                        const struct points *points,
                        size_t *at,
                        size_t n)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        const struct point *now = &points->items[at[i]];
        const struct point *last =
            kept > 0 ? &points->items[at[kept - 1]] : NULL;
        if (last == NULL ||
            (now->way_m - last->way_m > SHORTEST_LAP_M &&
             session->time_s[now->sample] - session->time_s[last->sample] >
                 SHORTEST_LAP_S))
            at[kept++] = at[i];
    }
    return kept;
}

/* All passings, as indices of the point after the line. */
static size_t find_passings(const struct search *search,
                            const struct kw_track_line *line)
{
    size_t n = find_crossings(search->points, line, search->at);
    n = leave_pit_lane_out(search, line, n);
    return one_a_lap(search->session, search->points, search->at, n);
}

/* Usual way from one passing to the next; NAN when they are not alike. */
static double lap_m(const struct points *points,
                    const size_t *at,
                    size_t n,
                    double *scratch)
{
    if (n < FEWEST_PASSINGS)
        return NAN;
    for (size_t i = 1; i < n; i++)
        scratch[i - 1] =
            points->items[at[i]].way_m - points->items[at[i - 1]].way_m;
    const double usual_m = kw_median(scratch, n - 1, scratch + n);
    size_t alike = 0;
    for (size_t i = 0; i + 1 < n; i++)
        alike += fabs(scratch[i] - usual_m) < SAME_LENGTH * usual_m ? 1 : 0;
    return (double)alike >= LEAST_ALIKE * (double)(n - 1) ? usual_m : NAN;
}

/* ---- a line of our own --------------------------------------------------- */

/* At right angles to the way the kart goes there. */
static struct kw_track_line line_across(const struct point *point)
{
    return (struct kw_track_line){point->x_m,   point->y_m,   point->east,
                                  point->north, HALF_WIDTH_M, HALF_WIDTH_M};
}

/* How well a place does as the line: fast, and passed as often as the line is
 * likely to have been; 0 when it will not do. */
static double worth(const struct search *search, const struct point *place)
{
    const struct kw_track_line line = line_across(place);
    const struct points *points = search->points;
    const size_t n = find_passings(search, &line);
    const double usual_m = lap_m(points, search->at, n, search->scratch);
    if (isnan(usual_m))
        return 0.0;
    const double first_m = points->items[search->at[0]].way_m;
    const double last_m = points->items[search->at[n - 1]].way_m;
    const double all_m = points->items[points->n - 1].way_m;
    /* Whole laps, and the way before the first passing and behind the last one
     * in laps. */
    const double turns = (double)(n - 1) + (first_m + all_m - last_m) / usual_m;
    const double likely = (double)kw_likely_passings(turns, search->out_and_in);
    const double miss = fabs((double)n - likely);
    return place->speed_m_s / (1.0 + PRICE_OF_A_MISS * miss);
}

/* Tries fast places of the middle of the session. */
static bool choose_line(const struct search *search, struct kw_track_line *line)
{
    const struct points *points = search->points;
    for (size_t i = 0; i < points->n; i++)
        search->scratch[i] = points->items[i].speed_m_s > STANDS_M_S
                                 ? points->items[i].speed_m_s
                                 : NAN;
    const double fast_m_s =
        kw_quantile(search->scratch, points->n, FAST_QUANTILE, search->scratch);
    const size_t from = points->n / 4;
    const size_t step = points->n / 2 / TRIALS + 1;
    double best = 0.0;
    size_t wait = 0;
    for (size_t i = from; i < points->n - points->n / 4; i++) {
        const struct point *place = &points->items[i];
        if (wait > 0)
            wait--;
        if (wait > 0 || !(place->speed_m_s >= fast_m_s))
            continue;
        /* Only the faster three tenths are tried, see FAST_QUANTILE. */
        wait = step * 3 / 10 + 1;
        const double now = worth(search, place);
        if (now > best) {
            best = now;
            *line = line_across(place);
        }
    }
    return best > 0.0;
}

/* ---- the profile's line -------------------------------------------------- */

/* Two points do not say which way a line is crossed: both are tried. */
static struct kw_track_line turned_round(struct kw_track_line line)
{
    line.east = -line.east;
    line.north = -line.north;
    return line;
}

/* Where the line lies between the samples before and after it. */
static double first_guess_s(const struct kw_session *session,
                            const struct kw_track_line *line,
                            const struct points *points,
                            size_t point)
{
    const size_t a = points->items[point - 1].sample;
    const size_t b = points->items[point].sample;
    const double before_m = kw_beyond_line_m(line, points->items[point - 1].x_m,
                                             points->items[point - 1].y_m);
    const double after_m = kw_beyond_line_m(line, points->items[point].x_m,
                                            points->items[point].y_m);
    return session->time_s[a] + before_m / (before_m - after_m) *
                                    (session->time_s[b] - session->time_s[a]);
}

/* ---- all together -------------------------------------------------------- */

/* A receiver wanders to all sides alike. What it wanders along the line, and
 * the driver's own line with it, shows beside the line's middle; by no more
 * than that it is off across the line, which is time. */
static double wander_s(const struct search *search,
                       const struct kw_track_line *line,
                       size_t n)
{
    const struct point *items = search->points->items;
    double *values = search->scratch;
    double *copy = values + n;
    for (size_t i = 0; i < n; i++)
        values[i] = beside_m(search, line, search->at[i]);
    const double wander_m = FEW_TOLD * kw_mad_sd(values, n, 0.0, copy);
    for (size_t i = 0; i < n; i++)
        values[i] = items[search->at[i]].speed_m_s;
    return wander_m / kw_median(values, n, copy);
}

/* The coarse look says between which fixes, the polynomial when. */
static enum kw_status add_passings(const struct search *search,
                                   const struct kw_lap_axis *axis,
                                   const struct kw_track_line *line,
                                   struct kw_passings *out,
                                   struct kw_error *error)
{
    const size_t n = find_passings(search, line);
    enum kw_status status = KW_OK;
    for (size_t i = 0; status == KW_OK && i < n; i++) {
        const double guess_s =
            first_guess_s(search->session, line, search->points, search->at[i]);
        status = kw_passings_add(
            out, kw_line_passed_s(search->session, axis, line, guess_s), error);
    }
    out->wander_s = wander_s(search, line, n);
    return status;
}

/* A receiver tells late where the kart was. */
static enum kw_status take_delay_out(const struct kw_session *session,
                                     struct kw_passings *out,
                                     struct kw_error *error)
{
    double delay_s;
    const enum kw_status status = kw_position_delay(session, &delay_s, error);
    for (size_t i = 0; status == KW_OK && i < out->n; i++)
        out->time_s[i] -= delay_s;
    return status;
}

/* A profile's line at another track is crossed by nobody: then one of our own
 * is taken. The way round that gives more passings is the right one. */
static bool find_line(const struct search *search,
                      const struct kw_profile *profile,
                      struct kw_passings *out,
                      struct kw_track_line *line)
{
    if (kw_line_of_profile(search->session, profile, out->line_x_m,
                           out->line_y_m, line)) {
        const struct kw_track_line other = turned_round(*line);
        const size_t one = find_passings(search, line);
        const size_t two = find_passings(search, &other);
        if (two > one)
            *line = other;
        if (one > 0 || two > 0)
            return true;
    }
    if (!choose_line(search, line))
        return false;
    for (size_t i = 0; i < 2; i++) {
        const double side_m = i == 0 ? HALF_WIDTH_M : -HALF_WIDTH_M;
        out->line_x_m[i] = line->x_m - side_m * line->north;
        out->line_y_m[i] = line->y_m + side_m * line->east;
    }
    return true;
}

/* Points are thinned for the search; the exact time is told from all fixes
 * again. */
enum kw_status kw_passings_by_position(const struct kw_line_search *with,
                                       struct kw_passings *out,
                                       struct kw_error *error)
{
    const struct kw_session *session = with->session;
    if (session->x_m == NULL || session->y_m == NULL)
        return KW_OK;
    const size_t n =
        kw_most_samples(session->time_s, session->n_samples, APART_S);
    struct points points = {0};
    points.items = kw_array_new(n, sizeof *points.items, error);
    struct search search = {
        .session = session, .out_and_in = with->out_and_in, .points = &points};
    search.at = kw_array_new(n, sizeof *search.at, error);
    search.scratch = kw_array_new(n, 2 * sizeof *search.scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (points.items == NULL || search.at == NULL || search.scratch == NULL)
        goto done;
    status = KW_OK;
    take_points(session, &points);
    find_motion(session, &points);
    struct kw_track_line line;
    if (points.n > 2 && find_line(&search, with->profile, out, &line))
        status = add_passings(&search, with->axis, &line, out, error);
    if (status == KW_OK)
        status = take_delay_out(session, out, error);
done:
    free(points.items);
    free(search.at);
    free(search.scratch);
    return status;
}
