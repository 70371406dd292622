/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Closed tracks of straights and bends, see sim_track.h. */
#include "sim_track.h"

#include <math.h>
#include <stdlib.h>

enum { MAX_CORNERS = 14, MAX_PIECES = 2 * MAX_CORNERS + 1 };

static const double TWO_PI = 6.283185307179586;

/* A bend turns at most this far (a hairpin), or the rounding eats the
 * straights. */
static const double SHARPEST_TURN_RAD = 2.65;
/* The tightest bend of a kart track (common practice, no source). */
static const double TIGHTEST_RADIUS_M = 4.5;
/* The driven line is smoother than the arcs: the steering needs this long. */
static const double STEERING_LENGTH_M = 9.0;

struct corner {
    double x_m, y_m;
    double turn_rad;
    double radius_m;
};

/* A straight (curvature 0) or an arc, from a pose. */
struct piece {
    double x_m, y_m, heading_rad;
    double length_m, curvature_1_m;
};

struct outline {
    size_t n;
    struct corner corner[MAX_CORNERS];
};

static double edge_m(const struct outline *outline, size_t i)
{
    const struct corner *a = &outline->corner[i];
    const struct corner *b = &outline->corner[(i + 1) % outline->n];
    return hypot(b->x_m - a->x_m, b->y_m - a->y_m);
}

static double edge_heading(const struct outline *outline, size_t i)
{
    const struct corner *a = &outline->corner[i];
    const struct corner *b = &outline->corner[(i + 1) % outline->n];
    return atan2(b->y_m - a->y_m, b->x_m - a->x_m);
}

/* A star-shaped polygon: corners at rising angles never cross one another. */
static void draw_corners(struct sim_random *random,
                         struct outline *outline,
                         double length_m)
{
    outline->n = 4 + sim_pick(random, 9);
    if (length_m < 600.0 && outline->n > 8)
        outline->n = 8;
    const double stretch = sim_between(random, 0.45, 1.0);
    for (size_t i = 0; i < outline->n; i++) {
        const double angle = TWO_PI *
                             ((double)i + sim_between(random, -0.35, 0.35)) /
                             (double)outline->n;
        const double radius = sim_between(random, 0.35, 1.0);
        outline->corner[i].x_m = radius * cos(angle);
        outline->corner[i].y_m = radius * sin(angle) * stretch;
    }
}

static void scale_corners(struct outline *outline, double factor)
{
    for (size_t i = 0; i < outline->n; i++) {
        outline->corner[i].x_m *= factor;
        outline->corner[i].y_m *= factor;
        outline->corner[i].radius_m *= factor;
    }
}

/* Gives each corner the radius that was drawn, or what its two straights leave.
 * Returns the length of the rounded line, 0 when the outline is of no use. */
static double round_corners(struct sim_random *random, struct outline *outline)
{
    double length_m = 0.0;
    for (size_t i = 0; i < outline->n; i++)
        length_m += edge_m(outline, i);
    for (size_t i = 0; i < outline->n; i++) {
        struct corner *corner = &outline->corner[i];
        const size_t before = (i + outline->n - 1) % outline->n;
        corner->turn_rad = remainder(
            edge_heading(outline, i) - edge_heading(outline, before), TWO_PI);
        const double turn = fabs(corner->turn_rad);
        const double room_m =
            0.47 * fmin(edge_m(outline, i), edge_m(outline, before));
        const double tangent = tan(turn / 2.0);
        corner->radius_m =
            fmin(sim_log_span(random, 6.0, 45.0), room_m / fmax(tangent, 1e-3));
        if (turn > SHARPEST_TURN_RAD || corner->radius_m < TIGHTEST_RADIUS_M)
            return 0.0;
        length_m -= corner->radius_m * (2.0 * tangent - turn);
    }
    return length_m;
}

static size_t lay_pieces(const struct outline *outline, struct piece *pieces)
{
    size_t n = 0;
    for (size_t i = 0; i < outline->n; i++) {
        const struct corner *from = &outline->corner[i];
        const struct corner *to = &outline->corner[(i + 1) % outline->n];
        const double heading = edge_heading(outline, i);
        const double cut_m = from->radius_m * tan(fabs(from->turn_rad) / 2.0);
        const double next_m = to->radius_m * tan(fabs(to->turn_rad) / 2.0);
        const double straight_m = edge_m(outline, i) - cut_m - next_m;
        pieces[n++] = (struct piece){from->x_m + cut_m * cos(heading),
                                     from->y_m + cut_m * sin(heading), heading,
                                     straight_m, 0.0};
        const double along_m = cut_m + straight_m;
        pieces[n++] =
            (struct piece){from->x_m + along_m * cos(heading),
                           from->y_m + along_m * sin(heading), heading,
                           to->radius_m * fabs(to->turn_rad),
                           (to->turn_rad > 0.0 ? 1.0 : -1.0) / to->radius_m};
    }
    return n;
}

static void pose_in_piece(const struct piece *piece,
                          double along_m,
                          struct piece *pose)
{
    const double h = piece->heading_rad;
    const double k = piece->curvature_1_m;
    *pose = *piece;
    pose->heading_rad = h + k * along_m;
    if (fabs(k) < 1e-9) {
        pose->x_m += along_m * cos(h);
        pose->y_m += along_m * sin(h);
    } else {
        pose->x_m += (sin(h + k * along_m) - sin(h)) / k;
        pose->y_m -= (cos(h + k * along_m) - cos(h)) / k;
    }
}

/* The start line lies on the longest straight, or now and then on another. */
static size_t start_piece(struct sim_random *random,
                          const struct piece *pieces,
                          size_t n)
{
    if (sim_chance(random, 0.25)) {
        const size_t other = 2 * sim_pick(random, n / 2);
        if (pieces[other].length_m > 25.0)
            return other;
    }
    size_t longest = 0;
    for (size_t i = 0; i < n; i += 2)
        if (pieces[i].length_m > pieces[longest].length_m)
            longest = i;
    return longest;
}

static void allocate_tables(struct sim_track *track)
{
    track->n = (size_t)ceil(track->length_m / 0.5);
    track->step_m = track->length_m / (double)track->n;
    track->x_m = sim_allocate(track->n, sizeof(double));
    track->y_m = sim_allocate(track->n, sizeof(double));
    track->heading_rad = sim_allocate(track->n, sizeof(double));
    track->curvature_1_m = sim_allocate(track->n, sizeof(double));
    track->slope = sim_allocate(track->n, sizeof(double));
}

static void walk_pieces(struct sim_track *track,
                        const struct piece *pieces,
                        size_t n_pieces,
                        double first_along_m)
{
    size_t at = 0;
    double along_m = first_along_m;
    struct piece pose;
    for (size_t i = 0; i < track->n; i++) {
        while (along_m >= pieces[at].length_m) {
            along_m -= pieces[at].length_m;
            at = (at + 1) % n_pieces;
        }
        pose_in_piece(&pieces[at], along_m, &pose);
        track->x_m[i] = pose.x_m;
        track->y_m[i] = pose.y_m;
        track->heading_rad[i] = pose.heading_rad;
        track->curvature_1_m[i] = pose.curvature_1_m;
        along_m += track->step_m;
    }
    /* One step past the last sample is the first again, if the line closes. */
    while (along_m >= pieces[at].length_m) {
        along_m -= pieces[at].length_m;
        at = (at + 1) % n_pieces;
    }
    pose_in_piece(&pieces[at], along_m, &pose);
    track->closing_error_m =
        hypot(pose.x_m - track->x_m[0], pose.y_m - track->y_m[0]);
}

/* A running mean over `width` samples of a closed table. */
static void smooth_round(double *table, size_t n, size_t width)
{
    double *copy = sim_allocate(n, sizeof(double));
    double sum = 0.0;
    for (size_t i = 0; i < width; i++)
        sum += table[i];
    for (size_t i = 0; i < n; i++) {
        copy[(i + width / 2) % n] = sum / (double)width;
        sum += table[(i + width) % n] - table[i];
    }
    for (size_t i = 0; i < n; i++)
        table[i] = copy[i];
    free(copy);
}

struct sim_track sim_track_build(struct sim_random *random, double length_m)
{
    struct outline outline = {0};
    struct piece pieces[MAX_PIECES];
    double drawn_m = 0.0;
    while (drawn_m <= 0.0) {
        draw_corners(random, &outline, length_m);
        scale_corners(&outline, length_m / 4.0);
        drawn_m = round_corners(random, &outline);
        const double factor = length_m / fmax(drawn_m, 1.0);
        if (factor < 0.75 || factor > 1.5)
            drawn_m = 0.0;
    }
    scale_corners(&outline, length_m / drawn_m);
    const size_t n_pieces = lay_pieces(&outline, pieces);
    struct piece turned[MAX_PIECES];
    const size_t first = start_piece(random, pieces, n_pieces);
    for (size_t i = 0; i < n_pieces; i++)
        turned[i] = pieces[(first + i) % n_pieces];

    struct sim_track track = {.length_m = length_m};
    allocate_tables(&track);
    walk_pieces(&track, turned, n_pieces,
                turned[0].length_m * sim_between(random, 0.2, 0.8));
    const size_t width = (size_t)(STEERING_LENGTH_M / 2.0 / track.step_m);
    smooth_round(track.curvature_1_m, track.n, width);
    smooth_round(track.curvature_1_m, track.n, width);

    const double steep =
        sim_chance(random, 0.5) ? sim_span(random, 0, 0.02) : 0;
    const double turn = sim_between(random, 0.0, TWO_PI);
    for (size_t i = 0; i < track.n; i++)
        track.slope[i] =
            steep * sin(TWO_PI * (double)i / (double)track.n + turn);
    return track;
}

struct sim_track sim_track_straight(double length_m)
{
    struct sim_track track = {.length_m = length_m};
    allocate_tables(&track);
    for (size_t i = 0; i < track.n; i++)
        track.x_m[i] = track.step_m * (double)i;
    return track;
}

void sim_track_free(struct sim_track *track)
{
    free(track->x_m);
    free(track->y_m);
    free(track->heading_rad);
    free(track->curvature_1_m);
    free(track->slope);
    *track = (struct sim_track){0};
}

/* Position of `place_m` in the tables: whole steps, and the part of a step. */
static size_t locate(const struct sim_track *track,
                     double place_m,
                     double *part)
{
    const double turns = floor(place_m / track->length_m);
    const double steps = (place_m - turns * track->length_m) / track->step_m;
    size_t i = (size_t)fmax(steps, 0.0);
    *part = steps - (double)i;
    if (i >= track->n) {
        i = 0;
        *part = 0.0;
    }
    return i;
}

double sim_track_at(const struct sim_track *track,
                    const double *table,
                    double place_m)
{
    double part = 0.0;
    const size_t i = locate(track, place_m, &part);
    return table[i] + part * (table[(i + 1) % track->n] - table[i]);
}

void sim_track_point(const struct sim_track *track,
                     double place_m,
                     double aside_m,
                     double *x_m,
                     double *y_m)
{
    double part = 0.0;
    const size_t i = locate(track, place_m, &part);
    const size_t j = (i + 1) % track->n;
    const double heading = track->heading_rad[i];
    *x_m = track->x_m[i] + part * (track->x_m[j] - track->x_m[i]) -
           aside_m * sin(heading);
    *y_m = track->y_m[i] + part * (track->y_m[j] - track->y_m[i]) +
           aside_m * cos(heading);
}
