/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of a comparison that show each lap, or each start, for itself.
 *
 * Means hide what laps show: one odd lap, a slope as the engine warms up, two
 * groups. */
#include "report/compare_plots.h"

#include "report/compare_words.h"
#include "report/script.h"
#include "report/thin.h"

#include <math.h>
#include <string.h>

/* Panels that a person takes in. More measures are in the table; these four
 * answer what a jet change is asked: cooler at the top, cooler in all, quicker,
 * and did it rev out. */
enum { MOST_PANELS = 4 };

/* Starts drawn on each side, and the time shown around them: the launch before,
 * and enough after to see that engine and axle go on together. */
enum { MOST_STARTS = 6, START_COLUMNS = 300 };
static const double BEFORE_START_S = 1.0;
static const double AFTER_START_S = 2.0;

/* ---- lap by lap ---------------------------------------------------------- */

/* The highest EGT band, lap time, highest RPM, mean EGT: as far as shown. */
static size_t choose_panels(const struct kw_comparison *comparison,
                            const struct kw_measure *chosen[MOST_PANELS])
{
    static const char *const names[] = {"egt_c", "egt_mean_c", "lap_time_s",
                                        "rpm_max"};
    size_t n = 0;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const struct kw_measure *found = NULL;
        for (size_t k = 0; k < comparison->measures.n; k++) {
            const struct kw_measure *measure = &comparison->measures.items[k];
            if (strcmp(measure->name, names[i]) == 0)
                found = measure; /* the last EGT band is the highest */
        }
        if (found != NULL)
            chosen[n++] = found;
    }
    return n;
}

/* Two blocks "place value": each lap of one side in a column of dots, in the
 * order in which they were driven: an engine that warms up or a tyre that goes
 * off shows as a slope, which no mean would tell. */
static void put_dots(struct kw_plot *plot,
                     const struct kw_measure *measure,
                     double range[2])
{
    for (int side = 0; side < KW_N_SIDES; side++) {
        kw_script_block(plot, side == KW_BEFORE ? "each lap before"
                                                : "each lap after");
        kw_script_no_point(plot, 2);
        for (size_t i = 0; i < measure->n[side]; i++) {
            const double value = measure->values[side][i];
            const double at =
                ((double)i + 1.0) / ((double)measure->n[side] + 1.0);
            kw_text_add_number(&plot->data, (double)side + at, 3);
            kw_text_add(&plot->data, " ");
            kw_text_add_number(&plot->data, value, 3);
            kw_text_add(&plot->data, "\n");
            range[0] = fmin(range[0], value);
            range[1] = fmax(range[1], value);
        }
    }
}

/* One block: the means as lines, then the after side's interval about its
 * mean, which is that of the difference. */
static void put_means(struct kw_plot *plot,
                      const struct kw_measure *measure,
                      double range[2])
{
    kw_script_block(plot, "middle, mean, interval low, high");
    for (int side = 0; side < KW_N_SIDES; side++) {
        const double mean = measure->mean[side];
        /* Drawn from the mean before, so that the bar crosses the line before
         * exactly where the interval holds 0. */
        const bool after = side == KW_AFTER && !isnan(measure->low);
        const double before = measure->mean[KW_BEFORE];
        const double low = after ? before + measure->low : mean;
        const double high = after ? before + measure->high : mean;
        range[0] = fmin(range[0], low);
        range[1] = fmax(range[1], high);
        kw_text_add_number(&plot->data, (double)side + 0.5, 1);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, mean, 3);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, low, 3);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, high, 3);
        kw_text_add(&plot->data, "\n");
    }
}

/* Points of the picture: a foot for "before", "after" and the log's name, and
 * the panels above it. */
static const double FOOT = 60.0;
static const double PANEL = 135.0;
/* Shares of its height: where the first panel begins, the line of words above
 * each, and the gap below. */
static const double TOP = 0.99;
static const double TITLE = 0.055;
static const double GAP = 0.02;

static double picture_height(size_t n)
{
    return FOOT + PANEL * (double)n;
}

/* Panel i of n, with its three blocks. */
static void add_panel(struct kw_plot *plot,
                      const struct kw_measure *measure,
                      size_t i,
                      size_t n)
{
    static const enum kw_colour colours[] = {KW_COLOUR_QUIET, KW_COLOUR_EGT,
                                             KW_COLOUR_INK, KW_COLOUR_INK};
    struct kw_text *script = &plot->script;
    const double height = (TOP - FOOT / picture_height(n)) / (double)n;
    const double top = TOP - (double)i * height;
    const int decimals = kw_measure_decimals(measure);
    double range[] = {NAN, NAN};
    put_dots(plot, measure, range);
    put_means(plot, measure, range);
    kw_text_add(script, "set tmargin at screen ");
    kw_text_add_number(script, top - TITLE, 3);
    kw_text_add(script, "\nset bmargin at screen ");
    kw_text_add_number(script, top - height + GAP, 3);
    kw_text_add(script, i + 1 == n ? "\nset xtics ('before' 0.5, 'after' 1.5)\n"
                                   : "\nset xtics ('' 0.5, '' 1.5)\n");
    kw_script_range(plot, "y", range[0], range[1], 0.15);
    kw_script_steps(plot, "y", range[0], range[1], pow(10.0, -decimals));
    /* The titles are our own words. */
    kw_text_add(script, "set label 1 '");
    kw_add_measure_title(script, measure);
    kw_text_addf(script,
                 "' at graph 0,1 offset 0,0.6 left noenhanced font small\n"
                 "plot data index %zu using 1:2 with points pt 7 ps 0.7 ",
                 3 * i);
    kw_script_add(plot, "lc @ notitle, ", &colours[0]);
    kw_text_addf(script, "data index %zu using 1:2 with points pt 7 ps 0.7 ",
                 3 * i + 1);
    kw_script_add(plot, "lc @ notitle, ", &colours[1]);
    kw_text_addf(script,
                 "data index %zu using ($1-0.4):2:(0.8):(0) with vectors "
                 "nohead lw 1.5 ",
                 3 * i + 2);
    kw_script_add(plot, "lc @ notitle, ", &colours[2]);
    /* The mean before is drawn on to where the bar can be seen to meet it. */
    kw_text_addf(script,
                 "data index %zu every ::0::0 using ($1+0.4):2:(1.08):(0) with "
                 "vectors nohead lw 0.8 dt 3 ",
                 3 * i + 2);
    kw_script_add(plot, "lc @ notitle, ", &colours[2]);
    kw_text_addf(script,
                 "data index %zu every ::1 using ($1+0.46):3:(0):($4-$3) with "
                 "vectors heads size screen 0.008,90 lw 1.5 ",
                 3 * i + 2);
    kw_script_add(plot, "lc @ notitle\nunset label 99\n", &colours[3]);
}

/* Dots and not bars: a person sees at once whether one odd lap made the
 * difference, which no mean shows. */
enum kw_status kw_plot_compared_dots(const struct kw_comparison_source *source,
                                     struct kw_plots *plots,
                                     struct kw_error *error)
{
    const struct kw_measure *chosen[MOST_PANELS];
    const size_t n = choose_panels(source->comparison, chosen);
    if (n == 0)
        return KW_OK;
    struct kw_plot *plot =
        kw_plots_add(plots, "laps", "Lap against lap", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    char credit[KW_COMPARED_CREDIT];
    kw_compared_credit(source, credit);
    kw_script_begin(plot, "Each lap before and after.",
                    (unsigned)picture_height(n), credit);
    kw_text_add(&plot->script, "set multiplot\nset lmargin at screen 0.14\n"
                               "set rmargin at screen 0.97\nset xrange [0:2]\n"
                               "set arrow 1 from 1,graph 0 to 1,graph 1 nohead "
                               "lw 0.5 lc rgb '#777777'\n");
    for (size_t i = 0; i < n; i++)
        add_panel(plot, chosen[i], i, n);
    kw_text_add(&plot->script, "unset multiplot\n");
    kw_script_end(plot);
    kw_text_add(&plot->explain,
                "Each dot is one lap that counts, in the order in which they "
                "were driven; the lines are the means. The bar at the right "
                "shows where the mean after may truly lie (95 %). Where it "
                "meets the dotted line, the mean before, these laps show no "
                "change; where it stays clear of it there may be one, and the "
                "verdict in the table below says whether it counts.");
    kw_text_add(&plot->alt, "Dots for each lap before and after, with their "
                            "means and the 95 % interval of the change.");
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}

/* ---- starts -------------------------------------------------------------- */

/* RPM around one start, its time counted from the first load. */
static void put_start(struct kw_plot *plot,
                      const struct kw_session *session,
                      const struct kw_event *event,
                      double range[2])
{
    const struct kw_span span = kw_span_between(
        session, event->start_s - BEFORE_START_S, event->end_s + AFTER_START_S);
    /* A log of 1 kHz has more readings than the picture has pixels. */
    const size_t each = (span.to - span.from) / START_COLUMNS + 1;
    kw_thin_break(&plot->data);
    for (size_t i = span.from; i < span.to; i += each) {
        if (isnan(session->rpm[i]))
            continue;
        kw_text_add_number(&plot->data, session->time_s[i] - event->start_s, 2);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, session->rpm[i], 0);
        kw_text_add(&plot->data, "\n");
        range[1] = fmax(range[1], session->time_s[i] - event->start_s);
    }
    range[0] = -BEFORE_START_S;
}

/* A block with all starts of a side.
 *
 * returns  how many. */
static size_t put_starts(struct kw_plot *plot,
                         const struct kw_compare_sessions *sessions,
                         const char *comment,
                         double range[2])
{
    size_t n = 0;
    kw_script_block(plot, comment);
    kw_script_no_point(plot, 2);
    for (size_t log = 0; log < sessions->n; log++) {
        const struct kw_review *review = &sessions->reviews[log];
        for (size_t i = 0; i < review->events.n && n < MOST_STARTS; i++) {
            if (review->events.items[i].kind != KW_CLUTCH_ENGAGEMENT)
                continue;
            put_start(plot, &review->session, &review->events.items[i], range);
            n++;
        }
    }
    return n;
}

/* Only where both sides have a start: the shape of one alone is in the
 * review. */
enum kw_status kw_plot_compared_starts(
    const struct kw_comparison_source *source,
    struct kw_plots *plots,
    struct kw_error *error)
{
    static const enum kw_colour colours[] = {KW_COLOUR_QUIET, KW_COLOUR_EGT};
    double range[] = {NAN, NAN};
    struct kw_plot *plot =
        kw_plots_add(plots, "clutch", "Starts through the clutch", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    char credit[KW_COMPARED_CREDIT];
    kw_compared_credit(source, credit);
    kw_script_begin(plot, "Starts through the clutch, before and after.", 340,
                    credit);
    const size_t n_before =
        put_starts(plot, source->sessions[KW_BEFORE],
                   "starts before: seconds from the first load, RPM", range);
    const size_t n_after =
        put_starts(plot, source->sessions[KW_AFTER],
                   "starts after: seconds from the first load, RPM", range);
    if (n_before == 0 || n_after == 0) {
        kw_plots_drop_last(plots);
        return KW_OK;
    }
    kw_script_range(plot, "x", range[0], range[1], 0.0);
    kw_script_add(plot,
                  "set xlabel 'time from the first load, s'\nset ylabel 'RPM'\n"
                  "set lmargin at screen 0.14\nset rmargin at screen 0.97\n"
                  "set tmargin at screen 0.90\nset bmargin at screen 0.21\n"
                  "set key at screen 0.98,0.99 right top horizontal maxrows 1\n"
                  "plot data index 0 using 1:2 with lines lw 1.8 dt 2 lc @ "
                  "title 'before', data index 1 using 1:2 with lines lw 1.8 "
                  "lc @ title 'after'\n",
                  colours);
    kw_script_end(plot);
    kw_text_addf(&plot->explain,
                 "RPM at each start, %zu before and %zu after, laid over each "
                 "other at the moment in which the clutch takes load. A clutch "
                 "that is worn or wet holds the engine higher and longer.",
                 n_before, n_after);
    kw_text_add(&plot->alt, "RPM over the starts before and after, laid over "
                            "each other.");
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}
