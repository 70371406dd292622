/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heat that came at some places only, and stayed.
 *
 * Each lap is cut into pieces of equal share, and each piece of a lap has one
 * figure: the gas above what was expected, mean over its cells under load. For
 * each lap that the heat may have come with, every piece asks whether its
 * coolest later lap is hotter than its hottest earlier one. */
#include "analysis/heat_spots.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Pieces of a lap: about a second each of one of 48 s. This and what has no
 * other source below is common practice, no source. */
enum { PIECES = 48 };
/* Laps before it came and after: one may be odd in itself. */
enum { FEWEST_LAPS = 2 };
/* In a log of more laps not each is tried as the first: the cost is that of the
 * laps times those tried. */
enum { MOST_TRIED = 200 };
/* Before this the probe itself warms up. */
static const double WORKED_S = 40.0;
/* A hot piece is hotter by so much in the mean: 3 % of fuel at 10 C for each.
 */
static const double LEAST_STEP_C = 30.0;
/* And so much lies between its coolest later lap and its hottest earlier one.
 */
static const double LEAST_GAP_C = 8.0;
/* The engine turned no faster there than before: a driver who came out of a
 * bend quicker, or only now kept his foot down, is no fault. */
static const double MOST_RPM = 1.03;
/* Laps are alike in a piece where RPM differs by less from their median. */
static const double LIKE_RPM = 0.05;
/* A piece that stayed as it was, or nearly beside the hot ones: by so much, or
 * by so much of theirs; and the share of all under load that did. */
static const double STAYED_C = 15.0;
static const double STAYED_SHARE = 0.3;
static const double LEAST_STAYED = 0.25;
/* Hot pieces in all of a lap: also as a share of what is under load. */
static const double LEAST_HOT_S = 3.0;
static const double LEAST_HOT_SHARE = 0.1;
/* In standard deviations of the laps about the means before and after. */
static const double LEAST_SCATTERS = 3.0;
/* Two laps before it are few, and still warm: where most hot pieces have no
 * more, only what no warm-up makes is believed. */
static const double LEAST_EARLY_C = 45.0;

/* One piece of one lap. */
struct reading {
    double excess_c;
    double rpm;
    double seconds;
};

/* readings  readings[n_laps * PIECES], seconds 0 where there is none.
 * order     order[n]: the laps that are compared, in the order of time. */
struct table {
    struct reading *readings;
    size_t *order;
    size_t n;
    size_t n_laps;
};

/* What parts later laps from earlier ones.
 *
 * from      from[piece]: the first of the hot laps there, n where none is.
 * heat_c_s  of the hot pieces of a lap. */
struct split {
    double heat_c_s;
    size_t from[PIECES];
};

static size_t piece_of(double place)
{
    const double piece = place * PIECES;
    return piece >= 0.0 && piece < PIECES ? (size_t)piece : PIECES - 1;
}

static void fill(const struct kw_heat_grid *g,
                 const double *level_c,
                 struct table *table)
{
    for (size_t i = 0; i < g->n; i++) {
        const double excess_c = g->gas_c[i] - level_c[i];
        if (g->lap[i] >= table->n_laps || isnan(g->place[i]) ||
            isnan(excess_c) || isnan(g->rpm[i]) || g->worked_s[i] < WORKED_S ||
            !kw_heat_cell_is_settled(g, i, true))
            continue;
        struct reading *r =
            &table->readings[g->lap[i] * PIECES + piece_of(g->place[i])];
        r->excess_c += excess_c * g->step_s[i];
        r->rpm += g->rpm[i] * g->step_s[i];
        r->seconds += g->step_s[i];
    }
    for (size_t k = 0; k < table->n_laps * PIECES; k++) {
        struct reading *r = &table->readings[k];
        if (!(r->seconds > 0.0))
            continue;
        r->excess_c /= r->seconds;
        r->rpm /= r->seconds;
    }
}

/* Drops the laps on which the engine turned otherwise in a piece: one behind a
 * slower kart, one under a yellow flag.
 *
 * rpm  rpm[t->n], overwritten. */
static void drop_unlike(struct table *t, double *rpm)
{
    for (size_t piece = 0; piece < PIECES; piece++) {
        size_t n = 0;
        for (size_t k = 0; k < t->n; k++) {
            const struct reading *r =
                &t->readings[t->order[k] * PIECES + piece];
            if (r->seconds > 0.0)
                rpm[n++] = r->rpm;
        }
        const double usual = kw_median(rpm, n, rpm);
        for (size_t k = 0; k < t->n; k++) {
            struct reading *r = &t->readings[t->order[k] * PIECES + piece];
            if (r->seconds > 0.0 && fabs(r->rpm - usual) > LIKE_RPM * usual)
                *r = (struct reading){0};
        }
    }
}

/* The laps of one piece, from .. to in the order of time. */
struct side {
    size_t n;
    double least_c;
    double most_c;
    double mean_c;
    double squares; /* about the mean */
    double rpm;
    double seconds;
};

static struct side side_of(const struct table *t,
                           size_t piece,
                           size_t from,
                           size_t to)
{
    struct side s = {.least_c = INFINITY, .most_c = -INFINITY};
    for (size_t k = from; k < to; k++) {
        const struct reading *r = &t->readings[t->order[k] * PIECES + piece];
        if (!(r->seconds > 0.0))
            continue;
        s.n++;
        s.squares += (r->excess_c - s.mean_c) * (r->excess_c - s.mean_c) *
                     (double)(s.n - 1) / (double)s.n;
        s.mean_c += (r->excess_c - s.mean_c) / (double)s.n;
        s.least_c = fmin(s.least_c, r->excess_c);
        s.most_c = fmax(s.most_c, r->excess_c);
        s.rpm += r->rpm;
        s.seconds += r->seconds;
    }
    if (s.n > 0) {
        s.rpm /= (double)s.n;
        s.seconds /= (double)s.n;
    }
    return s;
}

/* What a piece says of a split: how much hotter the later laps are there, and
 * whether it is plainly hot. */
struct step {
    size_t at;
    double size_c;  /* NAN where it has too few laps */
    double squares; /* of the laps about the means of either side */
    size_t n;
    size_t before;
    double seconds;
    bool hot;
};

static struct step step_at(const struct table *t, size_t piece, size_t at)
{
    const struct side before = side_of(t, piece, 0, at);
    const struct side after = side_of(t, piece, at, t->n);
    struct step step = {.at = at, .size_c = NAN, .seconds = after.seconds};
    if (before.n < FEWEST_LAPS || after.n < FEWEST_LAPS)
        return step;
    step.squares = before.squares + after.squares;
    step.n = before.n + after.n;
    step.before = before.n;
    step.size_c = after.mean_c - before.mean_c;
    step.hot = step.size_c >= LEAST_STEP_C &&
               after.least_c >= before.most_c + LEAST_GAP_C &&
               after.rpm <= MOST_RPM * before.rpm;
    return step;
}

/* It begins somewhere within a lap: before that place it came a lap later. */
static struct step better_step(const struct table *t, size_t piece, size_t at)
{
    const struct step now = step_at(t, piece, at);
    const struct step next = step_at(t, piece, at + 1);
    if (now.hot != next.hot)
        return now.hot ? now : next;
    return isnan(now.size_c) || next.size_c > now.size_c ? next : now;
}

static struct split split_at(const struct table *t, size_t at)
{
    struct split split = {0};
    struct step steps[PIECES];
    double known_s = 0.0;
    double hot_s = 0.0;
    double heat_c_s = 0.0;
    double squares = 0.0;
    double n = 0.0;
    double early_s = 0.0;
    for (size_t piece = 0; piece < PIECES; piece++) {
        steps[piece] = better_step(t, piece, at);
        if (isnan(steps[piece].size_c))
            continue;
        known_s += steps[piece].seconds;
        squares += steps[piece].squares;
        n += (double)steps[piece].n - 2.0;
        if (steps[piece].hot) {
            if (steps[piece].before == FEWEST_LAPS)
                early_s += steps[piece].seconds;
            hot_s += steps[piece].seconds;
            heat_c_s += steps[piece].size_c * steps[piece].seconds;
        }
    }
    const double warm_c = fmax(STAYED_C, STAYED_SHARE * heat_c_s / hot_s);
    double stayed_s = 0.0;
    for (size_t piece = 0; piece < PIECES; piece++) {
        stayed_s +=
            fabs(steps[piece].size_c) < warm_c ? steps[piece].seconds : 0.0;
        split.from[piece] =
            steps[piece].size_c >= warm_c ? steps[piece].at : t->n;
    }
    if (hot_s >= fmax(LEAST_HOT_S, LEAST_HOT_SHARE * known_s) &&
        stayed_s >= LEAST_STAYED * known_s &&
        heat_c_s >= LEAST_SCATTERS * sqrt(squares / n) * hot_s &&
        (early_s <= 0.5 * hot_s || heat_c_s >= LEAST_EARLY_C * hot_s))
        split.heat_c_s = heat_c_s;
    return split;
}

static void silence(struct kw_heat_grid *g,
                    const struct table *t,
                    const struct split *split)
{
    for (size_t i = 0; i < g->n; i++) {
        if (g->lap[i] >= t->n_laps || isnan(g->place[i]))
            continue;
        const size_t from = split->from[piece_of(g->place[i])];
        if (from < t->n && g->lap[i] >= t->order[from])
            g->teaches[i] = 0.0;
    }
}

enum kw_status kw_heat_find_spots(struct kw_heat_grid *grid,
                                  const struct kw_laps *laps,
                                  const double *level_c,
                                  bool *found,
                                  struct kw_error *error)
{
    *found = false;
    if (laps == NULL || laps->n < 2 * FEWEST_LAPS)
        return KW_OK;
    struct table t = {.n_laps = laps->n};
    t.readings = kw_array_new(laps->n * PIECES, sizeof *t.readings, error);
    t.order = kw_array_new(laps->n, sizeof *t.order, error);
    double *rpm = kw_array_new(laps->n, sizeof *rpm, error);
    enum kw_status status = KW_NO_MEMORY;
    if (t.readings == NULL || t.order == NULL || rpm == NULL)
        goto done;
    fill(grid, level_c, &t);
    for (size_t lap = 0; lap < laps->n; lap++) {
        if (laps->items[lap].kind == KW_LAP_FLYING && !laps->items[lap].spoilt)
            t.order[t.n++] = lap;
    }
    drop_unlike(&t, rpm);
    struct split best = {0};
    const size_t stride = t.n / MOST_TRIED + 1;
    for (size_t at = FEWEST_LAPS; at + FEWEST_LAPS <= t.n; at += stride) {
        const struct split one = split_at(&t, at);
        if (one.heat_c_s > best.heat_c_s)
            best = one;
    }
    *found = best.heat_c_s > 0.0;
    if (*found)
        silence(grid, &t, &best);
    status = KW_OK;
done:
    free(t.readings);
    free(t.order);
    free(rpm);
    return status;
}
