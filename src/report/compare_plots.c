/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots of a comparison over RPM and over the lap: EGT before and after,
 * with the scatter of the laps or with the difference. */
#include "report/compare_plots.h"

#include "report/script.h"
#include "report/words.h"

#include <math.h>
#include <string.h>

/* Fewer steps make no curve. */
enum { FEWEST_STEPS = 3 };

/* Room beside the curves, as a share of their range. */
static const double RANGE_ROOM = 0.05;

/* Before at the back, after on top: two for the bands, two for the lines. */
static const enum kw_colour side_colours[] = {KW_COLOUR_QUIET, KW_COLOUR_EGT,
                                              KW_COLOUR_INK, KW_COLOUR_EGT};

/* Loggers put the date first, and the two sessions may be of one day. */
static void copy_end(char *to, size_t size, const char *name)
{
    const size_t length = strlen(name);
    const char *from = name;
    if (length >= size) {
        from = name + length - (size - 3);
        /* Not within a character of UTF-8. */
        while (((unsigned char)*from & 0xC0U) == 0x80U)
            from++;
    }
    kw_text_copy(to, size, from == name ? "" : "..");
    kw_text_copy(to + strlen(to), size - strlen(to), from);
}

/* Two plots of two comparisons, printed, must not look like one. */
void kw_compared_credit(const struct kw_comparison_source *source,
                        char credit[KW_COMPARED_CREDIT])
{
    enum { EACH = KW_COMPARED_CREDIT / 2 };
    static const char between[] = ", ";
    credit[0] = '\0';
    for (int side = 0; side < KW_N_SIDES; side++) {
        const size_t used = strlen(credit);
        copy_end(credit + used, EACH,
                 kw_file_name_of(source->sessions[side]->reviews[0].log.path));
        if (side == KW_BEFORE)
            kw_text_copy(credit + strlen(credit), sizeof between, between);
    }
}

/* Widens a range by one value; NAN changes nothing. */
static void widen(double value, double *lowest, double *highest)
{
    *lowest = fmin(*lowest, value);
    *highest = fmax(*highest, value);
}

/* A row of numbers. */
static void put_row(struct kw_plot *plot,
                    const double *values,
                    size_t n,
                    int decimals)
{
    for (size_t i = 0; i < n; i++) {
        kw_text_add(&plot->data, i == 0 ? "" : " ");
        kw_text_add_number(&plot->data, values[i], decimals);
    }
    kw_text_add(&plot->data, "\n");
}

/* ---- EGT against RPM ----------------------------------------------------- */

/* A block "rpm mean low high" of one side.
 *
 * returns  number of steps. */
static size_t put_heat(struct kw_plot *plot,
                       const struct kw_comparison *comparison,
                       int side,
                       double x_range[2],
                       double y_range[2])
{
    const struct kw_compare_side *from = &comparison->sides[side];
    size_t n = 0;
    kw_script_block(plot, side == KW_BEFORE
                              ? "before: RPM, mean, scatter low, high"
                              : "after: RPM, mean, scatter low, high");
    kw_script_no_point(plot, 4);
    for (size_t i = 0; i < KW_MOST_HEAT_STEPS; i++) {
        const double row[] = {((double)i + 0.5) * comparison->heat_step_rpm,
                              from->heat_c[i], from->heat_low_c[i],
                              from->heat_high_c[i]};
        if (!isfinite(row[1]))
            continue;
        put_row(plot, row, 4, 1);
        widen(row[0], &x_range[0], &x_range[1]);
        widen(row[2], &y_range[0], &y_range[1]);
        widen(row[3], &y_range[0], &y_range[1]);
        n++;
    }
    return n;
}

/* Mean and scatter of the laps, not of samples: two bands that part are a
 * change that most laps show. A side with next to no curve gives no plot, since
 * one line alone compares nothing. */
enum kw_status kw_plot_compared_heat(const struct kw_comparison_source *source,
                                     struct kw_plots *plots,
                                     struct kw_error *error)
{
    double x_range[] = {NAN, NAN};
    double y_range[] = {NAN, NAN};
    struct kw_plot *plot =
        kw_plots_add(plots, "heat", "EGT against RPM", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    char credit[KW_COMPARED_CREDIT];
    kw_compared_credit(source, credit);
    kw_script_begin(plot, "EGT against RPM under load, before and after.", 420,
                    credit);
    size_t fewest = KW_MOST_HEAT_STEPS;
    for (int side = 0; side < KW_N_SIDES; side++) {
        const size_t n =
            put_heat(plot, source->comparison, side, x_range, y_range);
        fewest = n < fewest ? n : fewest;
    }
    if (fewest < FEWEST_STEPS) {
        kw_plots_drop_last(plots);
        return KW_OK;
    }
    kw_script_range(plot, "x", x_range[0], x_range[1], RANGE_ROOM);
    kw_script_range(plot, "y", y_range[0], y_range[1], RANGE_ROOM);
    kw_script_steps(plot, "x", x_range[0], x_range[1], 1.0);
    kw_text_add(&plot->script,
                "set xlabel 'RPM'\nset ylabel 'EGT, C (probe lag taken out)'\n"
                "set lmargin at screen 0.16\nset rmargin at screen 0.96\n"
                "set tmargin at screen 0.91\nset bmargin at screen 0.15\n"
                "set key at screen 0.98,0.99 right top horizontal maxrows 1\n");
    kw_script_add(plot,
                  "plot data index 0 using 1:3:4 with filledcurves fs "
                  "transparent solid 0.35 noborder lc @ title 'laps before', "
                  "data index 1 using 1:3:4 with filledcurves fs transparent "
                  "solid 0.25 noborder lc @ title 'laps after', "
                  "data index 0 using 1:2 with lines lw 2 dt 2 lc @ title "
                  "'before', "
                  "data index 1 using 1:2 with lines lw 2 lc @ title 'after'\n",
                  side_colours);
    kw_script_end(plot);
    kw_text_add(&plot->explain,
                "Exhaust temperature against RPM while the engine pulls, with "
                "the probe's lag taken out. The bands are where 19 in 20 laps "
                "lie. Where the lines part further than the bands are wide, "
                "the change did something: at high RPM look to the main jet, "
                "in the middle to the needle, low down to the pilot jet.");
    kw_text_add(&plot->alt, "Exhaust temperature against RPM under load, one "
                            "line with its band before and one after.");
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}

/* ---- EGT over the lap ---------------------------------------------------- */

/* A block "place before after difference".
 *
 * returns  number of places that both sides know. */
static size_t put_course(struct kw_plot *plot,
                         const struct kw_comparison *comparison,
                         double ranges[2][2])
{
    const double *before = comparison->sides[KW_BEFORE].course_egt_c;
    const double *after = comparison->sides[KW_AFTER].course_egt_c;
    size_t n = 0;
    kw_script_block(plot, "place in %, EGT before, after, difference");
    kw_script_no_point(plot, 4);
    for (size_t i = 0; i < KW_COURSE_PIECES; i++) {
        const double row[] = {100.0 * ((double)i + 0.5) / KW_COURSE_PIECES,
                              before[i], after[i], after[i] - before[i]};
        if (!isfinite(row[3]))
            continue;
        put_row(plot, row, 4, 1);
        widen(row[1], &ranges[0][0], &ranges[0][1]);
        widen(row[2], &ranges[0][0], &ranges[0][1]);
        widen(row[3], &ranges[1][0], &ranges[1][1]);
        n++;
    }
    return n;
}

/* The two laps above, their difference below, over one axis. */
static void write_course(struct kw_plot *plot, double ranges[2][2])
{
    struct kw_text *script = &plot->script;
    kw_text_add(script, "set multiplot\nset lmargin at screen 0.14\n"
                        "set rmargin at screen 0.96\nset xrange [0:100]\n"
                        "set key at screen 0.98,0.995 right top horizontal "
                        "maxrows 1\nset tmargin at screen 0.92\n"
                        "set bmargin at screen 0.45\nset format x ''\n"
                        "set ylabel 'EGT, C'\n");
    kw_script_range(plot, "y", ranges[0][0], ranges[0][1], RANGE_ROOM);
    kw_script_add(plot,
                  "plot data index 0 using 1:2 with lines lw 1.8 dt 2 lc @ "
                  "title 'before', "
                  "data index 0 using 1:3 with lines lw 1.8 lc @ title "
                  "'after'\n",
                  side_colours + 2);
    kw_text_add(script, "unset label 99\nunset key\nset format x '%g'\n"
                        "set xlabel 'place in the lap, % of the way round'\n"
                        "set tmargin at screen 0.41\n"
                        "set bmargin at screen 0.15\n"
                        "set ylabel 'after - before, C'\n");
    /* No difference is always in sight. */
    widen(0.0, &ranges[1][0], &ranges[1][1]);
    kw_script_range(plot, "y", ranges[1][0], ranges[1][1], 0.1);
    kw_script_steps(plot, "y", ranges[1][0], ranges[1][1], 1.0);
    kw_script_add(
        plot,
        "plot data index 0 using 1:4 with filledcurves y=0 fs "
        "transparent solid 0.25 noborder lc @, "
        "data index 0 using 1:4 with lines lw 1.8 lc @, "
        "0 with lines lw 1 lc @\nunset multiplot\n",
        (const enum kw_colour[]){KW_COLOUR_EGT, KW_COLOUR_EGT, KW_COLOUR_INK});
}

/* Place against place, so that a quicker lap does not look like a cooler one.
 * The probe's lag is left in: it shifts both laps alike. */
enum kw_status kw_plot_compared_course(
    const struct kw_comparison_source *source,
    struct kw_plots *plots,
    struct kw_error *error)
{
    double ranges[2][2] = {{NAN, NAN}, {NAN, NAN}};
    struct kw_plot *plot =
        kw_plots_add(plots, "course", "EGT over the lap", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    char credit[KW_COMPARED_CREDIT];
    kw_compared_credit(source, credit);
    kw_script_begin(plot, "EGT over the lap, before and after.", 480, credit);
    if (put_course(plot, source->comparison, ranges) < FEWEST_STEPS) {
        kw_plots_drop_last(plots);
        return KW_OK;
    }
    write_course(plot, ranges);
    kw_script_end(plot);
    kw_text_add(&plot->explain,
                "The middle lap before and after, place by place, as the probe "
                "read it; below, by how much the second is hotter or cooler. "
                "A change of mixture lifts or lowers whole straights; a "
                "difference in one bend only is the driver.");
    kw_text_add(&plot->alt, "Exhaust temperature over the lap before and "
                            "after, and the difference below.");
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}

/* ---- all of them --------------------------------------------------------- */

/* In the order in which the page shows them: the mixture, where, each lap, the
 * clutch. */
enum kw_status kw_comparison_plots(const struct kw_comparison_source *source,
                                   struct kw_plots *plots,
                                   struct kw_error *error)
{
    static kw_comparison_plot *const all[] = {
        kw_plot_compared_heat, kw_plot_compared_course, kw_plot_compared_dots,
        kw_plot_compared_starts};
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < sizeof all / sizeof all[0] && status == KW_OK; i++)
        status = all[i](source, plots, error);
    return status;
}
