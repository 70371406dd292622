/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Report folders: scripts, data, pictures.
 *
 * The order: scripts and data, gnuplot, pictures read back and judged,
 * notices. Whatever gnuplot does, the folder goes on: the plots are there to
 * look at, the review is what counts. */
#include "report/report_folder.h"

#include "core/array.h"
#include "core/file.h"
#include "core/notices.h"
#include "report/gnuplot.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const double DEFAULT_SILENCE_S = 20.0;

/* Thinned plots stay far below this; a script that a person edited is not read
 * here. */
enum { MOST_PICTURE_BYTES = 64 * 1024 * 1024 };

const struct kw_folder_kind kw_report_kind = {
    .noun = "report",
    .marker = "kartwright-report.txt",
    .about =
        "This folder is a report of kartwright.\n"
        "\n"
        "Open index.html in a browser. Each plot has four files: NAME.svg and\n"
        "NAME.png are pictures, NAME.dat has the numbers, and 'gnuplot "
        "NAME.gp'\n"
        "run in this folder draws the pictures again.\n"
        "\n"
        "A later report with the same name replaces this folder as a whole, "
        "but\n"
        "only while it holds nothing but the files named here:\n"};

/* Writes one of the four files of a plot. */
static enum kw_status add_file(struct kw_folder *folder,
                               const char *name,
                               const char *ending,
                               const struct kw_text *text,
                               struct kw_error *error)
{
    char file[64];
    kw_text_copy(file, sizeof file, name);
    const size_t length = strlen(file);
    kw_text_copy(file + length, sizeof file - length, ending);
    return kw_folder_add(folder, file, text->bytes, text->length, error);
}

/* Both formats say where they end: a picture that was cut off does not. */
static bool is_whole(const struct kw_text *picture, const char *ending)
{
    const bool svg = strcmp(ending, ".svg") == 0;
    const char *mark = svg ? "</svg>" : "IEND\xAE\x42\x60\x82";
    const size_t n = strlen(mark);
    size_t length = picture->length;
    while (svg && length > 0 && picture->bytes[length - 1] == '\n')
        length--;
    return length >= n && memcmp(picture->bytes + length - n, mark, n) == 0;
}

/* Reads a picture that gnuplot may have drawn, and removes a damaged one.
 *
 * returns  true when it is whole. */
static bool read_picture(const struct kw_folder *folder,
                         const char *name,
                         const char *ending,
                         struct kw_text *picture)
{
    struct kw_text file = {0};
    kw_text_addf(&file, "%s%s", name, ending);
    char *path = kw_text_failed(&file)
                     ? NULL
                     : kw_folder_path_of(folder, file.bytes, NULL);
    kw_text_free(&file);
    if (path == NULL)
        return false;
    const bool whole =
        kw_file_read(path, MOST_PICTURE_BYTES, picture, NULL) == KW_OK &&
        is_whole(picture, ending);
    if (!whole) {
        (void)unlink(path);
        kw_text_free(picture);
    }
    free(path);
    return whole;
}

/* "plots are missing (laps, heat): gnuplot was not found: ..." */
static enum kw_status note_missing(const struct kw_plots *plots,
                                   const struct kw_text *trouble,
                                   struct kw_notices *notices,
                                   struct kw_error *error)
{
    struct kw_text line = {0};
    size_t n = 0;
    for (size_t i = 0; i < plots->n; i++) {
        const struct kw_plot *plot = &plots->items[i];
        if (!plot->drawn || !plot->has_png)
            kw_text_addf(&line, "%s%s", n++ == 0 ? "plots are missing (" : ", ",
                         plot->name);
    }
    if (n == 0) {
        kw_text_free(&line);
        return KW_OK;
    }
    kw_text_add(&line, "): ");
    kw_text_add(&line, trouble->length > 0
                           ? trouble->bytes
                           : "gnuplot did not draw them; is the disk full?");
    return kw_notices_tell(notices, 0, &line, error);
}

/* Which pictures came out whole; what is damaged is taken away. */
static void look_at_pictures(const struct kw_folder *folder,
                             struct kw_pictures *pictures)
{
    for (size_t i = 0; i < pictures->plots.n; i++) {
        struct kw_plot *plot = &pictures->plots.items[i];
        struct kw_text png = {0};
        plot->drawn =
            read_picture(folder, plot->name, ".svg", &pictures->svgs[i]);
        plot->has_png = read_picture(folder, plot->name, ".png", &png);
        kw_text_free(&png);
    }
}

/* Scripts and data stay in the folder even when gnuplot is missing: they can be
 * drawn on another machine. */
static enum kw_status add_scripts(struct kw_folder *folder,
                                  const struct kw_plots *plots,
                                  struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < plots->n && status == KW_OK; i++) {
        const struct kw_plot *plot = &plots->items[i];
        status = kw_plot_failed(plot) ? kw_fail_memory(error)
                                      : add_file(folder, plot->name, ".gp",
                                                 &plot->script, error);
        if (status == KW_OK)
            status = add_file(folder, plot->name, ".dat", &plot->data, error);
    }
    return status;
}

/* What the caller left open is as the header says. */
static struct kw_gnuplot_options settle(const struct kw_folder_options *options,
                                        const char *folder)
{
    struct kw_gnuplot_options run = {
        .program = "gnuplot", .folder = folder, .silence_s = DEFAULT_SILENCE_S};
    if (options != NULL && options->gnuplot != NULL)
        run.program = options->gnuplot;
    if (options != NULL && options->silence_s > 0.0)
        run.silence_s = options->silence_s;
    return run;
}

/* Pictures are optional, the folder is not: only what concerns the folder
 * itself is an error. */
enum kw_status kw_draw_plots(struct kw_folder *folder,
                             const struct kw_folder_options *options,
                             struct kw_pictures *pictures,
                             struct kw_notices *notices,
                             struct kw_error *error)
{
    const struct kw_plots *plots = &pictures->plots;
    const struct kw_gnuplot_options run = settle(options, folder->path);
    struct kw_text trouble = {0};
    pictures->svgs = kw_array_new(plots->n, sizeof *pictures->svgs, error);
    if (pictures->svgs == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = add_scripts(folder, plots, error);
    if (status == KW_OK && plots->n > 0)
        status = kw_gnuplot_draw(&run, plots, &trouble, error);
    if (status == KW_OK) {
        look_at_pictures(folder, pictures);
        status = note_missing(plots, &trouble, notices, error);
    }
    kw_text_free(&trouble);
    return status;
}

/* The count of pictures is that of the plots: free those first. */
void kw_pictures_free(struct kw_pictures *pictures)
{
    for (size_t i = 0; pictures->svgs != NULL && i < pictures->plots.n; i++)
        kw_text_free(&pictures->svgs[i]);
    free(pictures->svgs);
    kw_plots_free(&pictures->plots);
    *pictures = (struct kw_pictures){0};
}

enum kw_status kw_report_add_pages(struct kw_folder *folder,
                                   const struct kw_text *page,
                                   const char *json_name,
                                   const char *json,
                                   struct kw_error *error)
{
    const enum kw_status status =
        kw_folder_add(folder, "index.html", page->bytes, page->length, error);
    return status == KW_OK
               ? kw_folder_add(folder, json_name, json, strlen(json), error)
               : status;
}

enum kw_status kw_report_write(const char *folder,
                               kw_fill_folder *fill,
                               const void *from,
                               struct kw_error *error)
{
    return kw_folder_write(folder, &kw_report_kind, fill, from, error);
}
