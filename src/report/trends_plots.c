/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure of one kart against the hours that its engine has run: a dot for
 * each session, the line where the test says that there is one, and what was
 * fitted, since a new lining or piston is what makes a step.
 *
 * Data: a block "hours value entry date", and one with the ends of the line. */
#include "report/trends_plots.h"

#include "core/array.h"
#include "core/escape.h"
#include "core/local_time.h"
#include "report/script.h"
#include "report/trends_words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One session alone shows nothing. */
enum { FEWEST_SESSIONS = 2 };

/* Heights in px: the panel with its axis, and the room above it in which the
 * names of what was fitted stand upright. Longer names are cut. */
enum { PANEL_PX = 340, TOP_PX = 14, NAMES_PX = 165, LONGEST_NAME = 22 };

/* Fittings closer than this share of the axis would print over one another:
 * they share one name. */
static const double CLOSEST_NAMES = 0.035;

/* Room above and below the dots, as a share of their range. */
static const double RANGE_ROOM = 0.12;

/* How each measure is headed and coloured. */
struct look {
    const char *measure;
    const char *heading;
    enum kw_colour colour;
};

/* A measure that a later program stored is drawn too, under a plain heading. */
static const struct look *look_of(const char *measure)
{
    static const struct look looks[] = {
        {"", "A measure", KW_COLOUR_OTHER},
        {"clutch_engagement_s", "Clutch engagement time", KW_COLOUR_OTHER},
        {"egt_top_c", "Top-end EGT, as read", KW_COLOUR_EGT},
        {"egt_top_air_c", "Top-end EGT, in standard air", KW_COLOUR_EGT},
        {"dropouts_per_h", "Drop-outs", KW_COLOUR_DROPOUT},
        {"lap_spread_percent", "Spread of lap times", KW_COLOUR_EXPECTED},
        {"lean_s_per_h", "Lean running", KW_COLOUR_LEAN},
        {"rpm_top", "Top RPM", KW_COLOUR_RPM}};
    for (size_t i = 1; i < sizeof looks / sizeof looks[0]; i++) {
        if (strcmp(looks[i].measure, measure) == 0)
            return &looks[i];
    }
    return &looks[0];
}

/* ---- what was fitted ----------------------------------------------------- */

/* The kart's fittings in order of hours: items[n], borrowed. */
struct fittings {
    const struct kw_part **items;
    size_t n;
};

/* Numbers settle a tie: two parts of one evening keep one order on every
 * machine. */
static int by_hours(const void *a, const void *b)
{
    const struct kw_part *const *x = a;
    const struct kw_part *const *y = b;
    if ((*x)->engine_hours < (*y)->engine_hours)
        return -1;
    if ((*x)->engine_hours > (*y)->engine_hours)
        return 1;
    return ((*x)->id > (*y)->id) - ((*x)->id < (*y)->id);
}

/* Only those within the drawn hours. The caller frees items. */
static enum kw_status find_fittings(const struct kw_parts *parts,
                                    const struct kw_trend *trend,
                                    struct fittings *out,
                                    struct kw_error *error)
{
    const double last_h = trend->points[trend->n - 1].hours;
    out->n = 0;
    out->items = kw_array_new(parts->n, sizeof *out->items, error);
    if (out->items == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < parts->n; i++) {
        const struct kw_part *part = &parts->items[i];
        if (kw_same_kart(part->kart, trend->kart) &&
            kw_is_marked_fitting(part) && part->engine_hours <= last_h)
            out->items[out->n++] = part;
    }
    qsort(out->items, out->n, sizeof *out->items, by_hours);
    return KW_OK;
}

/* The name of the first, and how many more share it. */
static void put_name(struct kw_plot *plot, const struct kw_part *part, size_t n)
{
    struct kw_text whole = {0};
    char name[LONGEST_NAME];
    kw_add_part_name(&whole, part);
    if (kw_text_failed(&whole))
        plot->script.failed = true;
    kw_text_copy(name, sizeof name, whole.bytes);
    const bool is_cut = whole.length >= sizeof name;
    kw_text_free(&whole);
    kw_text_add(&plot->script, "set label '");
    kw_escape_gnuplot(&plot->script, name);
    kw_text_add(&plot->script, is_cut ? "..." : "");
    if (n > 1)
        kw_text_addf(&plot->script, " +%zu", n - 1);
    kw_text_add(&plot->script, "' at ");
    kw_text_add_number(&plot->script, part->engine_hours, 4);
    kw_text_add(&plot->script, ",graph 1.03 left rotate by 90 noenhanced font "
                               "small textcolor rgb '#555555'\n");
}

/* A dashed line for each, a name for each that has room for one. */
static void put_fittings(struct kw_plot *plot,
                         const struct fittings *fittings,
                         double span_h)
{
    static const enum kw_colour colours[] = {KW_COLOUR_QUIET};
    for (size_t from = 0; from < fittings->n;) {
        const double from_h = fittings->items[from]->engine_hours;
        size_t to = from;
        while (to < fittings->n && fittings->items[to]->engine_hours - from_h <
                                       CLOSEST_NAMES * span_h) {
            kw_text_add(&plot->script, "set arrow from ");
            kw_text_add_number(&plot->script, fittings->items[to]->engine_hours,
                               4);
            kw_text_add(&plot->script, ",graph 0 to ");
            kw_text_add_number(&plot->script, fittings->items[to]->engine_hours,
                               4);
            kw_script_add(plot, ",graph 1 nohead back dt 2 lc @\n", colours);
            to++;
        }
        put_name(plot, fittings->items[from], to - from);
        from = to;
    }
}

/* ---- dots and line ------------------------------------------------------- */

/* By way of a function for the figure: hours and values are summed alike. */
static double middle_of(const struct kw_trend *trend,
                        double (*value)(const struct kw_trend_point *))
{
    double sum = 0.0;
    for (size_t i = 0; i < trend->n; i++)
        sum += value(&trend->points[i]);
    return sum / (double)trend->n;
}

static double hours_of(const struct kw_trend_point *point)
{
    return point->hours;
}

static double value_of(const struct kw_trend_point *point)
{
    return point->value;
}

/* A line by least squares goes through the mean of the points. */
static double line_at(const struct kw_trend *trend, double hours)
{
    return middle_of(trend, value_of) +
           trend->slope_per_h * (hours - middle_of(trend, hours_of));
}

/* Two digits more than the page shows: who draws it again should not see our
 * rounding. */
static void put_numbers(struct kw_plot *plot,
                        const struct kw_trend *trend,
                        double hours,
                        double value)
{
    kw_text_add_number(&plot->data, hours, 5);
    kw_text_add(&plot->data, " ");
    kw_text_add_number(&plot->data, value, trend->decimals + 2);
}

/* range  widened by all that is drawn. */
static void put_data(struct kw_plot *plot,
                     const struct kw_trend *trend,
                     double range[2])
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_script_block(plot, "each session: engine hours at its end, value, "
                          "entry, date");
    for (size_t i = 0; i < trend->n; i++) {
        const struct kw_trend_point *point = &trend->points[i];
        put_numbers(plot, trend, point->hours, point->value);
        kw_text_addf(&plot->data, " %lld %s\n", (long long)point->id,
                     kw_local_time_print(date, point->at_s, false));
        range[0] = fmin(range[0], point->value);
        range[1] = fmax(range[1], point->value);
    }
    kw_script_block(plot, "line by least squares, where it is no chance");
    const bool is_told =
        trend->verdict == KW_TREND_RISING || trend->verdict == KW_TREND_FALLING;
    if (!is_told)
        kw_script_no_point(plot, 2);
    for (size_t end = 0; is_told && end < 2; end++) {
        const double hours = trend->points[end * (trend->n - 1)].hours;
        const double value = line_at(trend, hours);
        put_numbers(plot, trend, hours, value);
        kw_text_add(&plot->data, "\n");
        range[0] = fmin(range[0], value);
        range[1] = fmax(range[1], value);
    }
}

/* Script and data of one plot: dots always, a line only where the test has
 * found one. A line through noise is believed. */
static void draw(struct kw_plot *plot,
                 const struct kw_trend *trend,
                 const struct fittings *fittings)
{
    const struct look *look = look_of(trend->measure);
    const enum kw_colour colours[] = {KW_COLOUR_INK, look->colour};
    const int top_px = fittings->n > 0 ? NAMES_PX : TOP_PX;
    const int height_px = PANEL_PX + top_px;
    const double last_h = trend->points[trend->n - 1].hours;
    double range[2] = {NAN, NAN};
    kw_script_begin(plot, look->heading, (unsigned)height_px,
                    trend->kart == NULL ? "" : trend->kart);
    put_data(plot, trend, range);
    /* Drop-outs that never were: nothing is below none. */
    if (range[0] >= 0.0 && range[1] <= 0.0)
        range[1] = 1.0;
    kw_script_range(plot, "x", 0.0, last_h * 1.02, 0.0);
    kw_script_range(plot, "y", range[0], range[1], RANGE_ROOM);
    kw_script_steps(plot, "y", range[0], range[1], pow(10.0, -trend->decimals));
    kw_text_add(&plot->script, "set lmargin at screen 0.16\n"
                               "set rmargin at screen 0.97\n"
                               "set tmargin at screen ");
    /* In shares of the whole height, which grows with the names. */
    kw_text_add_number(&plot->script, 1.0 - (double)top_px / height_px, 3);
    kw_text_add(&plot->script, "\n");
    kw_script_bottom(plot, (unsigned)height_px);
    put_fittings(plot, fittings, last_h);
    kw_text_addf(&plot->script,
                 "set xlabel 'hours that the engine has run'\n"
                 "set ylabel '%s'\n",
                 trend->what);
    kw_script_add(plot,
                  "plot data index 1 using 1:2 with lines lw 2 lc @ notitle, "
                  "data index 0 using 1:2 with points pt 7 ps 0.7 lc @ "
                  "notitle\n",
                  colours);
    kw_script_end(plot);
}

/* ---- words --------------------------------------------------------------- */

/* Under the plot for who sees it, and in place of it for who does not. */
static void explain(struct kw_plot *plot,
                    const struct kw_trend *trend,
                    const struct kw_trends *trends,
                    size_t n_fittings)
{
    struct kw_text remark = {0};
    kw_text_addf(&plot->explain, "%zu sessions, a dot for each: ", trend->n);
    kw_add_trend_verdict(&plot->explain, trend);
    kw_text_add(&plot->explain, ".");
    if (n_fittings > 0)
        kw_text_add(&plot->explain, " Dashed: what was fitted then. A step "
                                    "there is the part's doing, no trend.");
    kw_add_trend_remark(&remark, trend, trends);
    if (remark.length > 0)
        kw_text_addf(&plot->explain, " %s", remark.bytes);
    if (kw_text_failed(&remark))
        plot->explain.failed = true;
    kw_text_free(&remark);
    kw_text_addf(&plot->alt, "%s of %zu sessions against engine hours: first ",
                 trend->what, trend->n);
    kw_add_trend_value(&plot->alt, trend, trend->points[0].value);
    kw_text_add(&plot->alt, ", last ");
    kw_add_trend_value(&plot->alt, trend, trend->points[trend->n - 1].value);
    kw_text_add(&plot->alt, "; ");
    kw_add_trend_verdict(&plot->alt, trend);
    kw_text_add(&plot->alt, ".");
}

/* "rpm_top", and "rpm_top-2" for a second kart. */
static struct kw_plot *add_plot(struct kw_plots *plots,
                                const struct kw_trend *trend,
                                struct kw_error *error)
{
    const struct look *look = look_of(trend->measure);
    struct kw_text name = {0};
    size_t n = 1;
    for (size_t i = 0; i < plots->n; i++)
        n += plots->items[i].heading == look->heading;
    kw_text_add(&name, trend->measure);
    if (n > 1)
        kw_text_addf(&name, "-%zu", n);
    struct kw_plot *plot =
        kw_text_failed(&name)
            ? NULL
            : kw_plots_add(plots, name.bytes, look->heading, error);
    kw_text_free(&name);
    return plot;
}

/* What was fitted is looked up anew for each: karts have engines of their
 * own. */
static enum kw_status plot_trend(const struct kw_trends_source *source,
                                 const struct kw_trend *trend,
                                 struct kw_plots *plots,
                                 struct kw_error *error)
{
    struct fittings fittings = {0};
    if (find_fittings(source->parts, trend, &fittings, error) != KW_OK)
        return KW_NO_MEMORY;
    struct kw_plot *plot = add_plot(plots, trend, error);
    if (plot != NULL) {
        draw(plot, trend, &fittings);
        explain(plot, trend, source->trends, fittings.n);
    }
    free(fittings.items);
    return plot == NULL || kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}

/* Of each plot is kept which trend it shows: some trends have too few sessions
 * for one. */
enum kw_status kw_trends_plots(const struct kw_trends_source *source,
                               struct kw_plots *plots,
                               size_t *shown,
                               struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < source->trends->n && status == KW_OK; i++) {
        const struct kw_trend *trend = &source->trends->items[i];
        if (trend->n < FEWEST_SESSIONS)
            continue;
        shown[plots->n] = i;
        status = plot_trend(source, trend, plots, error);
    }
    return status;
}
