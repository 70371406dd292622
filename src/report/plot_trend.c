/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lap by lap: time, highest RPM, highest EGT. What creeps over a session shows
 * here: tyres that go off, an engine that gets hotter as the tank empties, a
 * filter that clogs. One lap alone says nothing about it, a slope over ten
 * does.
 *
 * Data: a block for each panel, "lap value". */
#include "report/review_plots.h"

#include "report/digest.h"
#include "report/script.h"

#include <math.h>

/* Comparable laps; a plot of fewer says nothing: two points always make a
 * line. */
enum { FEWEST_LAPS = 3 };

/* With more laps than this a dot for each would be a smear. */
enum { MOST_DOTS = 150 };

/* One of the panels, from the top. */
struct panel {
    const char *label;
    enum kw_colour colour;
    int decimals;
    double (*value)(const struct kw_lap *lap);
};

/* Lap time in seconds. */
static double time_of(const struct kw_lap *lap)
{
    return lap->end_s - lap->start_s;
}

/* As logged, lag and all: the same on every lap. */
static double egt_of(const struct kw_lap *lap)
{
    return lap->egt_max_c;
}

/* The highest RPM: it falls when the engine tires or the wind turns. */
static double rpm_of(const struct kw_lap *lap)
{
    return lap->rpm_max;
}

/* Out, in and spoilt laps would set the scale and hide the drift. */
static bool is_comparable(const struct kw_lap *lap)
{
    return lap->kind == KW_LAP_FLYING && !lap->spoilt;
}

/* A block "lap value".
 *
 * lowest, highest  of the values. */
static void put_block(struct kw_plot *plot,
                      const struct kw_laps *laps,
                      const struct panel *panel,
                      double *lowest,
                      double *highest)
{
    *lowest = NAN;
    *highest = NAN;
    kw_script_block(plot, panel->label);
    kw_script_no_point(plot, 2);
    for (size_t i = 0; i < laps->n; i++) {
        const double value = panel->value(&laps->items[i]);
        if (!is_comparable(&laps->items[i]) || !isfinite(value))
            continue;
        kw_text_addf(&plot->data, "%zu ", laps->items[i].number);
        kw_text_add_number(&plot->data, value, panel->decimals);
        kw_text_add(&plot->data, "\n");
        *lowest = *lowest <= value ? *lowest : value;
        *highest = *highest >= value ? *highest : value;
    }
}

/* Shares of the picture's height: where the first panel begins, all of them
 * together (the axis of laps and its title stand below), and the gap between
 * two. */
static const double TOP = 0.97;
static const double PANELS = 0.84;
static const double GAP = 0.035;

/* Panel i of n, with its block of data. */
static void add_panel(struct kw_plot *plot,
                      const struct kw_laps *laps,
                      const struct panel *panel,
                      size_t i,
                      size_t n)
{
    struct kw_text *script = &plot->script;
    const double height = PANELS / (double)n;
    const double top = TOP - (double)i * height;
    double lowest;
    double highest;
    put_block(plot, laps, panel, &lowest, &highest);
    kw_text_add(script, "set tmargin at screen ");
    kw_text_add_number(script, top, 3);
    kw_text_add(script, "\nset bmargin at screen ");
    kw_text_add_number(script, top - height + GAP, 3);
    kw_text_add(script, i + 1 == n ? "\nset format x '%g'\nset xlabel 'lap'\n"
                                   : "\nset format x ''\nunset xlabel\n");
    kw_script_range(plot, "y", lowest, highest, 0.15);
    kw_script_steps(plot, "y", lowest, highest, pow(10.0, -panel->decimals));
    kw_text_addf(script,
                 "set ylabel '%s'\nplot data index %zu using 1:2 with %s ",
                 panel->label, i,
                 laps->n > MOST_DOTS ? "lines" : "linespoints pt 7 ps 0.6");
    kw_script_add(plot, "lc @ notitle\nunset label 99\n", &panel->colour);
}

/* Panels from top to bottom, all over one axis of lap numbers. */
static void write_plot(struct kw_plot *plot,
                       const struct kw_review *review,
                       bool has_egt)
{
    static const struct panel panels[] = {
        {"lap time, s", KW_COLOUR_INK, 2, time_of},
        {"RPM max", KW_COLOUR_RPM, 0, rpm_of},
        {"EGT max, C", KW_COLOUR_EGT, 1, egt_of}};
    const struct kw_laps *laps = &review->laps;
    const size_t n = has_egt ? 3 : 2;
    const double last = (double)laps->items[laps->n - 1].number;
    kw_script_begin(plot, "Lap by lap: time, highest RPM, highest EGT.",
                    has_egt ? 480 : 360, review->log.path);
    kw_text_add(&plot->script, "set multiplot\nset lmargin at screen 0.16\n"
                               "set rmargin at screen 0.97\n");
    kw_script_range(plot, "x", 0.5, last + 0.5, 0.0);
    kw_script_steps(plot, "x", 0.0, last / 3.0, 1.0);
    for (size_t i = 0; i < n; i++)
        add_panel(plot, laps, &panels[i], i, n);
    kw_text_add(&plot->script, "unset multiplot\n");
    kw_script_end(plot);
}

/* Lap numbers stay those of the table, so a spoilt lap leaves a gap. */
enum kw_status kw_plot_trend(const struct kw_review *review,
                             struct kw_plots *plots,
                             struct kw_error *error)
{
    struct kw_lap_digest digest;
    if (kw_digest_laps(&review->laps, &digest, error) != KW_OK)
        return KW_NO_MEMORY;
    if (digest.n_flying < FEWEST_LAPS)
        return KW_OK;
    struct kw_plot *plot = kw_plots_add(plots, "trend", "Lap by lap", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    const bool has_egt = review->session.egt_c != NULL;
    write_plot(plot, review, has_egt);
    kw_text_addf(&plot->explain,
                 "Each of the %zu flying laps: its time, its highest RPM%s; "
                 "out, in and spoilt laps are left out. Look for a drift: "
                 "hotter and slower lap after lap is worth watching. One lap "
                 "up and the next down is mostly driving. A lap in which "
                 "something was found is told at the top of the page, whatever "
                 "this plot looks like.",
                 digest.n_flying, has_egt ? " and its highest EGT" : "");
    kw_text_addf(&plot->alt, "Lap time, highest RPM%s of %zu laps, lap by lap.",
                 has_egt ? ", highest exhaust temperature" : "",
                 digest.n_flying);
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}
