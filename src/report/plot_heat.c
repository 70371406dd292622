/* SPDX-License-Identifier: GPL-3.0-or-later */
/* EGT against RPM under load, with the band that was expected, the owner's
 * limit, and the lean episodes: where in the RPM range the mixture is off tells
 * which part to turn to.
 *
 * The band is that of the reference where there is one, since that is what the
 * findings were held against; a session that is lean throughout lies inside its
 * own.
 *
 * Data: the band (RPM, low, high), then dots: under load, lean, rich.
 * The band is not one curve: what is expected depends on the place on the lap
 * and on the heat already in the pipe too, so at one RPM it spans what was
 * expected there over the session, and the healthy scatter around it. */
#include "report/review_plots.h"

#include "core/array.h"
#include "report/script.h"
#include "report/thin.h"

#include <math.h>
#include <stdlib.h>

/* Dots that a page still draws at once, and steps of the band. Findings have a
 * share of their own, or a long session would thin them out of sight. */
enum { MOST_DOTS = 1500, MOST_FOUND_DOTS = 600, BAND_STEPS = 30 };

/* Room around the dots, as a share of their range. */
static const double RANGE_ROOM = 0.04;

/* A step of the band with fewer samples than this says nothing: its edges would
 * be those of single readings. */
enum { FEWEST_IN_STEP = 5 };

/* Off the throttle the exhaust cools whatever the mixture is: such samples
 * would only blur the picture. Without a known load all samples count. */
static bool is_under_load(const struct kw_review *review, size_t i)
{
    const struct kw_session *session = &review->session;
    return (review->load == NULL || kw_under_load(review->load[i])) &&
           isfinite(session->rpm[i]) && isfinite(session->gas_c[i]);
}

/* What a sample belongs to: lean, rich, or neither (KW_N_EVENT_KINDS). Events
 * are by start, so those behind the sample need no look. */
static enum kw_event_kind kind_at(const struct kw_review *review, size_t i)
{
    const double time_s = review->session.time_s[i];
    for (size_t j = 0; j < review->events.n; j++) {
        const struct kw_event *event = &review->events.items[j];
        if (event->start_s > time_s)
            break;
        if ((event->kind == KW_LEAN || event->kind == KW_RICH) &&
            time_s <= event->end_s)
            return event->kind;
    }
    return KW_N_EVENT_KINDS;
}

/* One line "rpm egt". */
static void put_dot(struct kw_plot *plot,
                    const struct kw_session *session,
                    size_t i)
{
    kw_text_add_number(&plot->data, session->rpm[i], 0);
    kw_text_add(&plot->data, " ");
    kw_text_add_number(&plot->data, session->gas_c[i], 1);
    kw_text_add(&plot->data, "\n");
}

/* Samples under load of one kind, each k-th so that at most `most` remain.
 *
 * returns  number of dots. */
static size_t put_dots(struct kw_plot *plot,
                       const struct kw_review *review,
                       enum kw_event_kind kind,
                       size_t most)
{
    size_t all = 0;
    for (int pass = 0; pass < 2; pass++) {
        const size_t each = all / most + 1;
        size_t seen = 0;
        for (size_t i = 0; i < review->session.n_samples; i++) {
            if (!is_under_load(review, i) || kind_at(review, i) != kind)
                continue;
            if (pass == 1 && seen % each == 0)
                put_dot(plot, &review->session, i);
            seen++;
        }
        all = seen;
    }
    return all;
}

/* ---- the band ------------------------------------------------------------ */

/* A sample of the expectation: where it is, and how far the band reaches. */
struct expectation {
    double rpm;
    double low_c;
    double high_c;
};

/* Order for qsort(); RPM is finite here. */
static int by_rpm(const void *a, const void *b)
{
    const double x = ((const struct expectation *)a)->rpm;
    const double y = ((const struct expectation *)b)->rpm;
    return (x > y) - (x < y);
}

/* Order for qsort(); the values are finite. */
static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* What the findings were held against, and how far it reaches to both sides.
 *
 * returns  the middle; NAN where nothing was expected. */
static double expected_at(const struct kw_review *review,
                          size_t i,
                          double *spread_c)
{
    if (review->reference_c != NULL) {
        *spread_c = review->reference_spread_c;
        return review->reference_c[i];
    }
    const bool known =
        review->expected_c != NULL && review->expected_spread_c != NULL;
    *spread_c = known ? review->expected_spread_c[i] : NAN;
    return known ? review->expected_c[i] : NAN;
}

/* All samples under load for which a temperature was expected. */
static struct expectation *gather(const struct kw_review *review,
                                  size_t *n,
                                  struct kw_error *error)
{
    *n = 0;
    struct expectation *all =
        kw_array_new(review->session.n_samples, sizeof *all, error);
    for (size_t i = 0; all != NULL && i < review->session.n_samples; i++) {
        double spread_c;
        const double middle_c = expected_at(review, i, &spread_c);
        if (is_under_load(review, i) && isfinite(middle_c + spread_c))
            all[(*n)++] =
                (struct expectation){review->session.rpm[i],
                                     middle_c - spread_c, middle_c + spread_c};
    }
    return all;
}

/* One step: 9 in 10 samples were expected above low_c, 9 in 10 below high_c.
 *
 * values  room for n numbers. */
static void put_step(struct kw_plot *plot,
                     const struct expectation *step,
                     size_t n,
                     double *values)
{
    double rpm = 0.0;
    if (n < FEWEST_IN_STEP) {
        kw_thin_break(&plot->data);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        values[i] = step[i].low_c;
        rpm += step[i].rpm / (double)n;
    }
    qsort(values, n, sizeof *values, compare_doubles);
    const double low_c = values[n / 10];
    for (size_t i = 0; i < n; i++)
        values[i] = step[i].high_c;
    qsort(values, n, sizeof *values, compare_doubles);
    kw_text_add_number(&plot->data, rpm, 0);
    kw_text_add(&plot->data, " ");
    kw_text_add_number(&plot->data, low_c, 1);
    kw_text_add(&plot->data, " ");
    kw_text_add_number(&plot->data, values[n - 1 - n / 10], 1);
    kw_text_add(&plot->data, "\n");
}

/* Steps of equal width in RPM. */
static enum kw_status put_band(struct kw_plot *plot,
                               const struct kw_review *review,
                               struct kw_error *error)
{
    size_t n = 0;
    struct expectation *all = gather(review, &n, error);
    double *values = kw_array_new(n, sizeof *values, error);
    if (all == NULL || values == NULL) {
        free(all);
        free(values);
        return KW_NO_MEMORY;
    }
    qsort(all, n, sizeof *all, by_rpm);
    const double width =
        n > 0 ? (all[n - 1].rpm - all[0].rpm) / BAND_STEPS : 0.0;
    size_t from = 0;
    for (int step = 0; step < BAND_STEPS && from < n; step++) {
        size_t to = from;
        while (to < n && (step + 1 == BAND_STEPS ||
                          all[to].rpm < all[0].rpm + width * (step + 1)))
            to++;
        put_step(plot, all + from, to - from, values);
        from = to;
    }
    free(all);
    free(values);
    return KW_OK;
}

/* ---- the plot ------------------------------------------------------------ */

/* 0 is what a review has that was never told of one. */
static bool has_limit(const struct kw_review *review)
{
    return review->egt_limit_c > 0.0;
}

/* Ranges of what is under load and of what was expected there, which may lie
 * far below a session that is lean throughout; and round steps along RPM: left
 * to itself gnuplot gives up where all dots lie on one spot. */
static void add_ranges(struct kw_plot *plot, const struct kw_review *review)
{
    const struct kw_session *session = &review->session;
    double low[2] = {NAN, NAN};
    double high[2] = {NAN, NAN};
    for (size_t i = 0; i < session->n_samples; i++) {
        if (!is_under_load(review, i))
            continue;
        low[0] = fmin(low[0], session->rpm[i]);
        high[0] = fmax(high[0], session->rpm[i]);
        double spread_c;
        const double middle_c = expected_at(review, i, &spread_c);
        low[1] = fmin(low[1], fmin(session->gas_c[i], middle_c));
        high[1] = fmax(high[1], fmax(session->gas_c[i], middle_c));
    }
    /* The limit is drawn at the edge rather than not at all. */
    if (has_limit(review)) {
        low[1] = fmin(low[1], review->egt_limit_c);
        high[1] = fmax(high[1], review->egt_limit_c);
    }
    kw_script_range(plot, "x", low[0], high[0], RANGE_ROOM);
    kw_script_range(plot, "y", low[1], high[1], RANGE_ROOM);
    kw_script_steps(plot, "x", low[0], high[0], 1.0);
}

/* A dashed line across the plot, named on it: the legend is full. */
static void add_limit(struct kw_plot *plot, double limit_c)
{
    static const enum kw_colour colour = KW_COLOUR_INK;
    kw_text_add(&plot->script, ", ");
    kw_text_add_number(&plot->script, limit_c, 1);
    kw_script_add(plot, " with lines dt 2 lw 1 lc @ notitle", &colour);
}

/* Before the plot is drawn. */
static void name_limit(struct kw_plot *plot, double limit_c)
{
    kw_text_add(&plot->script, "set label 1 'limit ");
    kw_text_add_number(&plot->script, limit_c, 0);
    kw_text_add(&plot->script, " C' at graph 0.01, first ");
    kw_text_add_number(&plot->script, limit_c, 1);
    kw_text_add(&plot->script, " left offset 0,0.5 font small front\n");
}

/* The band lies at the back, findings on top of it all. */
static void write_script(struct kw_plot *plot,
                         const struct kw_review *review,
                         bool has_lean,
                         bool has_rich)
{
    static const enum kw_colour colours[] = {
        KW_COLOUR_EXPECTED, KW_COLOUR_QUIET, KW_COLOUR_EGT, KW_COLOUR_RPM};
    struct kw_text *script = &plot->script;
    kw_script_begin(plot, "EGT against RPM under load, and what was expected.",
                    420, review->log.path);
    add_ranges(plot, review);
    kw_text_add(script, "set xlabel 'RPM'\nset ylabel 'EGT, C (probe lag taken "
                        "out)'\n"
                        "set lmargin at screen 0.16\n"
                        "set rmargin at screen 0.96\n"
                        "set tmargin at screen 0.91\n"
                        "set bmargin at screen 0.15\n"
                        "set key at screen 0.98,0.99 right top horizontal "
                        "maxrows 1\n");
    if (has_limit(review))
        name_limit(plot, review->egt_limit_c);
    kw_script_add(plot,
                  "plot data index 0 using 1:2:3 with filledcurves fs solid "
                  "0.35 noborder lc @ title ",
                  colours);
    kw_text_add(script,
                review->reference_c != NULL ? "'reference', " : "'expected', ");
    kw_script_add(plot,
                  "data index 1 using 1:2 with points pt 7 ps 0.25 lc @ title "
                  "'under load'",
                  &colours[1]);
    if (has_lean)
        kw_script_add(plot,
                      ", data index 2 using 1:2 with points pt 9 ps 0.6 lc @ "
                      "title 'lean'",
                      &colours[2]);
    if (has_rich)
        kw_script_add(plot,
                      ", data index 3 using 1:2 with points pt 11 ps 0.6 lc @ "
                      "title 'rich'",
                      &colours[3]);
    if (has_limit(review))
        add_limit(plot, review->egt_limit_c);
    kw_text_add(script, "\n");
    kw_script_end(plot);
}

/* What a person should look for, in words that need no training. A session
 * alone shows what stands out of it, and no right mixture. */
static void describe(struct kw_plot *plot,
                     const struct kw_review *review,
                     bool has_lean)
{
    const bool has_reference = review->reference_c != NULL;
    kw_text_add(&plot->explain,
                "Exhaust temperature against RPM while the engine pulls. ");
    kw_text_add(&plot->explain,
                has_reference
                    ? "The band is what the reference session gives at this "
                      "RPM and load. Dots above it are hotter than then; dots "
                      "well below it are colder, or the engine was still "
                      "warming up. "
                    : "The band is what this session as a whole leads one to "
                      "expect: it shows what stands out, and not whether the "
                      "mixture is right. Dots above it are hotter than usual; "
                      "dots well below it are colder, or the engine was still "
                      "warming up. ");
    if (has_limit(review))
        kw_text_add(&plot->explain, "The dashed line is your limit. ");
    if (has_lean)
        kw_text_add(&plot->explain,
                    "Where the lean dots stand along the RPM shows which part "
                    "meters the fuel there: pilot jet at the low end, needle "
                    "in the middle, main jet at the top. What to look at first "
                    "stands at the top of the page.");
    kw_text_add(&plot->alt,
                "Exhaust temperature against RPM under load, with ");
    kw_text_add(&plot->alt, has_reference
                                ? "the band that the reference gives. "
                                : "the band that was expected. ");
    kw_text_add(&plot->alt, has_lean ? "Lean episodes are marked."
                                     : "No lean episode was found.");
}

/* The gas temperature with the probe's lag taken out, as the detectors see it:
 * the raw reading comes seconds late and at another RPM. */
enum kw_status kw_plot_heat(const struct kw_review *review,
                            struct kw_plots *plots,
                            struct kw_error *error)
{
    if (review->session.gas_c == NULL || review->session.rpm == NULL)
        return KW_OK;
    struct kw_plot *plot =
        kw_plots_add(plots, "heat", "Exhaust temperature against RPM", error);
    if (plot == NULL)
        return KW_NO_MEMORY;
    kw_script_block(plot, "the band: rpm, low C, high C");
    kw_script_no_point(plot, 3);
    enum kw_status status = put_band(plot, review, error);
    kw_script_block(plot, "under load: rpm, EGT C");
    kw_script_no_point(plot, 2);
    put_dots(plot, review, KW_N_EVENT_KINDS, MOST_DOTS);
    kw_script_block(plot, "lean: rpm, EGT C");
    kw_script_no_point(plot, 2);
    const bool has_lean = put_dots(plot, review, KW_LEAN, MOST_FOUND_DOTS) > 0;
    kw_script_block(plot, "rich: rpm, EGT C");
    kw_script_no_point(plot, 2);
    const bool has_rich = put_dots(plot, review, KW_RICH, MOST_FOUND_DOTS) > 0;
    write_script(plot, review, has_lean, has_rich);
    describe(plot, review, has_lean);
    if (status == KW_OK && kw_plot_failed(plot))
        status = kw_fail_memory(error);
    return status;
}
