/* SPDX-License-Identifier: GPL-3.0-or-later */
/* gnuplot scripts: what all plots have in common.
 *
 * A script stands alone: it sets its own picture format, size and fonts, reads
 * one data file beside it, and needs no setting of the person who runs it. It
 * draws both formats, or those that gnuplot -e "formats='svg'" names. */
#include "report/script.h"

#include "core/escape.h"
#include "report/thin.h"
#include "report/words.h"

#include <math.h>

/* Bytes of a log's name that fit beside the title of an axis; a longer one is
 * cut at a character. */
enum { LONGEST_LOG_NAME = 33 };

/* Steps along an axis that is small on the page. */
enum { MOST_STEPS = 5 };

/* Room below a panel for numbers and title. With less, gnuplot leaves the title
 * out of an SVG. */
static const double AXIS_PX = 70.0;

/* So many clock times fit side by side below a plot. */
static const double MOST_TIMES = 10.0;

/* A time axis longer than this is marked in h:min: nobody counts in
 * ninety minutes. */
static const double LONG_LOG_S = 5400.0;

/* SVG counts in the px of the page, PNG is two fifths larger, for paper. A
 * gnuplot without pngcairo draws PNGs by its simpler terminal. */
void kw_script_begin(struct kw_plot *plot,
                     const char *what,
                     unsigned height_px,
                     const char *log_path)
{
    struct kw_text *script = &plot->script;
    const char *name = plot->name;
    char log_name[LONGEST_LOG_NAME];
    kw_text_addf(script,
                 "# %s\n"
                 "# Draws %s.svg and %s.png from %s.dat: gnuplot %s.gp\n"
                 "if (!exists('formats')) formats = 'svg png'\n"
                 "data = '%s.dat'\n"
                 "do for [format in formats] {\n"
                 "reset\n",
                 what, name, name, name, name, name);
    kw_text_addf(script,
                 "if (format eq 'svg') {\n"
                 "    set terminal svg size %d,%u font 'sans-serif,14' "
                 "background '#ffffff'\n"
                 "    small = ',12'\n"
                 "} else { if (strstrt(GPVAL_TERMINALS, 'pngcairo') > 0) {\n"
                 "    set terminal pngcairo size %d,%u fontscale 1.4 "
                 "linewidth 1.4 pointscale 1.4 font 'sans-serif,10'\n"
                 "    small = ',8.5'\n"
                 "} else {\n"
                 "    set terminal png size %d,%u\n"
                 "    small = ''\n"
                 "} }\n",
                 KW_PLOT_WIDTH_PX, height_px, KW_PLOT_WIDTH_PX * 7 / 5,
                 height_px * 7 / 5, KW_PLOT_WIDTH_PX * 7 / 5,
                 height_px * 7 / 5);
    kw_text_addf(script,
                 "set output '%s.'.format\n"
                 "set encoding utf8\n"
                 "set border 3 lc rgb '#333333'\n"
                 "set tics nomirror out scale 0.5 textcolor rgb '#333333'\n"
                 "set grid back lt 1 lw 0.5 lc rgb '#dddddd'\n"
                 "set ylabel offset 1.5,0\n"
                 "set key noenhanced samplen 1.5 spacing 1.1 font small\n"
                 "set label 99 '",
                 name);
    kw_text_copy(log_name, sizeof log_name, kw_file_name_of(log_path));
    kw_escape_gnuplot(script, log_name);
    kw_text_add(script, "' at screen 0.99,character 0.7 right "
                        "noenhanced font small textcolor rgb '#777777'\n");
}

/* The line that it prints tells a person, and our own watch, that it lives. */
void kw_script_end(struct kw_plot *plot)
{
    kw_text_addf(&plot->script,
                 "unset output\n"
                 "print 'drawn: %s.'.format\n"
                 "}\n",
                 plot->name);
}

/* Two empty lines begin a new block for gnuplot; one alone breaks a line. */
void kw_script_block(struct kw_plot *plot, const char *comment)
{
    if (plot->data.length > 0) {
        kw_thin_break(&plot->data);
        kw_text_add(&plot->data, "\n");
    }
    kw_text_addf(&plot->data, "# %s\n", comment);
}

/* gnuplot stops with an error at a block without data; NaN is data that is not
 * drawn. */
void kw_script_no_point(struct kw_plot *plot, unsigned columns)
{
    for (unsigned i = 0; i < columns; i++)
        kw_text_add(&plot->data, i == 0 ? "NaN" : " NaN");
    kw_text_add(&plot->data, "\n");
}

/* 0 to 1 where nothing is known; otherwise a twentieth of the value each
 * way. */
void kw_script_widen(double *lowest, double *highest)
{
    if (!isfinite(*lowest) || !isfinite(*highest)) {
        *lowest = 0.0;
        *highest = 1.0;
    }
    if (*highest - *lowest > 1e-9 * fabs(*highest))
        return;
    const double room = fmax(1.0, fabs(*highest) * 0.05);
    *lowest -= room;
    *highest += room;
}

/* Ranges are set and not left to gnuplot, so that marks can be as tall as the
 * panel. */
void kw_script_range(struct kw_plot *plot,
                     const char *axis,
                     double lowest,
                     double highest,
                     double room)
{
    kw_script_widen(&lowest, &highest);
    const double margin = (highest - lowest) * room;
    kw_text_addf(&plot->script, "set %srange [", axis);
    kw_text_add_number(&plot->script, lowest - margin, 4);
    kw_text_add(&plot->script, ":");
    kw_text_add_number(&plot->script, highest + margin, 4);
    kw_text_add(&plot->script, "]\n");
}

/* The smallest of 1, 2, 5 or 10 times a power of ten that gives no more than
 * MOST_STEPS steps. */
void kw_script_steps(struct kw_plot *plot,
                     const char *axis,
                     double lowest,
                     double highest,
                     double smallest)
{
    static const double digits[] = {1.0, 2.0, 5.0, 10.0};
    kw_script_widen(&lowest, &highest);
    const double least = (highest - lowest) / MOST_STEPS;
    const double power = pow(10.0, floor(log10(least)));
    double step = power * digits[3];
    for (size_t i = 4; i-- > 0;) {
        if (power * digits[i] >= least)
            step = power * digits[i];
    }
    kw_text_addf(&plot->script, "set %stics ", axis);
    kw_text_add_number(&plot->script, fmax(step, smallest), 4);
    kw_text_add(&plot->script, "\n");
}

void kw_script_bottom(struct kw_plot *plot, unsigned height_px)
{
    kw_text_add(&plot->script, "set bmargin at screen ");
    kw_text_add_number(&plot->script, AXIS_PX / height_px, 3);
    kw_text_add(&plot->script, "\n");
}

/* The smallest step of a clock that leaves room between the times: gnuplot's
 * own choice runs them together. */
static double time_step_s(double length_s)
{
    static const double steps_s[] = {1.0,   2.0,    5.0,    10.0,   15.0,
                                     30.0,  60.0,   120.0,  300.0,  600.0,
                                     900.0, 1800.0, 3600.0, 10800.0};
    const size_t n = sizeof steps_s / sizeof steps_s[0];
    size_t i = 0;
    while (i + 1 < n && length_s > MOST_TIMES * steps_s[i])
        i++;
    return steps_s[i];
}

/* Marks in the log's own time, as the findings in the text give it. */
void kw_script_time_axis(struct kw_plot *plot, double from_s, double to_s)
{
    const bool is_long = to_s - from_s > LONG_LOG_S;
    kw_script_range(plot, "x", from_s, to_s, 0.0);
    kw_text_add(&plot->script, "set xtics ");
    kw_text_add_number(&plot->script, time_step_s(to_s - from_s), 0);
    kw_text_addf(&plot->script,
                 " time format '%s'\n"
                 "set xlabel 'time in the log, %s'\n",
                 is_long ? "%tH:%tM" : "%tM:%tS", is_long ? "h:min" : "min:s");
}

/* A small language of one sign keeps the scripts readable in the source. */
void kw_script_add(struct kw_plot *plot,
                   const char *text,
                   const enum kw_colour *colours)
{
    for (; *text != '\0'; text++) {
        if (*text == '@')
            kw_text_addf(&plot->script, "rgb '%s'", kw_colour_code(*colours++));
        else
            kw_text_add_bytes(&plot->script, text, 1);
    }
}
