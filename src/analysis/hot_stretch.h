/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the exhaust stays hotter (or colder) than expected, decided over whole
 * stretches of load and not over samples. */
#ifndef KARTWRIGHT_ANALYSIS_HOT_STRETCH_H
#define KARTWRIGHT_ANALYSIS_HOT_STRETCH_H

#include "analysis/heat_grid.h"

/* from, to   cells, from is in, to is out; both ends under load.
 * excess_c   mean excess of its settled cells under load; > 0 also where cold
 *            stretches were asked for.
 * loaded_s   seconds of them.
 * evidence   natural logarithm of how much better the readings agree with a
 *            steady excess than with none, neighbours that say one thing
 *            counted once.
 * surprise   excess_c in standard deviations of healthy pulls. */
struct kw_hot_stretch {
    size_t from;
    size_t to;
    double excess_c;
    double loaded_s;
    double evidence;
    double surprise;
};

struct kw_hot_stretches {
    struct kw_hot_stretch *items;
    size_t n;
    size_t capacity;
};

/* grid, excess_c  excess_c[grid->n]: gas above what was expected (or below it,
 *            for cold stretches), NAN where it is not known or not to be used.
 * scatter_c  the least scatter of healthy readings that is believed.
 * split_lift_s  a lift this long ends a stretch; INFINITY where a fault is to
 *            be told as a whole.
 * share      part of the price of a change that is asked; 1 where nothing is
 *            known of the session. */
struct kw_hot_options {
    const struct kw_heat_grid *grid;
    const double *excess_c;
    double scatter_c;
    double split_lift_s;
    double share;
};

/* Finds them.
 *
 * A path through time with a few levels of excess, none among them, is chosen
 * so that misfit plus a price for each change of level is least (Viterbi 1967).
 * The price fixes how rarely healthy scatter makes a stretch. Lifts say nothing
 * and cost little, so that one fault over several pulls is one stretch.
 *
 * out      by from; the caller frees out->items with free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_hot_stretches(const struct kw_hot_options *options,
                                     struct kw_hot_stretches *out,
                                     struct kw_error *error);

#endif
