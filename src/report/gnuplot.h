/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting gnuplot: without a shell, watched, and ended when it goes silent. */
#ifndef KARTWRIGHT_REPORT_GNUPLOT_H
#define KARTWRIGHT_REPORT_GNUPLOT_H

#include "core/text.h"
#include "report/plot.h"

/* program    looked for in PATH when it has no slash.
 * folder     where it works; NAME.gp and NAME.dat of each plot are there.
 * silence_s  so long it may say nothing, > 0. Each script says a line when it
 *            has drawn its plot. */
struct kw_gnuplot_options {
    const char *program;
    const char *folder;
    double silence_s;
};

/* Draws all plots, in two processes side by side.
 *
 * trouble  empty when all went well, else one line for a person: what happened
 *          and what to do. May hold words of gnuplot: untrusted.
 * returns  KW_OK also when gnuplot is missing, failed or was ended (which files
 *          are whole is for the caller to see); KW_IO_FAILED when no process
 *          could be made, or the user interrupted; KW_NO_MEMORY. */
enum kw_status kw_gnuplot_draw(const struct kw_gnuplot_options *options,
                               const struct kw_plots *plots,
                               struct kw_text *trouble,
                               struct kw_error *error);

#endif
