/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Report: a review as JSON for programs, as text for the terminal, and as a
 * folder with a page and plots.
 *
 *     struct kw_notices notices = {0};
 *     kw_review_write_folder(&review, "sunday-report", NULL, &notices, &error);
 *     kw_review_to_text(&review, &notices, NULL, &text, &error);
 *     fputs(text, stdout);
 *     free(text);
 *     kw_notices_free(&notices);
 *
 * Everything untrusted (headings, file names, notes) is escaped for the place
 * that it is written to.
 */
#ifndef KARTWRIGHT_REPORT_H
#define KARTWRIGHT_REPORT_H

#include "kartwright/compare.h"
#include "kartwright/error.h"
#include "kartwright/review.h"
#include "kartwright/season.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* The review as other programs read it, format "kartwright-review", version 1.
 *
 * more     notices beside those of the log and the session, for instance of
 *          kw_review_write_folder(); NULL for none.
 * out      UTF-8, one object and a line feed; the caller frees it with free().
 *          NULL on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_review_to_json(const struct kw_review *review,
                                 const struct kw_notices *more,
                                 char **out,
                                 struct kw_error *error);

/* columns  of the terminal; default 80, at least 40.
 * colour   default false. */
struct kw_text_options {
    size_t columns;
    bool colour;
};

/* The review for a person at a terminal: verdict, what to do, laps and
 * findings, data quality, on about one screen. Long lists are folded.
 *
 * more     as in kw_review_to_json().
 * options  NULL for the defaults.
 * out      UTF-8 without control characters, but for line feeds and, with
 *          colour, the sequences that set bold and colour. The caller frees it
 *          with free(). NULL on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_review_to_text(const struct kw_review *review,
                                 const struct kw_notices *more,
                                 const struct kw_text_options *options,
                                 char **out,
                                 struct kw_error *error);

/* gnuplot    the program, looked for in PATH; NULL for "gnuplot".
 * silence_s  how long it may say nothing before it is ended; 0 for 20 s.
 * title      of the page, for instance the kart's name; untrusted; NULL for the
 *            name of the log. */
struct kw_folder_options {
    const char *gnuplot;
    double silence_s;
    const char *title;
};

/* Tells before the work whether a report may be put there: the folder does not
 * exist, is empty, or holds an earlier report and nothing else.
 *
 * returns  KW_OK; KW_BAD_INPUT (something else is there); KW_IO_FAILED;
 *          KW_NO_MEMORY. */
enum kw_status kw_report_check_folder(const char *folder,
                                      struct kw_error *error);

/* Writes the report folder: index.html (all in one file), and for each plot
 * NAME.gp, NAME.dat, NAME.svg and NAME.png. The folder is made beside its place
 * and renamed when it is whole; after an error nothing of it is left.
 *
 * options  NULL for the defaults.
 * notices  plots that are missing, and why, are added; an error it is not.
 * returns  KW_OK; KW_BAD_INPUT (see kw_report_check_folder()); KW_IO_FAILED;
 *          KW_NO_MEMORY. */
enum kw_status kw_review_write_folder(const struct kw_review *review,
                                      const char *folder,
                                      const struct kw_folder_options *options,
                                      struct kw_notices *notices,
                                      struct kw_error *error);

/* ---- comparisons --------------------------------------------------------- */

/* What a report of a comparison is made from.
 *
 * comparison  of these sessions.
 * sessions    sessions[side]; their reviews give names, lap times and starts.
 * more        notices beside those of the comparison and of the logs; NULL for
 *             none. */
struct kw_comparison_source {
    const struct kw_comparison *comparison;
    const struct kw_compare_sessions *sessions[KW_N_SIDES];
    const struct kw_notices *more;
};

/* Format "kartwright-compare", version 1; else as kw_review_to_json(). */
enum kw_status kw_comparison_to_json(const struct kw_comparison_source *source,
                                     char **out,
                                     struct kw_error *error);

/* The summary first, then what to do, then the measures and the laps that were
 * left out; else as kw_review_to_text(). */
enum kw_status kw_comparison_to_text(const struct kw_comparison_source *source,
                                     const struct kw_text_options *options,
                                     char **out,
                                     struct kw_error *error);

/* As kw_review_write_folder(), with compare.json. */
enum kw_status kw_comparison_write_folder(
    const struct kw_comparison_source *source,
    const char *folder,
    const struct kw_folder_options *options,
    struct kw_notices *notices,
    struct kw_error *error);

/* ---- the logbook on paper ------------------------------------------------ */

/* One HTML page that needs no other file.
 *
 * id       0 for the whole book: what is due, parts, entries, one plot of each
 *          session. Else that entry alone, with all its pictures.
 * now_s    for lives in days, and on the page.
 * out      UTF-8; the caller frees it with free(). NULL on error. */
enum kw_status kw_logbook_print(struct kw_logbook *book,
                                int64_t id,
                                double now_s,
                                char **out,
                                struct kw_error *error);

/* ---- trends of the logbook ----------------------------------------------- */

/* What a report of trends is made from.
 *
 * trends  as kw_logbook_trends() gives them.
 * parts   as kw_logbook_parts(): what was fitted meanwhile.
 * more    notices, or NULL for none. */
struct kw_trends_source {
    const struct kw_trends *trends;
    const struct kw_parts *parts;
    const struct kw_notices *more;
};

/* {"trends": [...], "fittings": [...], "notices": [...]}; else as
 * kw_review_to_json(). */
enum kw_status kw_trends_to_json(const struct kw_trends_source *source,
                                 char **out,
                                 struct kw_error *error);

/* As kw_review_write_folder(), with trend.json and a plot for each measure,
 * named after it, against the hours that the engine has run. */
enum kw_status kw_trends_write_folder(const struct kw_trends_source *source,
                                      const char *folder,
                                      const struct kw_folder_options *options,
                                      struct kw_notices *notices,
                                      struct kw_error *error);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
