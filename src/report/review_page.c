/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review as one HTML page: verdict, what to do, what was found, plots, laps,
 * the log. Here nothing is folded but what would run to hundreds of lines.
 *
 * All text that is not a constant of this file goes through kw_page_element(),
 * which escapes it: there is no other way for a log to put words on the page.
 *
 * Tables are wide on a phone: each stands in a box of its own that scrolls, so
 * that the text around it keeps its width. */
#include "report/review_page.h"

#include "core/escape.h"
#include "report/digest.h"
#include "report/log_notices.h"
#include "report/page.h"
#include "report/words.h"

#include <math.h>
#include <string.h>

/* Rows that a person still reads; the JSON has them all. */
enum { MOST_EVENTS = 100, MOST_LAPS = 400 };

/* NAN shows as a dash. */
static void cell_number(struct kw_text *page, double value, int decimals)
{
    struct kw_text text = {0};
    if (decimals == 0)
        kw_text_add_whole(&text, value);
    else
        kw_text_add_number(&text, value, decimals);
    kw_page_text(page, "td class=\"n\"", &text);
}

/* A time in the log, min:s. */
static void cell_clock(struct kw_text *page, double seconds, int decimals)
{
    struct kw_text text = {0};
    kw_add_clock(&text, seconds, decimals);
    kw_page_text(page, "td class=\"n\"", &text);
}

/* 0 is no lap: a dash. */
static void cell_lap(struct kw_text *page, size_t lap)
{
    struct kw_text text = {0};
    if (lap > 0)
        kw_text_addf(&text, "%zu", lap);
    else
        kw_text_add(&text, "-");
    kw_page_text(page, "td class=\"n\"", &text);
}

/* A table's head from constant words; "#" before a word sets it right. */
static void begin_table(struct kw_text *page,
                        const char *caption,
                        const char *const *heads,
                        size_t n)
{
    /* Before the box that scrolls, or the words would be as wide as the
     * table. */
    if (caption != NULL)
        kw_page_element(page, "p class=\"quiet\"", caption);
    kw_page_begin_wide(page);
    kw_text_add(page, "<table>\n<thead><tr>");
    for (size_t i = 0; i < n; i++) {
        const bool right = heads[i][0] == '#';
        kw_page_element(page, right ? "th class=\"n\"" : "th",
                        heads[i] + (right ? 1 : 0));
    }
    kw_text_add(page, "</tr></thead>\n<tbody>\n");
}

/* Closes what begin_table() opened. */
static void end_table(struct kw_text *page)
{
    kw_text_add(page, "</tbody></table></div>\n");
}

/* ---- what to do ---------------------------------------------------------- */

/* A numbered list: each step can be ticked off on paper, beside the kart. */
static void put_steps(struct kw_text *page, const char *check)
{
    const char *at = check == NULL ? "" : check;
    unsigned number = 1;
    size_t length = 0;
    kw_text_add(page, "<ol>\n");
    for (const char *step; (step = kw_next_step(&at, &number, &length));) {
        struct kw_text line = {0};
        kw_text_add_bytes(&line, step, length);
        kw_page_text(page, "li", &line);
    }
    kw_text_add(page, "</ol>\n");
}

/* Here every suggestion is told in full, caution included. */
static void put_suggestion(struct kw_text *page,
                           const struct kw_suggestion *one)
{
    struct kw_text title = {0};
    struct kw_text when = {0};
    kw_text_addf(&title, "%zu. ", one->rank);
    kw_add_capital(&title, one->part == NULL ? "" : one->part);
    kw_add_capital(&when, kw_say_urgency(one->urgency));
    kw_text_add(page, "<div class=\"item\">\n");
    kw_page_text(page, "h3", &title);
    kw_page_text(page, "p class=\"when\"", &when);
    kw_page_element(page, "p", one->why);
    put_steps(page, one->check);
    kw_page_element(page, "p class=\"care\"", one->caution);
    kw_text_add(page, "</div>\n");
}

/* The verdict in a frame, then what to do: nothing may stand between the
 * two. */
static void put_advice(struct kw_text *page, const struct kw_review *review)
{
    const bool own_words =
        review->verdict_text != NULL && review->verdict_text[0] != '\0';
    kw_page_element(page, "p class=\"verdict\"",
                    own_words ? review->verdict_text
                              : kw_say_verdict(review->verdict));
    if (review->suggestions.n == 0)
        return;
    kw_page_element(page, "h2", "What to do");
    for (size_t i = 0; i < review->suggestions.n; i++)
        put_suggestion(page, &review->suggestions.items[i]);
}

/* ---- what was found ------------------------------------------------------ */

/* The same sentence as in the terminal, without the confidence: that is in the
 * table. */
static void put_group(struct kw_text *page,
                      const struct kw_review *review,
                      const struct kw_event_group *group)
{
    const struct kw_event *worst = &review->events.items[group->worst];
    struct kw_text line = {0};
    struct kw_text title = {0};
    kw_add_event_title(&title, worst);
    kw_add_capital(&line, kw_text_failed(&title) ? "" : title.bytes);
    kw_text_free(&title);
    kw_add_group(&line, review, group);
    kw_text_add(&line, ".");
    kw_page_text(page, "li", &line);
}

/* Two rows: the figures, and across all columns what they rest on. A sixth
 * column would be too narrow on a phone. */
static void put_event(struct kw_text *page, const struct kw_event *event)
{
    struct kw_text title = {0};
    struct kw_text sure = {0};
    kw_add_event_title(&title, event);
    kw_text_add_number(&sure, event->confidence * 100.0, 0);
    if (isfinite(event->confidence))
        kw_text_add(&sure, " %");
    kw_text_add(page, "<tr class=\"open\">");
    cell_clock(page, event->start_s, 1);
    cell_number(page, event->end_s - event->start_s, 2);
    cell_lap(page, event->lap);
    kw_page_text(page, "td", &title);
    kw_page_text(page, "td class=\"n\"", &sure);
    kw_text_add(page, "</tr>\n<tr>");
    kw_page_element(page, "td colspan=\"5\" class=\"because\"",
                    event->evidence);
    kw_text_add(page, "</tr>\n");
}

/* Every finding for itself, up to a number that a person still reads. */
static void put_event_table(struct kw_text *page,
                            const struct kw_events *events)
{
    static const char *const heads[] = {"#at", "#lasts, s", "#lap", "what",
                                        "#sure"};
    size_t all = 0;
    begin_table(page,
                "Every finding, by time in the log (min:s), and what it "
                "rests on.",
                heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < events->n; i++) {
        if (events->items[i].kind == KW_CLUTCH_ENGAGEMENT)
            continue;
        if (all++ < MOST_EVENTS)
            put_event(page, &events->items[i]);
    }
    end_table(page);
    kw_page_and_more(page, all, MOST_EVENTS);
}

/* Like findings together first; a healthy session is told so, and one of which
 * nothing is known must not sound like it. */
static void put_findings(struct kw_text *page, const struct kw_review *review)
{
    const struct kw_events *events = &review->events;
    struct kw_event_group groups[KW_MOST_GROUPS];
    const size_t n = kw_group_events(events, groups);
    kw_page_element(page, "h2", "What was found");
    if (n == 0) {
        kw_page_element(page, "p",
                        review->verdict == KW_VERDICT_NOT_KNOWN
                            ? "No fault was found, but too little was there to "
                              "show one."
                            : "No lean running, no drop-out and no other fault "
                              "was found in this log.");
        return;
    }
    kw_text_add(page, "<ul>\n");
    for (size_t i = 0; i < n; i++)
        put_group(page, review, &groups[i]);
    kw_text_add(page, "</ul>\n");
    put_event_table(page, events);
}

/* Every start: what matters is how it changes from session to session. */
static void put_clutch(struct kw_text *page, const struct kw_events *events)
{
    static const char *const heads[] = {
        "#at",           "#slipped, s", "#takes hold, RPM",
        "#held at, RPM", "#heat, kJ",   "measured from"};
    const size_t n = kw_events_count(events, KW_CLUTCH_ENGAGEMENT);
    size_t told = 0;
    if (n == 0)
        return;
    kw_page_element(page, "h2", "Clutch");
    begin_table(page,
                "Each start from a stand-still: how long the clutch slipped "
                "before engine and axle turned together, the RPM at which it "
                "took hold and held the engine meanwhile, and the heat that "
                "this left in it. Longer or higher from week to week: look at "
                "lining and drum.",
                heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < events->n && told < MOST_EVENTS; i++) {
        const struct kw_event *event = &events->items[i];
        const struct kw_engagement *start = &event->detail.engagement;
        if (event->kind != KW_CLUTCH_ENGAGEMENT)
            continue;
        told++;
        kw_text_add(page, "<tr>");
        cell_clock(page, event->start_s, 1);
        cell_number(page, event->end_s - event->start_s, 2);
        cell_number(page, start->start_rpm, 0);
        cell_number(page, start->hold_rpm, 0);
        cell_number(page, start->slip_energy_kj, 1);
        kw_page_element(page, "td",
                        start->method == KW_CLUTCH_BY_SPEED
                            ? "speed"
                            : "RPM alone, an estimate");
        kw_text_add(page, "</tr>\n");
    }
    end_table(page);
    kw_page_and_more(page, n, told);
}

/* ---- laps ---------------------------------------------------------------- */

/* All laps are listed; those that do not count say why: who knows which lap the
 * spin was on can check that the program knows it too. */
static void put_lap(struct kw_text *page,
                    const struct kw_lap *lap,
                    bool is_best)
{
    struct kw_text kind = {0};
    kw_text_add(&kind, kw_name_lap_kind(lap->kind));
    if (lap->spoilt)
        kw_text_add(&kind, ", spoilt");
    if (is_best)
        kw_text_add(&kind, ", fastest");
    kw_text_add(page, "<tr>");
    cell_lap(page, lap->number);
    kw_page_text(page, "td", &kind);
    cell_clock(page, lap->end_s - lap->start_s, 2);
    cell_number(page, lap->egt_max_c, 0);
    cell_number(page, lap->rpm_max, 0);
    cell_number(page, lap->rpm_min, 0);
    cell_number(page, lap->egt_mean_c, 0);
    cell_clock(page, lap->start_s, 1);
    kw_text_add(page, "</tr>\n");
}

/* The running time stands here too: it is what a logbook needs. */
static void put_laps(struct kw_text *page,
                     const struct kw_review *review,
                     const struct kw_lap_digest *digest)
{
    static const char *const heads[] = {
        "#lap",          "kind",         "#time",        "#EGT top, C",
        "#highest, RPM", "#lowest, RPM", "#EGT mean, C", "#begins"};
    const struct kw_laps *laps = &review->laps;
    struct kw_text line = {0};
    kw_page_element(page, "h2", "Laps");
    kw_add_running(&line, &review->running);
    if (laps->method == KW_LAPS_NONE)
        kw_text_add(&line, "No laps were found.");
    else
        kw_text_addf(&line,
                     "%zu flying laps, %s. Out lap, in lap and spoilt laps "
                     "(a spin, a stop, a gap) are not compared.",
                     digest->n_flying + digest->n_spoilt,
                     kw_say_lap_method(laps->method));
    kw_add_gearing(&line, review->locked_rpm_per_m_s);
    kw_page_text(page, "p", &line);
    if (laps->n == 0)
        return;
    begin_table(page, NULL, heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < laps->n && i < MOST_LAPS; i++)
        put_lap(page, &laps->items[i], i == digest->best);
    end_table(page);
    kw_page_and_more(page, laps->n, MOST_LAPS);
}

/* ---- the log ------------------------------------------------------------- */

/* How each column was understood: a wrong guess here would make all else
 * wrong. */
static void put_channels(struct kw_text *page, const struct kw_log *log)
{
    static const char *const heads[] = {"taken as", "column", "unit",
                                        "#missing"};
    begin_table(page, NULL, heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < log->n_channels; i++) {
        const struct kw_channel *channel = &log->channels[i];
        kw_text_add(page, "<tr>");
        kw_page_element(page, "td", kw_role_name(channel->role));
        kw_page_element(page, "td", channel->column);
        kw_page_element(page, "td", channel->unit);
        cell_number(page, (double)channel->missing, 0);
        kw_text_add(page, "</tr>\n");
    }
    end_table(page);
}

/* The quality of the data, last: who trusts the verdict need not read it. */
static enum kw_status put_log(struct kw_text *page,
                              const struct kw_review_page *from,
                              struct kw_error *error)
{
    const struct kw_review *review = from->review;
    struct kw_notices notices = {0};
    struct kw_text line = {0};
    kw_page_element(page, "h2", "The log");
    kw_add_log_size(&line, &review->log);
    kw_page_text(page, "p", &line);
    put_channels(page, &review->log);
    const enum kw_status status =
        kw_gather_notices(&review, 1, from->more, &notices, error);
    kw_page_notices(page, NULL, &notices);
    kw_notices_free(&notices);
    return status;
}

/* All figures, drawn or missing: a page that is silent about a picture would
 * hide that gnuplot is not installed. */
static void put_plots(struct kw_text *page, const struct kw_review_page *from)
{
    const struct kw_plots *plots = &from->pictures->plots;
    if (plots->n == 0)
        return;
    kw_page_element(page, "h2", "Plots");
    for (size_t i = 0; i < plots->n; i++) {
        const struct kw_plot *plot = &plots->items[i];
        kw_page_figure(page, plot,
                       plot->drawn ? &from->pictures->svgs[i] : NULL);
    }
}

/* Top to bottom as it is read: answer, action, reasons, data. */
enum kw_status kw_review_page_write(const struct kw_review_page *from,
                                    struct kw_text *page,
                                    struct kw_error *error)
{
    const struct kw_review *review = from->review;
    struct kw_lap_digest digest;
    if (kw_digest_laps(&review->laps, &digest, error) != KW_OK)
        return KW_NO_MEMORY;
    kw_page_begin(page, from->title);
    kw_page_element(page, "h1", from->title);
    struct kw_text line = {0};
    const char *name = kw_file_name_of(review->log.path);
    if (strcmp(name, from->title) != 0)
        kw_text_addf(&line, "%s: ", name);
    kw_add_log_size(&line, &review->log);
    kw_page_text(page, "p class=\"quiet\"", &line);
    put_advice(page, review);
    put_findings(page, review);
    put_plots(page, from);
    put_laps(page, review, &digest);
    put_clutch(page, &review->events);
    const enum kw_status status = put_log(page, from, error);
    /* What silence about a fault does not mean: that it is not there. */
    kw_page_notices(page, "What this log could not tell", &review->not_judged);
    kw_page_element(page, "p class=\"quiet\"",
                    "Made by kartwright " KW_VERSION ". The program advises, "
                    "the person decides: the maker's sheet and the class "
                    "rules come first, and when in doubt a licensed engine "
                    "builder.");
    kw_page_end(page);
    if (status != KW_OK)
        return status;
    return kw_text_failed(page) ? kw_fail_memory(error) : KW_OK;
}
