/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder of one comparison: as that of a review, with plots and a
 * page of its own. It is named after the log that came after the change, which
 * is the one that the racer has just driven. */
#include "kartwright/report.h"

#include "report/compare_page.h"
#include "report/compare_plots.h"
#include "report/compare_words.h"
#include "report/report_folder.h"
#include "report/words.h"

#include <stdlib.h>

/* What the folder is filled from. */
struct filling {
    const struct kw_comparison_source *source;
    const struct kw_folder_options *options;
    struct kw_notices *notices;
};

/* index.html and compare.json; the JSON tells of missing plots too, so both are
 * made after the drawing. */
static enum kw_status add_pages(struct kw_folder *folder,
                                const struct filling *from,
                                const struct kw_pictures *pictures,
                                struct kw_error *error)
{
    const bool titled = from->options != NULL && from->options->title != NULL;
    struct kw_text names = {0};
    kw_add_compared_logs(&names, from->source);
    if (kw_text_failed(&names)) {
        kw_text_free(&names);
        return kw_fail_memory(error);
    }
    const char *title = titled ? from->options->title : names.bytes;
    struct kw_comparison_source source = *from->source;
    struct kw_text page = {0};
    char *json = NULL;
    source.more = from->notices;
    enum kw_status status =
        kw_comparison_page_write(&source, pictures, title, &page, error);
    if (status == KW_OK)
        status = kw_comparison_to_json(&source, &json, error);
    if (status == KW_OK)
        status =
            kw_report_add_pages(folder, &page, "compare.json", json, error);
    free(json);
    kw_text_free(&page);
    kw_text_free(&names);
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
    enum kw_status status =
        kw_comparison_plots(filling->source, &pictures.plots, error);
    if (status == KW_OK)
        status = kw_draw_plots(folder, filling->options, &pictures,
                               filling->notices, error);
    if (status == KW_OK)
        status = add_pages(folder, filling, &pictures, error);
    kw_pictures_free(&pictures);
    return status;
}

/* The folder is whole or not there: see kw_report_write(). */
enum kw_status kw_comparison_write_folder(
    const struct kw_comparison_source *source,
    const char *folder,
    const struct kw_folder_options *options,
    struct kw_notices *notices,
    struct kw_error *error)
{
    const struct filling from = {source, options, notices};
    return kw_report_write(folder, fill, &from, error);
}
