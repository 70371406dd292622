/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole session: RPM over EGT, over time, with laps and findings marked.
 *
 * Data: one block for each kind of mark, one for the laps, then RPM and EGT,
 * thinned to the lowest and the highest value of each pixel column.
 *
 * Marks are drawn behind the curve and in every panel: a drop-out is looked up
 * in the EGT below it, and a lean stretch in the RPM above. */
#include "report/review_plots.h"

#include "report/digest.h"
#include "report/script.h"
#include "report/thin.h"
#include "report/words.h"

#include <math.h>

/* Lap numbers that fit above the plot, lines between laps that do not grow into
 * a wall, and the narrowest mark that is seen. */
enum { MOST_LAP_NUMBERS = 26, MOST_LAP_LINES = 100, NARROWEST_MARK_PX = 3 };

/* How high the marks along the foot reach, as a share of the panel. */
static const double FOOT_SHARE = 0.04;

/* Longer than this share of the session is long: so wide a stripe of full
 * colour hides the curve that it is about, and a pale one does not. */
static const double LONG_SHARE = 0.15;

/* Room above and below the curve, as a share of its range: a peak that touches
 * the edge looks cut off. */
static const double Y_ROOM = 0.05;

/* Which marks have a colour of their own; MARK_CLUTCH is a start, which every
 * session has, and no fault. */
enum mark { MARK_LEAN, MARK_DROPOUT, MARK_CLUTCH, MARK_OTHER, N_MARKS };

/* One panel of the plot. */
struct panel {
    const char *label;
    const double *values;
    enum kw_colour colour;
    int decimals;
    double lowest;
    double highest;
};

/* Kinds without a colour of their own share one: more than four colours would
 * have to be learnt. */
static enum mark mark_of(const struct kw_event *event)
{
    switch (event->kind) {
    case KW_LEAN:
        return MARK_LEAN;
    case KW_DROPOUT:
        return MARK_DROPOUT;
    case KW_CLUTCH_ENGAGEMENT:
        return MARK_CLUTCH;
    default:
        return MARK_OTHER;
    }
}

/* Blocks 0 to N_MARKS - 1: each mark, wide enough to be seen. What goes on for
 * long (tall = 0) is drawn pale, with a bar along the foot: it would hide the
 * rest.
 *
 * n        how many marks of each kind there are.
 * returns  whether one of them is long. */
static bool put_marks(struct kw_plot *plot,
                      const struct kw_review *review,
                      double width_s,
                      size_t n[N_MARKS])
{
    bool any_long = false;
    static const char *const names[N_MARKS] = {
        "lean: from_s to_s tall", "drop-outs: from_s to_s tall",
        "clutch engagements: from_s to_s tall",
        "other findings: from_s to_s tall"};
    const double narrowest_s = width_s * NARROWEST_MARK_PX / KW_PLOT_COLUMNS;
    for (int mark = 0; mark < N_MARKS; mark++) {
        kw_script_block(plot, names[mark]);
        for (size_t i = 0; i < review->events.n; i++) {
            const struct kw_event *event = &review->events.items[i];
            if ((int)mark_of(event) != mark)
                continue;
            const double missing_s =
                fmax(0.0, narrowest_s - (event->end_s - event->start_s));
            kw_text_add_number(&plot->data, event->start_s - missing_s / 2, 3);
            kw_text_add(&plot->data, " ");
            kw_text_add_number(&plot->data, event->end_s + missing_s / 2, 3);
            const bool is_long =
                event->end_s - event->start_s > LONG_SHARE * width_s;
            kw_text_add(&plot->data, is_long ? " 0\n" : " 1\n");
            any_long = any_long || is_long;
            n[mark]++;
        }
        if (n[mark] == 0)
            kw_script_no_point(plot, 3);
    }
    return any_long;
}

/* Block N_MARKS: where laps begin and end, each with the number of the lap that
 * begins there; 0 where the number would not fit. By place and not by count:
 * a pause in the middle crowds the laps to both sides of it. */
static void put_laps(struct kw_plot *plot,
                     const struct kw_laps *laps,
                     double width_s)
{
    double line_s = -INFINITY;
    double number_s = -INFINITY;
    kw_script_block(plot, "laps: start_s middle_s number (0: not written)");
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        const double middle_s = (lap->start_s + lap->end_s) / 2.0;
        if (lap->start_s - line_s < width_s / MOST_LAP_LINES)
            continue;
        line_s = lap->start_s;
        const bool fits = middle_s - number_s >= width_s / MOST_LAP_NUMBERS;
        number_s = fits ? middle_s : number_s;
        kw_text_add_number(&plot->data, lap->start_s, 3);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, middle_s, 3);
        kw_text_addf(&plot->data, " %zu\n", fits ? lap->number : (size_t)0);
    }
    if (laps->n > 0) {
        const double end_s = laps->items[laps->n - 1].end_s;
        kw_text_add_number(&plot->data, end_s, 3);
        kw_text_add(&plot->data, " ");
        kw_text_add_number(&plot->data, end_s, 3);
        kw_text_add(&plot->data, " 0\n");
    } else {
        kw_script_no_point(plot, 3);
    }
}

/* The marks go behind the line. Only kinds that occur are named. */
static void add_panel(struct kw_plot *plot,
                      const struct panel *panel,
                      unsigned block,
                      const size_t *n_to_name)
{
    static const struct {
        const char *title;
        enum kw_colour colour;
    } marks[N_MARKS] = {{"lean", KW_COLOUR_LEAN},
                        {"drop-out", KW_COLOUR_DROPOUT},
                        {"start", KW_COLOUR_EXPECTED},
                        {"other finding", KW_COLOUR_OTHER}};
    struct kw_text *script = &plot->script;
    kw_text_addf(script, "set ylabel '%s'\n", panel->label);
    kw_script_range(plot, "y", panel->lowest, panel->highest, Y_ROOM);
    kw_script_steps(plot, "y", panel->lowest, panel->highest, 0.1);
    kw_text_add(script, "plot ");
    const double foot =
        panel->lowest + FOOT_SHARE * (panel->highest - panel->lowest);
    for (int i = 0; i < N_MARKS; i++) {
        const bool named = n_to_name != NULL && n_to_name[i] > 0;
        /* Twice, so that what is long is pale above its foot. */
        kw_text_addf(script,
                     "data index %d using (($1+$2)/2):(0):1:2:(-1e5):"
                     "($3 > 0 ? NaN : 1e5) with boxxyerror fs transparent "
                     "solid 0.15 noborder ",
                     i);
        kw_script_add(plot, "lc @ notitle, ", &marks[i].colour);
        kw_text_addf(script,
                     "data index %d using (($1+$2)/2):(0):1:2:(-1e5):"
                     "($3 > 0 ? 1e5 : ",
                     i);
        kw_text_add_number(script, foot, 2);
        kw_text_add(script,
                    ") with boxxyerror fs transparent solid 0.45 noborder ");
        kw_script_add(plot, "lc @", &marks[i].colour);
        kw_text_addf(script, " %s%s%s, ", named ? "title '" : "notitle",
                     named ? marks[i].title : "", named ? "'" : "");
    }
    kw_text_addf(script,
                 "data index %d using 1:(-1e5):(0):(2e5) with vectors nohead "
                 "lw 0.5 lc rgb '#bbbbbb' notitle, data index %u using 1:2 "
                 "with lines lw 1 ",
                 N_MARKS, block);
    kw_script_add(plot, "lc @ notitle", &panel->colour);
}

/* Two panels over one time axis, so that a sag of RPM stands right above the
 * heat that it makes; without EGT the upper one is all. */
static void write_script(struct kw_plot *plot,
                         const struct kw_review *review,
                         const struct panel *panels,
                         const size_t *n_marks)
{
    struct kw_text *script = &plot->script;
    const struct kw_session *session = &review->session;
    const size_t n_panels = session->egt_c != NULL ? 2 : 1;
    const unsigned height_px = n_panels == 2 ? 480 : 320;
    kw_script_begin(plot, "RPM and EGT over time, laps and findings marked.",
                    height_px, review->log.path);
    kw_text_add(script, "set multiplot\nset lmargin at screen 0.16\n"
                        "set rmargin at screen 0.96\n");
    kw_script_time_axis(plot, session->time_s[0],
                        session->time_s[session->n_samples - 1]);
    kw_text_add(script,
                "set key at screen 0.98,0.995 right top horizontal maxrows 1\n"
                "set label 1 'lap' at screen 0.135,0.895 right font small\n");
    kw_text_add(script, "set tmargin at screen 0.87\n");
    if (n_panels == 2)
        kw_text_add(script, "set bmargin at screen 0.53\n"
                            "set format x ''\nunset xlabel\n");
    else
        kw_script_bottom(plot, height_px);
    add_panel(plot, &panels[0], N_MARKS + 1, n_marks);
    kw_text_addf(script, ", data index %d using 2:(", N_MARKS);
    /* A little below the edge: rounded, it must not lie beyond. */
    const double range = panels[0].highest - panels[0].lowest;
    kw_text_add_number(script, panels[0].highest + 0.98 * Y_ROOM * range, 4);
    kw_text_add(script, "):($3 > 0 ? gprintf('%.0f', $3) : '') with labels "
                        "center offset 0,0.6 font small notitle\n");
    if (n_panels == 2) {
        kw_text_add(script, "unset key\nunset label 1\nunset label 99\n"
                            "set tmargin at screen 0.48\n");
        kw_script_bottom(plot, height_px);
        kw_script_time_axis(plot, session->time_s[0],
                            session->time_s[session->n_samples - 1]);
        add_panel(plot, &panels[1], N_MARKS + 2, NULL);
        kw_text_add(script, "\n");
    }
    kw_text_add(script, "unset multiplot\n");
    kw_script_end(plot);
}

/* Words for the page and for who hears it read out. */
static void describe(struct kw_plot *plot,
                     const struct kw_review *review,
                     bool has_egt,
                     bool any_long)
{
    kw_text_addf(&plot->explain,
                 "%s over the whole session; thin upright lines part the "
                 "laps. Look at the coloured stripes: that is where something "
                 "was found, or where the kart started from a stand-still.",
                 has_egt ? "RPM above, exhaust temperature below," : "RPM");
    if (any_long)
        kw_text_add(&plot->explain,
                    " A pale stripe with a bar along its foot is a finding "
                    "that went on for long.");
    kw_text_add(&plot->alt, "RPM ");
    kw_text_add(&plot->alt, has_egt ? "and exhaust temperature " : "");
    kw_text_add(&plot->alt, "against time. ");
    /* A start is marked and is no finding: a healthy session has none. */
    kw_text_addf(&plot->alt, "%zu laps and %zu findings are marked.",
                 review->laps.n,
                 review->events.n -
                     kw_events_count(&review->events, KW_CLUTCH_ENGAGEMENT));
}

/* RPM as logged, so that drop-outs and glitches are seen as they were; EGT as
 * cleaned, for one spike of an open probe would flatten all else. */
enum kw_status kw_plot_session(const struct kw_review *review,
                               struct kw_plots *plots,
                               struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    const struct kw_span all = {0, session->n_samples};
    if (session->n_samples < 2)
        return KW_OK;
    struct kw_plot *plot = kw_plots_add(plots, "session", "The session", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    struct panel panels[2] = {
        {"RPM", session->rpm_raw, KW_COLOUR_RPM, 0, NAN, NAN},
        {"EGT, C", session->egt_c, KW_COLOUR_EGT, 1, NAN, NAN}};
    const double end_s = session->time_s[session->n_samples - 1];
    const size_t n_panels = session->egt_c != NULL ? 2 : 1;
    size_t n_marks[N_MARKS] = {0};
    const double width_s = end_s - session->time_s[0];
    const bool any_long = put_marks(plot, review, width_s, n_marks);
    put_laps(plot, &review->laps, width_s);
    for (size_t i = 0; i < n_panels; i++) {
        const struct kw_curve curve = {
            session->time_s, panels[i].values, all, session->time_s[0],
            end_s,           KW_PLOT_COLUMNS,  3,   panels[i].decimals};
        kw_script_block(plot, panels[i].label);
        if (kw_thin_add(&plot->data, &curve) == 0)
            kw_script_no_point(plot, 2);
        kw_range_of(panels[i].values, all, &panels[i].lowest,
                    &panels[i].highest);
        kw_script_widen(&panels[i].lowest, &panels[i].highest);
    }
    write_script(plot, review, panels, n_marks);
    describe(plot, review, n_panels == 2, any_long);
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}
