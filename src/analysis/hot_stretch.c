/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hot stretches by the cheapest path through levels of excess.
 *
 * Misfits are capped, so that a few wild cells cannot make a stretch, and
 * neighbouring cells are counted by how much they say of their own: healthy
 * pulls scatter as wholes (the driver, the wind, another kart), so one second
 * more of the same pull is little news. Cost: O(cells). */
#include "analysis/hot_stretch.h"

#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The levels: 0 is none. 10 C for each percent of fuel (common practice, no
 * source) makes the lowest some 2 % lean. */
static const double LEVELS_C[] = {0.0, 20.0, 30.0, 45.0, 65.0, 95.0, 140.0};
enum { N_LEVELS = sizeof LEVELS_C / sizeof LEVELS_C[0] };
/* Entering a hot level, leaving it, and going from one to another. */
static const double PRICE_ENTER = 7.0;
static const double PRICE_LEAVE = 5.0;
static const double PRICE_CHANGE = 3.0;
/* Inside a fault that is believed a change costs this share. */
static const double PRICE_WITHIN = 0.6;
/* Cold for less than this inside a hot stretch is no end of it. */
static const double SHORTEST_COLD_S = 1.5;
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
/* A mean over several pieces scatters less, but not for ever: whole laps differ
 * too. */
static const double MOST_PIECES = 6.0;
/* The moments of a pull that do not count at its ends. */
static const double EDGE_S = 0.9;
/* RPM that sinks faster than this share of the usual strong rise is coasting;
 * cold for less than so long is noise. */
static const double HELD_LEAST_RISE = -0.1;
static const double HELD_PAUSE_S = 0.35;
/* A part of a fault between two lifts that is worth a line of its own. */
static const double LEAST_PART_S = 0.8;
static const double LEAST_PART_C = 8.0;
static const double LEAST_PART_SHARE = 0.4;
/* Share of readings below 0 from which their scatter is learned. */
static const double FEWEST_COOL = 0.1;
/* Less load than this, or less evidence, is no stretch. */
static const double LEAST_LOADED_S = 1.5;
static const double LEAST_EVIDENCE = 12.0;
static const double LEAST_EXCESS_C = 15.0;
static const double LEAST_SURPRISE = 3.5;
/* One stretch alone: a lift that other laps do not have, or a gust, makes a
 * brief one too. */
static const double CERTAIN_SURPRISE = 7.0;
static const double CERTAIN_EXCESS_C = 12.0;
static const double CERTAIN_BRIEF_C_S = 60.0;
/* Degrees times seconds of load: 33 C for 20 s. */
static const double LONG_C_S = 650.0;
static const double LONG_EVIDENCE = 20.0;
/* So many suspects in one session certify each other. */
enum { CERTIFYING = 3 };
/* What a repeat of a certain fault needs: it is likely before it is looked at.
 * Four standard deviations are one piece of a pull in thirty thousand. */
static const double REPEAT_EVIDENCE = 7.0;
static const double REPEAT_SURPRISE = 4.0;
static const double REPEAT_C = 25.0;
static const double REPEAT_SHARE = 0.5;

/* How healthy readings scatter here. */
struct scatter {
    double cell_c;
    double piece_c;
    double alike_s;
};

/* Whether a cell is a witness at all. */
static bool counts(const struct kw_hot_options *o, size_t i)
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
        if (counts(o, i)) {
            sum += o->excess_c[i] * g->step_s[i];
            seconds += g->step_s[i];
        }
        const bool pull_ends = i + 1 == g->n || !(g->load[i + 1] > 0.5);
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
 * 1.281552 of it; further out than the median, because tails make alarms. */
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
    return kw_quantile(values, n_cool, 0.8, scratch) / 1.281552;
}

/* Scatter of single cells, scatter of pieces of pulls, and from both how
 * many seconds of a pull say one thing: white noise would average out over a
 * piece, the moods of a whole pull do not. */
static struct scatter find_scatter(const struct kw_hot_options *o,
                                   double *values,
                                   double *scratch)
{
    struct scatter s;
    size_t n = 0;
    for (size_t i = 0; i < o->grid->n; i++) {
        if (counts(o, i))
            values[n++] = o->excess_c[i];
    }
    s.cell_c = fmax(cool_scatter(values, n, scratch), o->scatter_c);
    n = collect_pieces(o, values);
    s.piece_c = fmax(cool_scatter(values, n, scratch), 0.5 * o->scatter_c);
    const double share = s.piece_c / s.cell_c;
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
    if (off_c > 0.0 && level + 1 == N_LEVELS)
        return 0.0;
    const size_t next = off_c > 0.0 || level == 1 ? level + 1 : level - 1;
    const double half_c = 0.5 * fabs(LEVELS_C[next] - LEVELS_C[level]);
    const double slack_c = fmax(half_c - scatter_c, 0.0);
    return fmax(fabs(off_c) - slack_c, 0.0);
}

/* Half the square, as in the logarithm of a normal density; far out it grows
 * slowly and ends at the cap: one spike is one vote, but 20 standard deviations
 * for two seconds are no mood of the driver's. */
static double misfit(double excess_c, size_t level, const struct scatter *s)
{
    const double d = off_level_c(excess_c, level, s->cell_c) / s->cell_c;
    const double near = fmin(d, MISFIT_NORMAL);
    return fmin(0.5 * near * near + MISFIT_BEYOND * (d - near), MISFIT_CAP);
}

/* What a cell costs at a level. */
static double cost_of(const struct kw_hot_options *o,
                      size_t i,
                      size_t level,
                      const struct scatter *s)
{
    const struct kw_heat_grid *g = o->grid;
    if (counts(o, i))
        return misfit(o->excess_c[i], level, s) *
               fmin(g->step_s[i] / s->alike_s, 1.0);
    const bool lifted = !(g->load[i] > 0.5);
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

/* A walk over the cells from .. to - 1. */
struct walk {
    size_t from;
    size_t to;
    double share;
    unsigned char *back; /* back[i * N_LEVELS + level]: the level before i */
    unsigned char *level;
};

/* returns  the level at the end of the cheapest path. */
static size_t walk_forward(const struct kw_hot_options *o,
                           const struct scatter *s,
                           const struct walk *walk)
{
    double sum[N_LEVELS] = {0};
    for (size_t k = 1; k < N_LEVELS; k++)
        sum[k] = walk->share * PRICE_ENTER;
    for (size_t i = walk->from; i < walk->to; i++) {
        double next[N_LEVELS];
        for (size_t to = 0; to < N_LEVELS; to++) {
            size_t best = to;
            double least = sum[to];
            for (size_t from = 0; from < N_LEVELS; from++) {
                const double way = sum[from] + price(walk->share, from, to);
                if (way < least) {
                    best = from;
                    least = way;
                }
            }
            walk->back[i * N_LEVELS + to] = (unsigned char)best;
            next[to] = least + cost_of(o, i, to, s);
        }
        memcpy(sum, next, sizeof sum);
    }
    size_t last = 0;
    for (size_t k = 1; k < N_LEVELS; k++)
        last = sum[k] < sum[last] ? k : last;
    return last;
}

/* Back from the end along the arrows that the forward walk left. */
static void walk_path(const struct kw_hot_options *o,
                      const struct scatter *s,
                      const struct walk *walk)
{
    size_t last = walk_forward(o, s, walk);
    for (size_t i = walk->to; i-- > walk->from;) {
        walk->level[i] = (unsigned char)last;
        last = walk->back[i * N_LEVELS + last];
    }
}

/* All that is known when stretches are picked from the path. */
struct judge {
    const struct kw_hot_options *options;
    struct scatter scatter;
    struct walk walk;
};

/* Measures the stretch from .. to - 1; its ends are moved inwards to cells that
 * count. */
static struct kw_hot_stretch measure(const struct kw_hot_options *o,
                                     const struct scatter *s,
                                     const unsigned char *level,
                                     const struct kw_span *span)
{
    struct kw_hot_stretch stretch = {span->from, span->to, 0, 0, 0, 0};
    while (stretch.from < stretch.to && !counts(o, stretch.from))
        stretch.from++;
    while (stretch.to > stretch.from && !counts(o, stretch.to - 1))
        stretch.to--;
    for (size_t i = stretch.from; i < stretch.to; i++) {
        if (!counts(o, i))
            continue;
        stretch.excess_c += o->excess_c[i] * o->grid->step_s[i];
        stretch.loaded_s += o->grid->step_s[i];
        stretch.evidence += cost_of(o, i, 0, s) - cost_of(o, i, level[i], s);
    }
    if (stretch.loaded_s > 0.0)
        stretch.excess_c /= stretch.loaded_s;
    const double pieces =
        fmax(1.0, fmin(stretch.loaded_s / PIECE_S, MOST_PIECES));
    stretch.surprise = stretch.excess_c / s->piece_c * sqrt(pieces);
    return stretch;
}

/* It may be a fault. */
static bool is_suspect(const struct kw_hot_stretch *stretch)
{
    return stretch->loaded_s >= LEAST_LOADED_S &&
           stretch->evidence >= LEAST_EVIDENCE &&
           stretch->excess_c >= LEAST_EXCESS_C &&
           stretch->surprise >= LEAST_SURPRISE;
}

/* It is one, by itself: the shorter it was, the hotter it has to be; a long and
 * strong one needs no other proof. */
static bool is_certain(const struct kw_hot_stretch *stretch)
{
    if (stretch->evidence >= LONG_EVIDENCE &&
        stretch->excess_c * stretch->loaded_s >= LONG_C_S)
        return true;
    return stretch->surprise >= CERTAIN_SURPRISE &&
           stretch->excess_c >=
               CERTAIN_EXCESS_C + CERTAIN_BRIEF_C_S / stretch->loaded_s;
}

/* A cell before which a stretch is cut: a lift that is long enough. */
static bool is_cut(const struct kw_hot_options *o, size_t i)
{
    const struct kw_heat_grid *g = o->grid;
    return i > 0 && g->load[i] > 0.5 && !(g->load[i - 1] > 0.5) &&
           g->settled_s[i - 1] >= o->split_lift_s;
}

/* Growth is the only thing that can fail from here on. */
static enum kw_status add(struct kw_hot_stretches *out,
                          const struct kw_hot_stretch *stretch,
                          struct kw_error *error)
{
    if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                         sizeof *out->items, error) != KW_OK)
        return KW_NO_MEMORY;
    out->items[out->n++] = *stretch;
    return KW_OK;
}

/* The end of the hot part that begins at `from`: at a lift that is long enough,
 * or where the path goes cold for longer than a moment. */
static size_t part_end(const struct kw_hot_options *o,
                       const struct walk *walk,
                       size_t from)
{
    size_t to = from + 1;
    double cold_s = 0.0;
    for (size_t i = from + 1; i < walk->to && !is_cut(o, i); i++) {
        if (walk->level[i] > 0) {
            to = i + 1;
            cold_s = 0.0;
        } else if (counts(o, i)) {
            cold_s += o->grid->step_s[i];
        }
        if (cold_s > SHORTEST_COLD_S)
            break;
    }
    return to;
}

/* What was found before is not told again. */
static bool is_held(const struct kw_hot_stretches *held,
                    const struct kw_hot_stretch *stretch)
{
    for (size_t k = 0; k < held->n; k++) {
        if (held->items[k].from < stretch->to &&
            held->items[k].to > stretch->from)
            return true;
    }
    return false;
}

/* Cuts a fault into its hot stretches; each is as sure as the whole. That there
 * is a fault is settled by now, so a change of level costs less. */
static enum kw_status add_parts(const struct judge *j,
                                const struct kw_hot_stretch *whole,
                                struct kw_hot_stretches *out,
                                struct kw_error *error)
{
    const struct kw_hot_options *o = j->options;
    const struct scatter *s = &j->scatter;
    struct walk within = j->walk;
    enum kw_status status = KW_OK;
    within.from = whole->from;
    within.to = whole->to;
    within.share = PRICE_WITHIN;
    walk_path(o, s, &within);
    for (size_t from = within.from; status == KW_OK && from < within.to;) {
        if (within.level[from] == 0) {
            from++;
            continue;
        }
        const size_t to = part_end(o, &within, from);
        struct kw_hot_stretch part =
            measure(o, s, within.level, &(struct kw_span){from, to});
        from = to;
        if (part.loaded_s < LEAST_PART_S ||
            part.excess_c <
                fmax(LEAST_PART_C, LEAST_PART_SHARE * whole->excess_c) ||
            is_held(out, &part))
            continue;
        part.evidence = whole->evidence;
        part.surprise = whole->surprise;
        status = add(out, &part, error);
    }
    return status;
}

/* The next run of hot cells from `from` on; from = to where there is none. */
static struct kw_span next_hot(const struct walk *walk, size_t from)
{
    while (from < walk->to && walk->level[from] == 0)
        from++;
    size_t to = from;
    while (to < walk->to && walk->level[to] > 0)
        to++;
    return (struct kw_span){from, to};
}

/* Suspects on the path, how many of them are certain, and the mean excess of
 * those. */
struct bench {
    size_t n_suspects;
    size_t n_certain;
    double certain_c;
};

static struct bench count_suspects(const struct judge *j)
{
    struct bench bench = {0, 0, 0.0};
    const struct walk *walk = &j->walk;
    struct kw_span span = next_hot(walk, 0);
    for (; span.from < span.to; span = next_hot(walk, span.to)) {
        const struct kw_hot_stretch whole =
            measure(j->options, &j->scatter, walk->level, &span);
        bench.n_suspects += is_suspect(&whole) ? 1 : 0;
        if (!is_suspect(&whole) || !is_certain(&whole))
            continue;
        bench.n_certain++;
        bench.certain_c +=
            (whole.excess_c - bench.certain_c) / (double)bench.n_certain;
    }
    return bench;
}

/* In a session with a fault that is certain, a brief stretch about as hot is
 * the same fault at the end of another straight. */
static bool is_repeat(const struct bench *bench,
                      const struct kw_hot_stretch *stretch)
{
    return bench->n_certain > 0 && stretch->loaded_s >= LEAST_PART_S &&
           stretch->evidence >= REPEAT_EVIDENCE &&
           stretch->surprise >= REPEAT_SURPRISE &&
           stretch->excess_c >= fmax(REPEAT_C, REPEAT_SHARE * bench->certain_c);
}

/* A suspect that is certain itself, or has others like it: several suspects, or
 * a fault that is certain and not far hotter. */
static bool is_backed(const struct bench *bench,
                      const struct kw_hot_stretch *stretch)
{
    return bench->n_suspects >= CERTIFYING || is_certain(stretch) ||
           (bench->n_certain > 0 &&
            stretch->excess_c >= REPEAT_SHARE * bench->certain_c);
}

/* They never overlap, so the beginnings tell the order. */
static int by_from(const void *a, const void *b)
{
    const size_t x = ((const struct kw_hot_stretch *)a)->from;
    const size_t y = ((const struct kw_hot_stretch *)b)->from;
    return (x > y) - (x < y);
}

/* Where a fault is certain, stretches are sought once more at the price that
 * changes have inside a fault. */
static enum kw_status add_repeats(const struct judge *j,
                                  const struct bench *bench,
                                  struct kw_hot_stretches *out,
                                  struct kw_error *error)
{
    struct walk walk = j->walk;
    walk.share = PRICE_WITHIN;
    walk_path(j->options, &j->scatter, &walk);
    enum kw_status status = KW_OK;
    struct kw_span span = next_hot(&walk, 0);
    while (status == KW_OK && span.from < span.to) {
        const struct kw_hot_stretch whole =
            measure(j->options, &j->scatter, walk.level, &span);
        if (is_repeat(bench, &whole))
            status = add_parts(j, &whole, out, error);
        span = next_hot(&walk, span.to);
    }
    if (out->n > 1)
        qsort(out->items, out->n, sizeof *out->items, by_from);
    return status;
}

/* Runs of hot cells are looked at as wholes. */
static enum kw_status add_stretches(const struct judge *j,
                                    struct kw_hot_stretches *out,
                                    struct kw_error *error)
{
    const struct kw_hot_options *o = j->options;
    const struct bench bench = count_suspects(j);
    const bool told_whole = isinf(o->split_lift_s);
    enum kw_status status = KW_OK;
    struct kw_span span = next_hot(&j->walk, 0);
    while (status == KW_OK && span.from < span.to) {
        const struct kw_hot_stretch whole =
            measure(o, &j->scatter, j->walk.level, &span);
        if (is_suspect(&whole) && is_backed(&bench, &whole))
            status = told_whole ? add(out, &whole, error)
                                : add_parts(j, &whole, out, error);
        span = next_hot(&j->walk, span.to);
    }
    if (status == KW_OK && bench.n_certain > 0 && !told_whole)
        status = add_repeats(j, &bench, out, error);
    return status;
}

/* A cell without load in which throttle is held all the same, as in a bend: RPM
 * does not fall, and the gas is as hot as the stretch, or nearly. */
static bool is_held_hot(const struct kw_hot_options *o,
                        size_t i,
                        double excess_c)
{
    return !(o->grid->load[i] > 0.5) && o->grid->rise[i] > HELD_LEAST_RISE &&
           o->excess_c[i] >= fmax(LEAST_PART_C, LEAST_PART_SHARE * excess_c);
}

/* Takes in the bend before a pull and the one after it, cell by cell, as far as
 * the stretches beside it; a few cold ones in between are noise. */
static void take_in_bends(const struct kw_hot_options *o,
                          const struct kw_span *room,
                          struct kw_hot_stretch *stretch)
{
    const double *time_s = o->grid->time_s;
    for (size_t i = stretch->from;
         i-- > room->from &&
         time_s[stretch->from] - time_s[i] < HELD_PAUSE_S;) {
        if (is_held_hot(o, i, stretch->excess_c))
            stretch->from = i;
    }
    for (size_t i = stretch->to;
         i < room->to && time_s[i] - time_s[stretch->to - 1] < HELD_PAUSE_S;
         i++) {
        if (is_held_hot(o, i, stretch->excess_c))
            stretch->to = i + 1;
    }
}

/* A stretch that begins with the first settled cell of a pull began with the
 * pull; likewise its end. */
static void widen(const struct kw_hot_options *o,
                  struct kw_hot_stretches *stretches)
{
    const struct kw_heat_grid *g = o->grid;
    for (size_t k = 0; k < stretches->n; k++) {
        struct kw_hot_stretch *stretch = &stretches->items[k];
        size_t from = stretch->from;
        while (from > 0 && g->load[from - 1] > 0.5 && !counts(o, from - 1))
            from--;
        if (from > 0 && !(g->load[from - 1] > 0.5) &&
            g->time_s[stretch->from] - g->time_s[from] < EDGE_S)
            stretch->from = from;
        size_t to = stretch->to;
        while (to < g->n && g->load[to] > 0.5 && !counts(o, to))
            to++;
        if (to < g->n && !(g->load[to] > 0.5) &&
            g->time_s[to] - g->time_s[stretch->to] < EDGE_S)
            stretch->to = to;
        const struct kw_span room = {
            k > 0 ? stretch[-1].to : 0,
            k + 1 < stretches->n ? stretch[1].from : g->n,
        };
        take_in_bends(o, &room, stretch);
    }
}

/* Memory: seven bytes for each cell and level, 250 kB for an hour. */
enum kw_status kw_find_hot_stretches(const struct kw_hot_options *options,
                                     struct kw_hot_stretches *out,
                                     struct kw_error *error)
{
    const size_t n = options->grid->n;
    *out = (struct kw_hot_stretches){0};
    double *values = kw_array_new(n, sizeof *values, error);
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    unsigned char *back = kw_array_new(n, N_LEVELS, error);
    unsigned char *level = kw_array_new(n, 1, error);
    enum kw_status status = KW_NO_MEMORY;
    if (values == NULL || scratch == NULL || back == NULL || level == NULL)
        goto done;
    const struct judge judge = {options,
                                find_scatter(options, values, scratch),
                                {0, n, 1.0, back, level}};
    walk_path(options, &judge.scatter, &judge.walk);
    status = add_stretches(&judge, out, error);
    widen(options, out);
done:
    if (status != KW_OK) {
        free(out->items);
        *out = (struct kw_hot_stretches){0};
    }
    free(values);
    free(scratch);
    free(back);
    free(level);
    return status;
}
