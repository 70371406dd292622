/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hot stretches: which runs of the path through levels of excess are faults,
 * where they begin and end. */
#include "analysis/hot_stretch.h"

#include "analysis/hot_path.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>

/* Inside a fault that is believed a change costs this share. */
static const double PRICE_WITHIN = 0.6;
/* Cold for less than this inside a hot stretch is no end of it. */
static const double SHORTEST_COLD_S = 1.5;
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
/* A day that warms up, and a pipe, drift by this much over minutes: a stretch
 * that is so long and no hotter has to begin or end within some seconds of
 * load, with this share of its heat at the least (common practice, no
 * source). */
static const double DRIFTS_C = 25.0;
static const double DRIFTS_S = 100.0;
static const double AT_AN_END_S = 20.0;
static const double LEAST_AT_AN_END = 0.4;
/* So many suspects in one session certify each other. */
enum { CERTIFYING = 3 };
/* What a repeat of a certain fault needs: it is likely before it is looked at.
 * Four standard deviations are one piece of a pull in thirty thousand. */
static const double REPEAT_EVIDENCE = 7.0;
static const double REPEAT_SURPRISE = 4.0;
static const double REPEAT_C = 25.0;
static const double REPEAT_SHARE = 0.5;

/* All that is known when stretches are picked from the path. */
struct judge {
    const struct kw_hot_options *options;
    struct kw_hot_scatter scatter;
    struct kw_hot_walk walk;
};

/* Measures the stretch from .. to - 1; its ends are moved inwards to cells that
 * count. */
static struct kw_hot_stretch measure(const struct kw_hot_options *o,
                                     const struct kw_hot_scatter *s,
                                     const unsigned char *level,
                                     const struct kw_span *span)
{
    struct kw_hot_stretch stretch = {span->from, span->to, 0, 0, 0, 0};
    while (stretch.from < stretch.to && !kw_hot_counts(o, stretch.from))
        stretch.from++;
    while (stretch.to > stretch.from && !kw_hot_counts(o, stretch.to - 1))
        stretch.to--;
    for (size_t i = stretch.from; i < stretch.to; i++) {
        if (!kw_hot_counts(o, i))
            continue;
        stretch.excess_c += o->excess_c[i] * o->grid->step_s[i];
        stretch.loaded_s += o->grid->step_s[i];
        stretch.evidence +=
            kw_hot_cost(o, i, 0, s) - kw_hot_cost(o, i, level[i], s);
    }
    if (stretch.loaded_s > 0.0)
        stretch.excess_c /= stretch.loaded_s;
    const double pieces =
        fmax(1.0, fmin(stretch.loaded_s / s->piece_s, MOST_PIECES));
    stretch.surprise = stretch.excess_c / s->piece_c * sqrt(pieces);
    return stretch;
}

/* Mean excess over some seconds of load that begin at a cell, or end before it;
 * NAN where there are not so many. */
static double excess_beside_c(const struct judge *j, size_t at, bool before)
{
    const struct kw_hot_options *o = j->options;
    double sum_c = 0.0;
    double sum_s = 0.0;
    size_t i = at;
    while (sum_s < AT_AN_END_S && (before ? i > 0 : i < j->walk.to)) {
        i -= before ? 1 : 0;
        if (kw_hot_counts(o, i)) {
            sum_c += o->excess_c[i] * o->grid->step_s[i];
            sum_s += o->grid->step_s[i];
        }
        i += before ? 0 : 1;
    }
    return sum_s < AT_AN_END_S ? NAN : sum_c / sum_s;
}

/* Long, slight, and slow to begin and to end; where neither end can be seen it
 * is taken for none. */
static bool is_drift(const struct judge *j,
                     const struct kw_hot_stretch *stretch)
{
    const double *time_s = j->options->grid->time_s;
    if (stretch->excess_c >= DRIFTS_C ||
        time_s[stretch->to - 1] - time_s[stretch->from] < DRIFTS_S)
        return false;
    const double begins_c = excess_beside_c(j, stretch->from, false) -
                            excess_beside_c(j, stretch->from, true);
    const double ends_c = excess_beside_c(j, stretch->to, true) -
                          excess_beside_c(j, stretch->to, false);
    return fmax(begins_c, ends_c) < LEAST_AT_AN_END * stretch->excess_c;
}

/* It may be a fault. */
static bool is_suspect(const struct judge *j,
                       const struct kw_hot_stretch *stretch)
{
    return stretch->loaded_s >= LEAST_LOADED_S &&
           stretch->evidence >= LEAST_EVIDENCE &&
           stretch->excess_c >= LEAST_EXCESS_C &&
           stretch->surprise >= LEAST_SURPRISE && !is_drift(j, stretch);
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
    return i > 0 && kw_under_load(g->load[i]) &&
           !kw_under_load(g->load[i - 1]) &&
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
                       const struct kw_hot_walk *walk,
                       size_t from)
{
    size_t to = from + 1;
    double cold_s = 0.0;
    for (size_t i = from + 1; i < walk->to && !is_cut(o, i); i++) {
        if (walk->level[i] > 0) {
            to = i + 1;
            cold_s = 0.0;
        } else if (kw_hot_counts(o, i)) {
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
    const struct kw_hot_scatter *s = &j->scatter;
    struct kw_hot_walk within = j->walk;
    enum kw_status status = KW_OK;
    within.from = whole->from;
    within.to = whole->to;
    within.share = PRICE_WITHIN;
    kw_walk_hot_path(o, s, &within);
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
static struct kw_span next_hot(const struct kw_hot_walk *walk, size_t from)
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

/* The mean grows with each, so that the stretches need not be kept. */
static struct bench count_suspects(const struct judge *j)
{
    struct bench bench = {0, 0, 0.0};
    const struct kw_hot_walk *walk = &j->walk;
    struct kw_span span = next_hot(walk, 0);
    for (; span.from < span.to; span = next_hot(walk, span.to)) {
        const struct kw_hot_stretch whole =
            measure(j->options, &j->scatter, walk->level, &span);
        if (!is_suspect(j, &whole))
            continue;
        bench.n_suspects++;
        if (!is_certain(&whole))
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
    struct kw_hot_walk walk = j->walk;
    walk.share = PRICE_WITHIN;
    kw_walk_hot_path(j->options, &j->scatter, &walk);
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
        if (is_suspect(j, &whole) && is_backed(&bench, &whole))
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
    return !kw_under_load(o->grid->load[i]) &&
           o->grid->rise[i] > HELD_LEAST_RISE &&
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
        while (from > 0 && kw_under_load(g->load[from - 1]) &&
               !kw_hot_counts(o, from - 1))
            from--;
        if (from > 0 && !kw_under_load(g->load[from - 1]) &&
            g->time_s[stretch->from] - g->time_s[from] < EDGE_S)
            stretch->from = from;
        size_t to = stretch->to;
        while (to < g->n && kw_under_load(g->load[to]) && !kw_hot_counts(o, to))
            to++;
        if (to < g->n && !kw_under_load(g->load[to]) &&
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
    unsigned char *back = kw_array_new(n, KW_HOT_LEVELS, error);
    unsigned char *level = kw_array_new(n, 1, error);
    enum kw_status status = KW_NO_MEMORY;
    if (values == NULL || scratch == NULL || back == NULL || level == NULL)
        goto done;
    const struct judge judge = {options,
                                kw_find_hot_scatter(options, values, scratch),
                                {0, n, options->share, back, level}};
    kw_walk_hot_path(options, &judge.scatter, &judge.walk);
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
