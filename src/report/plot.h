/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plot: one gnuplot script with its own data file, and the words for it. */
#ifndef KARTWRIGHT_REPORT_PLOT_H
#define KARTWRIGHT_REPORT_PLOT_H

#include "core/text.h"

#include <stdbool.h>

/* name     of its files: "session" for session.gp and so on; our own word.
 * heading  what stands over it on a page.
 * explain  one plain sentence: what it shows and what to look for. Escaped by
 *          who writes it down.
 * alt      what someone hears who cannot see it; likewise.
 * script   gnuplot commands; draws name.svg and name.png from name.dat.
 * data     columns of numbers, blocks set apart by two empty lines.
 * drawn    the SVG is there and whole.
 * has_png  the PNG is there and whole. */
struct kw_plot {
    char name[32];
    const char *heading;
    struct kw_text explain;
    struct kw_text alt;
    struct kw_text script;
    struct kw_text data;
    bool drawn;
    bool has_png;
};

struct kw_plots {
    struct kw_plot *items;
    size_t n;
    size_t capacity;
};

/* Adds an empty plot.
 *
 * returns  NULL when memory is short; else good until the next one is added. */
struct kw_plot *kw_plots_add(struct kw_plots *plots,
                             const char *name,
                             const char *heading,
                             struct kw_error *error);

/* Takes back the plot that was added last: it has nothing to show. */
void kw_plots_drop_last(struct kw_plots *plots);
void kw_plots_free(struct kw_plots *plots);

/* true when an addition to one of the plot's texts failed. */
bool kw_plot_failed(const struct kw_plot *plot);

#endif
