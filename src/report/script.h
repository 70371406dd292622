/* SPDX-License-Identifier: GPL-3.0-or-later */
/* gnuplot scripts: what all plots have in common, so that they look alike.
 *
 * The body of a script goes between kw_script_begin() and kw_script_end(). Each
 * block of data is begun with kw_script_block() and is named in the script by
 * `index N`.
 */
#ifndef KARTWRIGHT_REPORT_SCRIPT_H
#define KARTWRIGHT_REPORT_SCRIPT_H

#include "kartwright/review.h"
#include "report/palette.h"
#include "report/plot.h"

/* Width of every picture, and of the part of it that the axes enclose. Narrow
 * for a desktop, so that the letters are still read on a phone. */
enum { KW_PLOT_WIDTH_PX = 576, KW_PLOT_COLUMNS = 480 };

/* what      one line for the head of the script.
 * height    of the picture in px.
 * log_path  for the small print; untrusted. */
void kw_script_begin(struct kw_plot *plot,
                     const char *what,
                     unsigned height_px,
                     const char *log_path);
void kw_script_end(struct kw_plot *plot);

/* Begins a block of the data file with a comment; blocks count from 0. A block
 * must not stay empty: see kw_script_no_point(). */
void kw_script_block(struct kw_plot *plot, const char *comment);

/* Stands in for a block that has nothing to show. */
void kw_script_no_point(struct kw_plot *plot, unsigned columns);

/* Makes a range out of values that are not known, or that are equal: gnuplot
 * stops at a range without width. Others stay as they are. */
void kw_script_widen(double *lowest, double *highest);

/* Adds "set xrange [a:b]" with room around it; axis is "x", "y" or "y2".
 * Values that are not known or equal still give a range. */
void kw_script_range(struct kw_plot *plot,
                     const char *axis,
                     double lowest,
                     double highest,
                     double room);

/* Adds "set xtics N" with a round step, so that a low panel is not crowded; no
 * step is less than `smallest`. */
void kw_script_steps(struct kw_plot *plot,
                     const char *axis,
                     double lowest,
                     double highest,
                     double smallest);

/* Adds the bottom margin of a panel whose axis has numbers and a title, in a
 * plot of that height. */
void kw_script_bottom(struct kw_plot *plot, unsigned height_px);

/* Adds the time axis, with marks in min:s, or h:min for long logs. */
void kw_script_time_axis(struct kw_plot *plot, double from_s, double to_s);

/* Adds commands, with each "@" replaced by the next colour: "lc @" becomes
 * "lc rgb '#0072B2'". Only constant text: nothing is escaped. In a script, data
 * is the name of its data file. */
void kw_script_add(struct kw_plot *plot,
                   const char *text,
                   const enum kw_colour *colours);

#endif
