/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps over each other: RPM and EGT against the place in the lap. The odd lap
 * stands out in colour, all others are grey, the middle one is black.
 *
 * Data: three blocks for RPM, then three for EGT: all laps but the odd one,
 * parted by empty lines; the middle lap; the odd lap. The first column is the
 * place in the lap, 0 to 1, the same place of the track on every lap, so that
 * a slow lap and a fast one lie on each other.
 *
 * Many laps are thinned twice: some laps are left out (never the odd one), and
 * each lap has fewer points. The odd lap is found among all of them. */
#include "report/review_plots.h"

#include "report/lap_profile.h"
#include "report/script.h"
#include "report/thin.h"

#include <math.h>

/* So many points in all keep the picture small: a page is sent by mail from the
 * track. With fewer columns than that a lap would lose its corners. */
enum { MOST_POINTS = 12000, FEWEST_COLUMNS = 120 };

/* Blocks of the data file for one quantity. */
enum block { BLOCK_LAPS, BLOCK_MIDDLE, BLOCK_ODD, N_BLOCKS };

/* One of the two panels. */
struct quantity {
    const char *label;
    const double *values;
    const double *middle;
    enum kw_colour colour;
    int decimals;
};

/* One lap, thinned to the pixels of the plot, lowest and highest kept: the peak
 * before the brakes is what is looked for. */
static void put_lap(struct kw_plot *plot,
                    const struct kw_review *review,
                    const struct kw_lap *lap,
                    const struct quantity *quantity,
                    size_t columns)
{
    const struct kw_curve curve = {
        review->laps.place,
        quantity->values,
        kw_span_between(&review->session, lap->start_s, lap->end_s),
        0.0,
        1.0,
        columns,
        4,
        quantity->decimals};
    kw_thin_add(&plot->data, &curve);
}

/* The middle lap at the middle of each piece of the track. It is no lap that
 * was driven: each piece is the median of all laps there. */
static void put_middle(struct kw_plot *plot, const struct quantity *quantity)
{
    for (size_t i = 0; i < KW_LAP_PIECES; i++) {
        if (!isfinite(quantity->middle[i]))
            continue;
        kw_text_add_number(&plot->data, ((double)i + 0.5) / KW_LAP_PIECES, 3);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, quantity->middle[i],
                           quantity->decimals);
        kw_text_add(&plot->data, "\n");
    }
}

/* Three blocks: the laps, an empty line between two; the middle; the odd
 * one. */
static void put_quantity(struct kw_plot *plot,
                         const struct kw_review *review,
                         const struct kw_lap_profile *profile,
                         const struct quantity *quantity)
{
    size_t columns = MOST_POINTS / 2 / profile->n;
    if (columns > KW_PLOT_COLUMNS)
        columns = KW_PLOT_COLUMNS;
    if (columns < FEWEST_COLUMNS)
        columns = FEWEST_COLUMNS;
    kw_script_block(plot, "laps: place (0 to 1), value");
    kw_script_no_point(plot, 2);
    for (size_t i = 0; i < profile->n; i++) {
        if (i == profile->odd)
            continue;
        kw_thin_break(&plot->data);
        put_lap(plot, review, &review->laps.items[profile->laps[i]], quantity,
                columns);
    }
    kw_script_block(plot, "middle of all laps: place, value");
    kw_script_no_point(plot, 2);
    put_middle(plot, quantity);
    kw_script_block(plot, "odd lap: place, value");
    kw_script_no_point(plot, 2);
    if (profile->odd < profile->n)
        put_lap(plot, review, &review->laps.items[profile->laps[profile->odd]],
                quantity, columns);
}

/* The range of the comparable laps, so that pits and starts do not use up the
 * height. */
static void add_range(struct kw_plot *plot,
                      const struct kw_review *review,
                      const struct quantity *quantity)
{
    double lowest = NAN;
    double highest = NAN;
    for (size_t i = 0; i < review->laps.n; i++) {
        const struct kw_lap *lap = &review->laps.items[i];
        double low;
        double high;
        if (lap->kind != KW_LAP_FLYING || lap->spoilt)
            continue;
        kw_range_of(quantity->values,
                    kw_span_between(&review->session, lap->start_s, lap->end_s),
                    &low, &high);
        lowest = fmin(lowest, low);
        highest = fmax(highest, high);
    }
    kw_script_range(plot, "y", lowest, highest, 0.04);
    kw_script_steps(plot, "y", lowest, highest, 0.1);
}

/* Grey laps at the back, the middle one in black, the odd one on top in the
 * colour of its quantity. */
static void add_panel(struct kw_plot *plot,
                      const struct kw_review *review,
                      const struct quantity *quantity,
                      unsigned first_block,
                      size_t odd_lap)
{
    static const enum kw_colour ink[] = {KW_COLOUR_QUIET, KW_COLOUR_INK};
    struct kw_text *script = &plot->script;
    add_range(plot, review, quantity);
    kw_text_addf(script, "set ylabel '%s'\nplot data index %u ",
                 quantity->label, first_block + BLOCK_LAPS);
    kw_script_add(plot,
                  "using ($1*100):2 with lines lw 0.6 lc @ title 'each lap'",
                  &ink[0]);
    kw_text_addf(script, ", data index %u ", first_block + BLOCK_MIDDLE);
    kw_script_add(plot,
                  "using ($1*100):2 with lines lw 1.5 lc @ title 'middle lap'",
                  &ink[1]);
    if (odd_lap > 0) {
        kw_text_addf(script, ", data index %u ", first_block + BLOCK_ODD);
        kw_script_add(plot, "using ($1*100):2 with lines lw 1.8 lc @ ",
                      &quantity->colour);
        kw_text_addf(script, "title 'lap %zu'", odd_lap);
    }
    kw_text_add(script, "\n");
}

/* Two panels over one axis; the place on the track stands under the lower one
 * only. */
static void write_script(struct kw_plot *plot,
                         const struct kw_review *review,
                         const struct quantity *quantities,
                         size_t n_panels,
                         size_t odd_lap)
{
    struct kw_text *script = &plot->script;
    const unsigned height_px = n_panels == 2 ? 520 : 340;
    kw_script_begin(plot, "RPM and EGT against the place in the lap.",
                    height_px, review->log.path);
    kw_text_add(script,
                "set multiplot\nset lmargin at screen 0.16\n"
                "set rmargin at screen 0.96\nset xrange [0:100]\n"
                "set xlabel 'place in the lap, % of the way round'\n"
                "set key at screen 0.98,0.995 right top horizontal maxrows 1\n"
                "set tmargin at screen 0.92\n");
    if (n_panels == 2)
        kw_text_add(script, "set bmargin at screen 0.53\n"
                            "set format x ''\nunset xlabel\n");
    else
        kw_script_bottom(plot, height_px);
    add_panel(plot, review, &quantities[0], 0, odd_lap);
    if (n_panels == 2) {
        kw_text_add(script,
                    "unset label 99\nset format x '%g'\n"
                    "set xlabel 'place in the lap, % of the way round'\n"
                    "set tmargin at screen 0.47\nunset key\n");
        kw_script_bottom(plot, height_px);
        add_panel(plot, review, &quantities[1], N_BLOCKS, odd_lap);
    }
    kw_text_add(script, "unset multiplot\n");
    kw_script_end(plot);
}

/* Names the odd lap, so that it can be looked up in the table of laps. */
static void describe(struct kw_plot *plot,
                     const struct kw_lap_profile *profile,
                     size_t odd_lap)
{
    kw_text_addf(&plot->explain,
                 "%zu laps over each other, place by place; out, in and spoilt "
                 "laps are left out. Black is the middle of them all. A "
                 "healthy engine draws one bundle, hotter as it warms up: look "
                 "where a line leaves it.",
                 profile->n);
    kw_text_addf(&plot->alt,
                 "RPM and exhaust temperature of %zu laps against the place in "
                 "the lap.",
                 profile->n);
    if (odd_lap > 0) {
        kw_text_addf(&plot->explain, " Lap %zu, in colour, does so most.",
                     odd_lap);
        kw_text_addf(&plot->alt, " Lap %zu is furthest from the others.",
                     odd_lap);
    }
}

/* Fewer than two laps cannot be held against each other: no plot. */
enum kw_status kw_plot_laps(const struct kw_review *review,
                            struct kw_plots *plots,
                            struct kw_error *error)
{
    struct kw_lap_profile profile;
    if (kw_profile_laps(review, &profile, error) != KW_OK)
        return KW_NO_MEMORY;
    if (profile.n < 2)
        return KW_OK;
    struct kw_plot *plot =
        kw_plots_add(plots, "laps", "Laps over each other", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    const struct quantity quantities[2] = {
        {"RPM", review->session.rpm, profile.middle_rpm, KW_COLOUR_RPM, 0},
        {"EGT, C", review->session.egt_c, profile.middle_egt_c, KW_COLOUR_EGT,
         1}};
    const size_t n_panels = review->session.egt_c != NULL ? 2 : 1;
    const size_t odd_lap =
        profile.odd < profile.n
            ? review->laps.items[profile.laps[profile.odd]].number
            : 0;
    for (size_t i = 0; i < n_panels; i++)
        put_quantity(plot, review, &profile, &quantities[i]);
    write_script(plot, review, quantities, n_panels, odd_lap);
    describe(plot, &profile, odd_lap);
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}
