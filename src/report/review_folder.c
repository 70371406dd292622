/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder of one review.
 *
 * Everything is made in a folder beside it that takes its name at the end: a
 * report is whole or not there. */
#include "kartwright/report.h"

#include "report/report_folder.h"
#include "report/review_page.h"
#include "report/review_plots.h"
#include "report/words.h"

#include <stdlib.h>

/* The same question that is asked again when the folder is put in place. */
enum kw_status kw_report_check_folder(const char *folder,
                                      struct kw_error *error)
{
    return kw_folder_check(folder, &kw_report_kind, error);
}

/* index.html and review.json; the JSON tells of missing plots too, so both are
 * made after the drawing. */
static enum kw_status add_pages(struct kw_folder *folder,
                                const struct kw_review_page *from,
                                struct kw_error *error)
{
    struct kw_text page = {0};
    char *json = NULL;
    enum kw_status status = kw_review_page_write(from, &page, error);
    if (status == KW_OK)
        status = kw_review_to_json(from->review, from->more, &json, error);
    if (status == KW_OK)
        status = kw_report_add_pages(folder, &page, "review.json", json, error);
    free(json);
    kw_text_free(&page);
    return status;
}

/* What the folder is filled from. */
struct filling {
    const struct kw_review *review;
    const struct kw_folder_options *options;
    struct kw_notices *notices;
};

/* Everything inside the growing folder; the caller commits it or throws it
 * away. */
static enum kw_status fill(struct kw_folder *folder,
                           const void *from,
                           struct kw_error *error)
{
    const struct filling *filling = from;
    const struct kw_review *review = filling->review;
    const struct kw_folder_options *options = filling->options;
    struct kw_pictures pictures = {0};
    enum kw_status status = kw_review_plots(review, &pictures.plots, error);
    if (status == KW_OK)
        status =
            kw_draw_plots(folder, options, &pictures, filling->notices, error);
    if (status == KW_OK) {
        const bool titled = options != NULL && options->title != NULL;
        const struct kw_review_page page = {
            review, &pictures, filling->notices,
            titled ? options->title : kw_file_name_of(review->log.path)};
        status = add_pages(folder, &page, error);
    }
    kw_pictures_free(&pictures);
    return status;
}

/* The folder is whole or not there: see kw_report_write(). */
enum kw_status kw_review_write_folder(const struct kw_review *review,
                                      const char *folder,
                                      const struct kw_folder_options *options,
                                      struct kw_notices *notices,
                                      struct kw_error *error)
{
    const struct filling from = {review, options, notices};
    return kw_report_write(folder, fill, &from, error);
}
