/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every report folder has in common, of a review or of a comparison. */
#ifndef KARTWRIGHT_REPORT_REPORT_FOLDER_H
#define KARTWRIGHT_REPORT_REPORT_FOLDER_H

#include "core/folder.h"
#include "kartwright/log.h"
#include "kartwright/report.h"
#include "report/plot.h"

/* Folders of ours know each other by this. */
extern const struct kw_folder_kind kw_report_kind;

/* The plots of a folder with their pictures.
 *
 * svgs  svgs[plots.n] once they were drawn; empty where a plot is missing. */
struct kw_pictures {
    struct kw_plots plots;
    struct kw_text *svgs;
};

void kw_pictures_free(struct kw_pictures *pictures);

/* Writes scripts and data of all plots into the growing folder, lets gnuplot
 * draw them, and reads the pictures back.
 *
 * pictures  its svgs are NULL before.
 * notices   plots that are missing, and why, are added; an error it is not.
 * returns   KW_OK; KW_IO_FAILED (the folder could not be written);
 *           KW_NO_MEMORY. */
enum kw_status kw_draw_plots(struct kw_folder *folder,
                             const struct kw_folder_options *options,
                             struct kw_pictures *pictures,
                             struct kw_notices *notices,
                             struct kw_error *error);

/* Adds the page, as index.html, and the JSON beside it to the growing folder.
 *
 * json_name  "review.json". */
enum kw_status kw_report_add_pages(struct kw_folder *folder,
                                   const struct kw_text *page,
                                   const char *json_name,
                                   const char *json,
                                   struct kw_error *error);

/* Makes a report folder; as kw_folder_write(). */
enum kw_status kw_report_write(const char *folder,
                               kw_fill_folder *fill,
                               const void *from,
                               struct kw_error *error);

#endif
