/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison as one HTML page: what to do, the plots, every measure with its
 * interval, and which laps it rests on.
 *
 * The answer stands above the plots and the plots above the table: who reads on
 * does so to see why. */
#include "report/compare_page.h"

#include "report/compare_words.h"
#include "report/log_notices.h"
#include "report/page.h"
#include "report/words.h"

#include <math.h>

/* NAN shows as a dash. */
static void cell(struct kw_text *page,
                 const struct kw_measure *measure,
                 double value)
{
    struct kw_text text = {0};
    kw_add_measured(&text, measure, value);
    kw_page_text(page, "td class=\"n\"", &text);
}

static void cell_p(struct kw_text *page, double p)
{
    struct kw_text text = {0};
    kw_add_p(&text, p);
    kw_page_text(page, "td class=\"n\"", &text);
}

/* "-21.0 to -13.4" */
static void cell_range(struct kw_text *page, const struct kw_measure *measure)
{
    struct kw_text text = {0};
    kw_add_measured(&text, measure, measure->low);
    if (!isnan(measure->low)) {
        kw_text_add(&text, " to ");
        kw_add_measured(&text, measure, measure->high);
    }
    kw_page_text(page, "td class=\"n\"", &text);
}

/* A row: what it was, what it is, by how much it changed, and how sure that
 * is. */
static void put_measure(struct kw_text *page, const struct kw_measure *measure)
{
    struct kw_text title = {0};
    kw_add_measure_title(&title, measure);
    kw_text_add(page, "<tr>");
    kw_page_text(page, "td", &title);
    cell(page, measure, measure->mean[KW_BEFORE]);
    cell(page, measure, measure->mean[KW_AFTER]);
    cell(page, measure, measure->difference);
    cell_range(page, measure);
    cell_p(page, measure->p_adjusted);
    cell(page, measure, measure->smallest);
    kw_page_element(page, "td", kw_say_change(measure->verdict));
    kw_text_add(page, "</tr>\n");
}

/* Who wants to check the verdict finds every number here, and the method; who
 * does not has read the summary above. */
static void put_measures(struct kw_text *page,
                         const struct kw_measures *measures)
{
    /* "would show" is for who reads "no clear change" and asks: would I have
     * seen it? */
    static const char *const heads[] = {"before",     "after", "change",
                                        "95 % range", "p",     "would show"};
    if (measures->n == 0)
        return;
    kw_page_element(page, "h2", "Every measure");
    kw_page_element(
        page, "p class=\"quiet\"",
        "One value for each lap. p is corrected for the number of "
        "measures (Hochberg 1988); \"would show\" is a change that so "
        "many laps reveal four times in five.");
    kw_page_begin_wide(page);
    kw_text_add(page, "<table>\n<thead><tr><th>measure</th>");
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
        kw_page_element(page, "th class=\"n\"", heads[i]);
    kw_text_add(page, "<th>verdict</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < measures->n; i++)
        put_measure(page, &measures->items[i]);
    kw_text_add(page, "</tbody></table></div>\n");
    kw_page_element(
        page, "p class=\"quiet\"",
        "Method: Welch's test (1947) on laps; laps that resemble "
        "the one before count as fewer. Samples inside a lap are not evidence "
        "of their own.");
    kw_page_element(page, "p class=\"quiet\"", kw_measures_note);
}

/* Which logs, which laps, and the air: what one has to know to repeat it. */
static void put_side(struct kw_text *page,
                     const struct kw_comparison_source *source,
                     int which)
{
    const struct kw_compare_sessions *sessions = source->sessions[which];
    const struct kw_compare_side *side = &source->comparison->sides[which];
    struct kw_text line = {0};
    kw_text_add(&line, which == KW_BEFORE ? "Before: " : "After: ");
    for (size_t log = 0; log < sessions->n; log++) {
        kw_text_add(&line, log == 0 ? "" : ", ");
        kw_text_add(&line, kw_file_name_of(sessions->reviews[log].log.path));
    }
    kw_text_add(&line, ". ");
    kw_add_laps_used(&line, side);
    if (!isnan(side->air_density_kg_m3)) {
        kw_text_add(&line, ". Air ");
        kw_text_add_number(&line, side->air_density_kg_m3, 3);
        kw_text_add(&line, " kg/m3");
    }
    kw_text_add(&line, ".");
    kw_page_text(page, "p", &line);
}

/* Where a picture is missing, the page says so in its place. */
static void put_plots(struct kw_text *page, const struct kw_pictures *pictures)
{
    if (pictures->plots.n == 0)
        return;
    kw_page_element(page, "h2", "Plots");
    for (size_t i = 0; i < pictures->plots.n; i++) {
        const struct kw_plot *plot = &pictures->plots.items[i];
        kw_page_figure(page, plot, plot->drawn ? &pictures->svgs[i] : NULL);
    }
}

/* Top to bottom as it is read: answer, doubts, action, reasons, data. What
 * makes the sides unlike stands before the advice, since it may undo it. */
enum kw_status kw_comparison_page_write(
    const struct kw_comparison_source *source,
    const struct kw_pictures *pictures,
    const char *title,
    struct kw_text *page,
    struct kw_error *error)
{
    const struct kw_comparison *comparison = source->comparison;
    struct kw_notices notices = {0};
    kw_page_begin(page, title);
    kw_page_element(page, "h1", title);
    struct kw_text line = {0};
    kw_add_compared_logs(&line, source);
    kw_text_add(&line, ": before and after a change, compared by kartwright");
    kw_page_text(page, "p class=\"quiet\"", &line);
    kw_page_element(page, "p class=\"verdict\"", comparison->summary);
    kw_page_notices(page, "Not alike", &comparison->not_alike);
    kw_page_element(page, "h2", "What to do");
    kw_page_element(page, "p class=\"care\"", comparison->suggestion);
    put_plots(page, pictures);
    put_measures(page, &comparison->measures);
    kw_page_element(page, "h2", "Laps");
    for (int side = 0; side < KW_N_SIDES; side++)
        put_side(page, source, side);
    const enum kw_status status =
        kw_gather_compared_notices(source, &notices, error);
    kw_page_notices(page, "Notices", &notices);
    kw_notices_free(&notices);
    kw_page_end(page);
    if (status != KW_OK)
        return status;
    return kw_text_failed(page) ? kw_fail_memory(error) : KW_OK;
}
