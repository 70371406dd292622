/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Close-ups: each clutch engagement and each drop-out for itself, the few that
 * matter most, in order of time.
 *
 * Data: two blocks for each panel, RPM first, then the axle (or EGT), each
 * with the log's own clock, so that a number can be found again in the log.
 * The script takes the start of the event away, so that every panel begins at
 * 0.
 *
 * The panels are few on purpose: a person looks at six, and the JSON has all.
 */
#include "report/review_plots.h"

#include "report/digest.h"
#include "report/script.h"
#include "report/thin.h"
#include "report/words.h"

#include <math.h>

/* Panels of one plot, and what a panel shows around the event. */
enum {
    MOST_PANELS = 6,
    CLUTCH_COLUMNS = 2,
    PANEL_PX = 208,
    ABOVE_PX = 28, /* of a panel: its title */
    BELOW_PX = 64, /* of a panel: its numbers and the name of the axis */
    SMALL_PRINT_PX = 20
};

/* A launch is over within seconds; a drop-out is judged by what RPM did before
 * it and where it came back to. Seconds beside the event. */
static const double BEFORE_CLUTCH_S = 1.0;
static const double AFTER_CLUTCH_S = 1.5;
static const double AROUND_DROPOUT_S = 1.5;

/* Slower than this, in m/s or axle RPM, gives no useful ratio: the kart
 * stands. */
static const double SLOWEST_AXLE = 2.0;

/* The chosen events, by time; all counts those that were not chosen too. */
struct choice {
    const struct kw_event *events[MOST_PANELS];
    size_t n;
    size_t all;
};

typedef bool matters_more(const struct kw_event *a, const struct kw_event *b);

/* A start that slips longer says more about the clutch: wear shows where it
 * works hardest. */
static bool is_longer(const struct kw_event *a, const struct kw_event *b)
{
    return a->end_s - a->start_s > b->end_s - b->start_s;
}

/* What asks for action first, then what is surest. */
static bool is_more_serious(const struct kw_event *a, const struct kw_event *b)
{
    if (a->severity != b->severity)
        return a->severity > b->severity;
    return a->confidence > b->confidence;
}

/* Keeps the MOST_PANELS that matter most, and puts them in order of time. */
static void choose(const struct kw_events *events,
                   enum kw_event_kind kind,
                   matters_more *more,
                   struct choice *out)
{
    *out = (struct choice){0};
    for (size_t i = 0; i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        if (event->kind != kind)
            continue;
        out->all++;
        if (out->n < MOST_PANELS) {
            out->events[out->n++] = event;
            continue;
        }
        size_t least = 0;
        for (size_t j = 1; j < out->n; j++) {
            if (more(out->events[least], out->events[j]))
                least = j;
        }
        if (more(event, out->events[least]))
            out->events[least] = event;
    }
    for (size_t i = 1; i < out->n; i++) {
        for (size_t j = i;
             j > 0 && out->events[j - 1]->start_s > out->events[j]->start_s;
             j--) {
            const struct kw_event *moved = out->events[j];
            out->events[j] = out->events[j - 1];
            out->events[j - 1] = moved;
        }
    }
}

/* A block with one channel around an event. The clock is the log's: the script
 * takes the start away.
 *
 * returns  number of points. */
static size_t put_channel(struct kw_plot *plot,
                          const struct kw_session *session,
                          const double *values,
                          double from_s,
                          double to_s)
{
    size_t n = 0;
    if (values != NULL) {
        const struct kw_curve curve = {session->time_s,
                                       values,
                                       kw_span_between(session, from_s, to_s),
                                       from_s,
                                       to_s,
                                       KW_PLOT_COLUMNS,
                                       3,
                                       1};
        n = kw_thin_add(&plot->data, &curve);
    }
    if (n == 0)
        kw_script_no_point(plot, 2);
    return n;
}

/* "at 0:08.1: 1.95 s" */
static void add_title(struct kw_plot *plot, const struct kw_event *event)
{
    struct kw_text *script = &plot->script;
    kw_text_add(script, "set title '");
    if (event->lap > 0)
        kw_text_addf(script, "lap %zu, ", event->lap);
    kw_text_add(script, "at ");
    kw_add_clock(script, event->start_s, 1);
    kw_text_add(script, ": ");
    if (event->kind == KW_DROPOUT) {
        kw_text_add(script, kw_say_cause(event->detail.dropout.cause));
        kw_text_add(script, ", ");
    }
    kw_text_add_number(script, event->end_s - event->start_s, 2);
    kw_text_add(script, " s' offset 0,-0.6 font small\n");
}

/* The stretch itself, as a box behind the curves: what the finding claims, to
 * be held against what the curve shows. */
static void add_box(struct kw_plot *plot,
                    const struct kw_event *event,
                    enum kw_colour colour)
{
    kw_text_add(&plot->script, "set object 1 rectangle from 0,graph 0 to ");
    kw_text_add_number(&plot->script, event->end_s - event->start_s, 3);
    kw_script_add(plot,
                  ",graph 1 behind fillcolor @ fillstyle transparent solid "
                  "0.3 noborder\n",
                  &colour);
}

/* ---- clutch -------------------------------------------------------------- */

/* What tells how fast the axle turns: its own RPM, or the speed. Either will
 * do: it is scaled to meet the engine once the clutch is locked. */
static const double *axle_of(const struct kw_session *session)
{
    return session->axle_rpm != NULL ? session->axle_rpm : session->speed_m_s;
}

/* Engine RPM for each unit of the axle once the clutch is locked, the mean over
 * the second after it. NAN where the axle is not known. */
static double locked_ratio(const struct kw_session *session,
                           const struct kw_event *event)
{
    const double *axle = axle_of(session);
    double sum = 0.0;
    size_t n = 0;
    const struct kw_span span =
        kw_span_between(session, event->end_s, event->end_s + 1.0);
    for (size_t i = span.from; axle != NULL && i < span.to; i++) {
        const double ratio = session->rpm[i] / axle[i];
        if (!isfinite(ratio) || axle[i] < SLOWEST_AXLE)
            continue;
        sum += ratio;
        n++;
    }
    return n > 0 ? sum / (double)n : NAN;
}

/* Longest of the chosen ones: all panels have one scale, to be compared. */
static double longest_s(const struct choice *choice)
{
    double longest = 0.0;
    for (size_t i = 0; i < choice->n; i++)
        longest = fmax(longest,
                       choice->events[i]->end_s - choice->events[i]->start_s);
    return longest;
}

/* Where the i-th of n panels lies: two in a row, one alone over the whole
 * width. */
static void add_cell(struct kw_plot *plot, size_t i, size_t n)
{
    static const char *const sides[] = {"lmargin", "rmargin", "tmargin",
                                        "bmargin"};
    const size_t rows = (n + CLUTCH_COLUMNS - 1) / CLUTCH_COLUMNS;
    /* Left of each panel is room for four digits and the title of the axis;
     * above it for its own title, below it for the seconds, in pixels. */
    const double px = 1.0 / (double)(rows * PANEL_PX + SMALL_PRINT_PX);
    const double top = 1.0 - (double)(i / CLUTCH_COLUMNS * PANEL_PX) * px;
    const double left = i % CLUTCH_COLUMNS == 0 ? 0.16 : 0.63;
    const double at[] = {left, n == 1 ? 0.97 : left + 0.34, top - ABOVE_PX * px,
                         top - (double)(PANEL_PX - BELOW_PX) * px};
    for (int side = 0; side < 4; side++) {
        kw_text_addf(&plot->script, "set %s at screen ", sides[side]);
        kw_text_add_number(&plot->script, at[side], 3);
        kw_text_add(&plot->script, "\n");
    }
}

/* Engine and axle in one panel: where the two lines meet, the clutch has
 * locked. */
static void add_clutch_panel(struct kw_plot *plot,
                             const struct kw_session *session,
                             const struct choice *choice,
                             size_t i)
{
    static const enum kw_colour colours[] = {KW_COLOUR_LEAN, KW_COLOUR_RPM};
    struct kw_text *script = &plot->script;
    const struct kw_event *event = choice->events[i];
    const double ratio = locked_ratio(session, event);
    add_cell(plot, i, choice->n);
    add_title(plot, event);
    add_box(plot, event, KW_COLOUR_EXPECTED);
    kw_text_addf(script, "set ylabel '%s'\n",
                 i % CLUTCH_COLUMNS == 0 ? "RPM" : "");
    kw_text_add(script, "start = ");
    kw_text_add_number(script, event->start_s, 3);
    kw_text_add(script, "\nplot ");
    if (isfinite(ratio)) {
        kw_text_addf(script, "data index %zu using ($1-start):($2*", 2 * i + 1);
        kw_text_add_number(script, ratio, 3);
        kw_script_add(plot, ") with lines dt 2 lw 1.5 lc @ title 'axle', ",
                      &colours[0]);
    }
    kw_text_addf(script, "data index %zu using ($1-start):2 ", 2 * i);
    kw_script_add(plot, "with lines lw 1.5 lc @ title 'engine'\n", &colours[1]);
    kw_text_add(script, "unset label 99\nunset key\n");
}

/* Says what slip looks like, and that RPM alone gives an estimate. */
static void describe_clutch(struct kw_plot *plot,
                            const struct choice *choice,
                            bool has_speed)
{
    kw_text_addf(&plot->explain,
                 "The shaded stretch is how long the clutch slips at a start "
                 "from a stand-still (%zu of %zu starts, the longest). ",
                 choice->n, choice->all);
    kw_text_add(&plot->explain,
                has_speed
                    ? "Engine and axle (dashed, times the gearing) meet when "
                      "it locks. "
                    : "Without a speed in the log this is an estimate from "
                      "the shape of RPM. ");
    kw_text_add(&plot->explain, "A clutch that wears or gets wet with chain "
                                "lubricant slips longer and at a higher RPM "
                                "from week to week.");
    kw_text_addf(&plot->alt, "RPM against time around %zu starts.", choice->n);
}

/* All panels share both axes, so that a slower start is seen as such. */
enum kw_status kw_plot_clutch(const struct kw_review *review,
                              struct kw_plots *plots,
                              struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    struct choice choice;
    choose(&review->events, KW_CLUTCH_ENGAGEMENT, is_longer, &choice);
    if (choice.n == 0 || session->rpm == NULL)
        return KW_OK;
    struct kw_plot *plot =
        kw_plots_add(plots, "clutch", "Clutch engagements close up", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    const double after_s = longest_s(&choice) + AFTER_CLUTCH_S;
    double highest = 0.0;
    for (size_t i = 0; i < choice.n; i++) {
        const double start_s = choice.events[i]->start_s;
        double low = NAN;
        double high = NAN;
        kw_script_block(plot, "time s, RPM");
        put_channel(plot, session, session->rpm, start_s - BEFORE_CLUTCH_S,
                    start_s + after_s);
        kw_script_block(plot, "time s, axle RPM or speed m/s");
        put_channel(plot, session, axle_of(session), start_s - BEFORE_CLUTCH_S,
                    start_s + after_s);
        kw_range_of(session->rpm,
                    kw_span_between(session, start_s - BEFORE_CLUTCH_S,
                                    start_s + after_s),
                    &low, &high);
        highest = fmax(highest, high);
    }
    const size_t rows = (choice.n + CLUTCH_COLUMNS - 1) / CLUTCH_COLUMNS;
    kw_script_begin(plot, "RPM around each start.",
                    (unsigned)(rows * PANEL_PX + SMALL_PRINT_PX),
                    review->log.path);
    kw_text_add(&plot->script, "set multiplot\n"
                               "set key bottom right samplen 1.5\n"
                               "set xlabel 'seconds from the start of slip' "
                               "offset 0,0.3\n");
    kw_script_range(plot, "x", -BEFORE_CLUTCH_S, after_s, 0.0);
    kw_script_range(plot, "y", 0.0, highest * 1.05, 0.0);
    kw_script_steps(plot, "y", 0.0, highest, 1.0);
    for (size_t i = 0; i < choice.n; i++)
        add_clutch_panel(plot, session, &choice, i);
    kw_text_add(&plot->script, "unset multiplot\n");
    kw_script_end(plot);
    describe_clutch(plot, &choice, axle_of(session) != NULL);
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}

/* ---- drop-outs ----------------------------------------------------------- */

/* The axes have the colours of their curves: no key is needed. */
static void begin_dropouts(struct kw_plot *plot,
                           const char *log_path,
                           size_t n,
                           bool has_egt)
{
    static const enum kw_colour colours[] = {KW_COLOUR_RPM, KW_COLOUR_EGT};
    kw_script_begin(plot, "RPM and EGT around each drop-out.",
                    (unsigned)(n * PANEL_PX + SMALL_PRINT_PX), log_path);
    kw_script_add(plot,
                  "set multiplot\nset lmargin at screen 0.16\n"
                  "set xlabel 'seconds from the start of the drop-out' "
                  "offset 0,0.3\nunset key\n"
                  "set ylabel 'RPM' textcolor @\n",
                  &colours[0]);
    if (has_egt)
        kw_script_add(plot,
                      "set rmargin at screen 0.84\nset border 11\n"
                      "set y2label 'EGT, C (dashed)' textcolor @\n"
                      "set y2tics out nomirror scale 0.5\n",
                      &colours[1]);
    else
        kw_text_add(&plot->script, "set rmargin at screen 0.97\n");
}

/* Range and round steps for one axis of a panel, from what the channel does
 * around the event. */
static void add_steps(struct kw_plot *plot,
                      const struct kw_session *session,
                      const double *values,
                      const struct kw_event *event,
                      const char *axis)
{
    double lowest;
    double highest;
    kw_range_of(values,
                kw_span_between(session, event->start_s - AROUND_DROPOUT_S,
                                event->end_s + AROUND_DROPOUT_S),
                &lowest, &highest);
    /* RPM that vanishes is seen against 0. A sag is a few percent of it, and
     * would be a flat line: there the axis begins where the readings do, as
     * that of EGT does. */
    const bool is_sag =
        event->detail.dropout.cause == KW_CAUSE_FUEL_RESTRICTION;
    if (axis[1] != '2' && !is_sag)
        lowest = fmin(0.0, highest);
    kw_script_range(plot, axis, lowest, highest, 0.05);
    kw_script_steps(plot, axis, lowest, highest, 1.0);
}

/* Where the i-th of n panels lies: one below the other. */
static void add_row(struct kw_plot *plot, size_t i, size_t n)
{
    const double px = 1.0 / (double)(n * PANEL_PX + SMALL_PRINT_PX);
    const double top = 1.0 - (double)(i * PANEL_PX) * px;
    kw_text_add(&plot->script, "set tmargin at screen ");
    kw_text_add_number(&plot->script, top - ABOVE_PX * px, 3);
    kw_text_add(&plot->script, "\nset bmargin at screen ");
    kw_text_add_number(&plot->script, top - (PANEL_PX - BELOW_PX) * px, 3);
    kw_text_add(&plot->script, "\n");
}

/* RPM as it was logged, reading by reading: whether it fell within one reading
 * or sagged over seconds is the whole point. */
static void add_dropout_panel(struct kw_plot *plot,
                              const struct kw_session *session,
                              const struct choice *choice,
                              size_t i)
{
    static const enum kw_colour colours[] = {KW_COLOUR_RPM, KW_COLOUR_EGT};
    struct kw_text *script = &plot->script;
    const struct kw_event *event = choice->events[i];
    add_row(plot, i, choice->n);
    add_title(plot, event);
    add_box(plot, event, KW_COLOUR_DROPOUT);
    kw_script_range(plot, "x", -AROUND_DROPOUT_S,
                    event->end_s - event->start_s + AROUND_DROPOUT_S, 0.0);
    add_steps(plot, session, session->rpm_raw, event, "y");
    if (session->egt_c != NULL)
        add_steps(plot, session, session->egt_c, event, "y2");
    kw_text_add(script, "start = ");
    kw_text_add_number(script, event->start_s, 3);
    kw_text_addf(script, "\nplot data index %zu using ($1-start):2 ", 2 * i);
    kw_script_add(plot, "with linespoints pt 7 ps 0.3 lw 1.2 lc @ notitle",
                  &colours[0]);
    if (session->egt_c != NULL) {
        kw_text_addf(script, ", data index %zu using ($1-start):2 axes x1y2 ",
                     2 * i + 1);
        kw_script_add(plot, "with lines lw 1.5 dt 2 lc @ notitle", &colours[1]);
    }
    kw_text_add(script, "\nunset label 99\n");
}

/* Says how to tell a wire from fuel by the shape alone. */
static void describe_dropouts(struct kw_plot *plot, const struct choice *choice)
{
    kw_text_addf(&plot->explain,
                 "RPM around %zu of %zu drop-outs, those that press most; the "
                 "drop-out is shaded. RPM that vanishes and is back within a "
                 "few readings is a wire or a sensor; RPM that sags or stops "
                 "rising while the exhaust gets hotter is fuel (its axis does "
                 "not begin at 0).",
                 choice->n, choice->all);
    kw_text_addf(&plot->alt,
                 "RPM and exhaust temperature against time around %zu "
                 "drop-outs.",
                 choice->n);
}

/* Each panel has its own time axis: one drop-out lasts 0.1 s, another 5 s. */
enum kw_status kw_plot_dropouts(const struct kw_review *review,
                                struct kw_plots *plots,
                                struct kw_error *error)
{
    const struct kw_session *session = &review->session;
    struct choice choice;
    choose(&review->events, KW_DROPOUT, is_more_serious, &choice);
    if (choice.n == 0)
        return KW_OK;
    struct kw_plot *plot =
        kw_plots_add(plots, "dropouts", "Drop-outs close up", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    const bool has_egt = session->egt_c != NULL;
    for (size_t i = 0; i < choice.n; i++) {
        const double from_s = choice.events[i]->start_s - AROUND_DROPOUT_S;
        const double to_s = choice.events[i]->end_s + AROUND_DROPOUT_S;
        kw_script_block(plot, "time s, RPM as logged");
        put_channel(plot, session, session->rpm_raw, from_s, to_s);
        kw_script_block(plot, "time s, EGT C");
        put_channel(plot, session, session->egt_c, from_s, to_s);
    }
    begin_dropouts(plot, review->log.path, choice.n, has_egt);
    for (size_t i = 0; i < choice.n; i++)
        add_dropout_panel(plot, session, &choice, i);
    kw_text_add(&plot->script, "unset multiplot\n");
    kw_script_end(plot);
    describe_dropouts(plot, &choice);
    return kw_plot_failed(plot) ? kw_fail_memory(error) : KW_OK;
}
