/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of plots of a report. Each is text until gnuplot draws it: a script,
 * its data, and the words for who reads the page or hears it read out.
 *
 * The words are made with the plot and not after it: who cannot see it is told
 * the same as who can. */
#include "plot.h"

#include "core/array.h"

#include <stdlib.h>

/* The texts grow from nothing, so there is nothing to undo when they are
 * freed. */
struct kw_plot *kw_plots_add(struct kw_plots *plots,
                             const char *name,
                             const char *heading,
                             struct kw_error *error)
{
    if (kw_array_reserve(&plots->items, &plots->capacity, plots->n + 1,
                         sizeof *plots->items, error) != KW_OK)
        return NULL;
    struct kw_plot *plot = &plots->items[plots->n++];
    *plot = (struct kw_plot){.heading = heading};
    kw_text_copy(plot->name, sizeof plot->name, name);
    return plot;
}

/* Heading is constant text and name is inside: only the texts are freed. */
static void free_texts(struct kw_plot *plot)
{
    kw_text_free(&plot->explain);
    kw_text_free(&plot->alt);
    kw_text_free(&plot->script);
    kw_text_free(&plot->data);
}

/* For a plot that turns out to have nothing to show once its data are
 * written. */
void kw_plots_drop_last(struct kw_plots *plots)
{
    free_texts(&plots->items[--plots->n]);
}

void kw_plots_free(struct kw_plots *plots)
{
    for (size_t i = 0; i < plots->n; i++)
        free_texts(&plots->items[i]);
    free(plots->items);
    *plots = (struct kw_plots){0};
}

/* One check after all additions is enough: a text that failed once stays
 * failed. */
bool kw_plot_failed(const struct kw_plot *plot)
{
    return kw_text_failed(&plot->explain) || kw_text_failed(&plot->alt) ||
           kw_text_failed(&plot->script) || kw_text_failed(&plot->data);
}
