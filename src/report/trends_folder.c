/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder of the logbook's trends.
 *
 * As that of a review, by way of report_folder.c; only what it is filled with
 * differs. */
#include "kartwright/report.h"

#include "core/array.h"
#include "report/report_folder.h"
#include "report/trends_page.h"
#include "report/trends_plots.h"

#include <stdlib.h>

/* What the folder is filled from.
 *
 * shown  which trend each plot shows. */
struct filling {
    const struct kw_trends_source *source;
    const struct kw_folder_options *options;
    struct kw_notices *notices;
    size_t *shown;
};

/* As it was asked for; a book may have several karts, so no kart's name. */
static const char *title_of(const struct filling *from)
{
    if (from->options != NULL && from->options->title != NULL)
        return from->options->title;
    return "Trends of the season";
}

/* index.html and trend.json; the JSON tells of missing plots too, so both are
 * made after the drawing. */
static enum kw_status add_pages(struct kw_folder *folder,
                                const struct filling *from,
                                const struct kw_pictures *pictures,
                                struct kw_error *error)
{
    struct kw_trends_source source = *from->source;
    const struct kw_trends_page made = {&source, pictures, from->shown,
                                        title_of(from)};
    struct kw_text page = {0};
    char *json = NULL;
    source.more = from->notices;
    enum kw_status status = kw_trends_page_write(&made, &page, error);
    if (status == KW_OK)
        status = kw_trends_to_json(&source, &json, error);
    if (status == KW_OK)
        status = kw_report_add_pages(folder, &page, "trend.json", json, error);
    free(json);
    kw_text_free(&page);
    return status;
}

/* Everything inside the growing folder; the caller commits it or throws it
 * away. */
static enum kw_status fill(struct kw_folder *folder,
                           const void *from,
                           struct kw_error *error)
{
    const struct filling *filling = from;
    struct kw_pictures pictures = {0};
    enum kw_status status = kw_trends_plots(filling->source, &pictures.plots,
                                            filling->shown, error);
    if (status == KW_OK)
        status = kw_draw_plots(folder, filling->options, &pictures,
                               filling->notices, error);
    if (status == KW_OK)
        status = add_pages(folder, filling, &pictures, error);
    kw_pictures_free(&pictures);
    return status;
}

/* The folder is whole or not there: see kw_report_write(). */
enum kw_status kw_trends_write_folder(const struct kw_trends_source *source,
                                      const char *folder,
                                      const struct kw_folder_options *options,
                                      struct kw_notices *notices,
                                      struct kw_error *error)
{
    struct filling from = {source, options, notices, NULL};
    from.shown = kw_array_new(source->trends->n, sizeof *from.shown, error);
    if (from.shown == NULL)
        return KW_NO_MEMORY;
    const enum kw_status status = kw_report_write(folder, fill, &from, error);
    free(from.shown);
    return status;
}
