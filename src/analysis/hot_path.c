/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The cheapest path through levels of excess.
 *
 * Misfits are capped, so that a few wild cells cannot make a stretch, and
 * neighbouring cells are counted by how much they say of their own: healthy
 * pulls scatter as wholes (the driver, the wind, another kart), so one second
 * more of the same pull is little news. Cost: O(cells). */
#include "analysis/hot_path.h"

#include "core/robust.h"

#include <math.h>
#include <string.h>

/* The levels: 0 is none. 10 C for each percent of fuel (common practice, no
 * source) makes the lowest some 2 % lean. */
static const double LEVELS_C[KW_HOT_LEVELS] = {0.0,  20.0, 30.0, 45.0,
                                               65.0, 95.0, 140.0};
/* Entering a hot level, leaving it, and going from one to another. */
static const double PRICE_ENTER = 7.0;
static const double PRICE_LEAVE = 5.0;
static const double PRICE_CHANGE = 3.0;
/* Each second without load that a stretch is held over. */
static const double PRICE_LIFT_S = 0.5;
/* What one independent cell may say: as much as a normal density up to 4
 * standard deviations, beyond that so much more for each, and never more than
 * the most. */
static const double MISFIT_NORMAL = 4.0;
static const double MISFIT_BEYOND = 0.5;
static const double MISFIT_CAP = 16.0;
/* Pulls are compared in pieces of this length. */
static const double PIECE_S = 3.0;
/* Seconds of load that say one thing, at least and at most. */
static const double ALIKE_LEAST_S = 0.4;
static const double ALIKE_MOST_S = 3.0;
/* Share of readings below 0 from which their scatter is learned. */
static const double FEWEST_COOL = 0.1;

/* Whether a cell is a witness at all. */
bool kw_hot_counts(const struct kw_hot_options *o, size_t i)
{
    return !isnan(o->excess_c[i]) && kw_heat_cell_is_settled(o->grid, i, true);
}

/* Means of the excess over pieces of pulls; returns how many. */
static size_t collect_pieces(const struct kw_hot_options *o, double *pieces)
{
    const struct kw_heat_grid *g = o->grid;
    double sum = 0.0;
    double seconds = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (kw_hot_counts(o, i)) {
            sum += o->excess_c[i] * g->step_s[i];
            seconds += g->step_s[i];
        }
        const bool pull_ends = i + 1 == g->n || !kw_under_load(g->load[i + 1]);
        if (seconds < PIECE_S && !pull_ends)
            continue;
        if (seconds >= PIECE_S / 2.0)
            pieces[n++] = sum / seconds;
        sum = seconds = 0.0;
    }
    return n;
}

/* Standard deviation from the values below 0 alone: the others may be what is
 * looked for. Of a normal distribution's, four in five are smaller than
 * KW_NORMAL_TENTH of it; further out than the median, because tails make
 * alarms. */
static double cool_scatter(double *values, size_t n, double *scratch)
{
    size_t n_cool = 0;
    for (size_t i = 0; i < n; i++) {
        if (values[i] < 0.0)
            values[n_cool++] = -values[i];
    }
    /* With hardly any below 0 all is hot, and those few are odd ones. */
    if ((double)n_cool < FEWEST_COOL * (double)n)
        return 0.0;
    return kw_quantile(values, n_cool, 0.8, scratch) / KW_NORMAL_TENTH;
}

/* Scatter of single cells, scatter of pieces of pulls, and from both how
 * many seconds of a pull say one thing: white noise would average out over a
 * piece, the moods of a whole pull do not. */
struct kw_hot_scatter kw_find_hot_scatter(const struct kw_hot_options *o,
                                          double *values,
                                          double *scratch)
{
    struct kw_hot_scatter s;
    size_t n = 0;
    for (size_t i = 0; i < o->grid->n; i++) {
        if (kw_hot_counts(o, i))
            values[n++] = o->excess_c[i];
    }
    s.cell_c = fmax(cool_scatter(values, n, scratch), o->scatter_c);
    n = collect_pieces(o, values);
    s.piece_c = fmax(cool_scatter(values, n, scratch), 0.5 * o->scatter_c);
    const double share = s.piece_c / s.cell_c;
    s.piece_s = PIECE_S;
    s.alike_s =
        fmax(ALIKE_LEAST_S, fmin(PIECE_S * share * share, ALIKE_MOST_S));
    return s;
}

/* How far a reading lies from what a level stands for. A hot level stands for
 * all readings nearer to it than to its neighbours, the highest for all above:
 * where readings scatter little, one between two levels would otherwise agree
 * with neither and the hottest stretch be no stretch. */
static double off_level_c(double excess_c, size_t level, double scatter_c)
{
    const double off_c = excess_c - LEVELS_C[level];
    if (level == 0)
        return fabs(off_c);
    if (off_c > 0.0 && level + 1 == KW_HOT_LEVELS)
        return 0.0;
    const size_t next = off_c > 0.0 || level == 1 ? level + 1 : level - 1;
    const double half_c = 0.5 * fabs(LEVELS_C[next] - LEVELS_C[level]);
    const double slack_c = fmax(half_c - scatter_c, 0.0);
    return fmax(fabs(off_c) - slack_c, 0.0);
}

/* Half the square, as in the logarithm of a normal density; far out it grows
 * slowly and ends at the cap: one spike is one vote, but 20 standard deviations
 * for two seconds are no mood of the driver's. */
static double misfit(double excess_c,
                     size_t level,
                     const struct kw_hot_scatter *s)
{
    const double d = off_level_c(excess_c, level, s->cell_c) / s->cell_c;
    const double near = fmin(d, MISFIT_NORMAL);
    return fmin(0.5 * near * near + MISFIT_BEYOND * (d - near), MISFIT_CAP);
}

/* What a cell costs at a level. */
double kw_hot_cost(const struct kw_hot_options *o,
                   size_t i,
                   size_t level,
                   const struct kw_hot_scatter *s)
{
    const struct kw_heat_grid *g = o->grid;
    if (kw_hot_counts(o, i))
        return misfit(o->excess_c[i], level, s) *
               fmin(g->step_s[i] / s->alike_s, 1.0);
    const bool lifted = !kw_under_load(g->load[i]);
    return level > 0 && lifted ? PRICE_LIFT_S * g->step_s[i] : 0.0;
}

/* share: what part of the price is asked. */
static double price(double share, size_t from, size_t to)
{
    if (from == to)
        return 0.0;
    if (from == 0)
        return share * PRICE_ENTER;
    return share * (to == 0 ? PRICE_LEAVE : PRICE_CHANGE);
}

/* returns  the level at the end of the cheapest path. */
static size_t walk_forward(const struct kw_hot_options *o,
                           const struct kw_hot_scatter *s,
                           const struct kw_hot_walk *walk)
{
    double sum[KW_HOT_LEVELS] = {0};
    for (size_t k = 1; k < KW_HOT_LEVELS; k++)
        sum[k] = walk->share * PRICE_ENTER;
    for (size_t i = walk->from; i < walk->to; i++) {
        double next[KW_HOT_LEVELS];
        for (size_t to = 0; to < KW_HOT_LEVELS; to++) {
            size_t best = to;
            double least = sum[to];
            for (size_t from = 0; from < KW_HOT_LEVELS; from++) {
                const double way = sum[from] + price(walk->share, from, to);
                if (way < least) {
                    best = from;
                    least = way;
                }
            }
            walk->back[i * KW_HOT_LEVELS + to] = (unsigned char)best;
            next[to] = least + kw_hot_cost(o, i, to, s);
        }
        memcpy(sum, next, sizeof sum);
    }
    size_t last = 0;
    for (size_t k = 1; k < KW_HOT_LEVELS; k++)
        last = sum[k] < sum[last] ? k : last;
    return last;
}

/* Back from the end along the arrows that the forward walk left. */
void kw_walk_hot_path(const struct kw_hot_options *o,
                      const struct kw_hot_scatter *s,
                      const struct kw_hot_walk *walk)
{
    size_t last = walk_forward(o, s, walk);
    for (size_t i = walk->to; i-- > walk->from;) {
        walk->level[i] = (unsigned char)last;
        last = walk->back[i * KW_HOT_LEVELS + last];
    }
}
