/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The logbook's trends as one HTML page: what creeps, the plots, every measure
 * with its test, and what was fitted meanwhile. */
#include "report/trends_page.h"

#include "core/local_time.h"
#include "report/page.h"
#include "report/trends_words.h"

/* A book of one kart mostly has no name for it. */
static const char *kart_name(const char *kart)
{
    return kart == NULL ? "The kart" : kart;
}

/* Then each line says whose it is. */
static bool has_karts(const struct kw_trends *trends)
{
    for (size_t i = 1; i < trends->n; i++) {
        if (!kw_same_kart(trends->items[i].kart, trends->items[0].kart))
            return true;
    }
    return false;
}

/* ---- the answer ---------------------------------------------------------- */

/* "Rising: clutch engagement time, s; top RPM of a lap. "
 *
 * returns  how many. */
static size_t add_all_of(struct kw_text *text,
                         const struct kw_trends *trends,
                         enum kw_trend_verdict verdict,
                         const char *word)
{
    const bool karts = has_karts(trends);
    size_t n = 0;
    for (size_t i = 0; i < trends->n; i++) {
        const struct kw_trend *trend = &trends->items[i];
        if (trend->verdict != verdict)
            continue;
        kw_text_add(text, n++ == 0 ? word : "; ");
        kw_text_add(text, trend->what);
        if (karts)
            kw_text_addf(text, " (%s)", kart_name(trend->kart));
    }
    kw_text_add(text, n > 0 ? ". " : "");
    return n;
}

/* What creeps comes first, in one sentence; that nothing does is an answer too,
 * and that it is too early another. */
static void put_answer(struct kw_text *page, const struct kw_trends *trends)
{
    struct kw_text text = {0};
    struct kw_text rest = {0};
    const size_t n = add_all_of(&text, trends, KW_TREND_RISING, "Rising: ") +
                     add_all_of(&text, trends, KW_TREND_FALLING, "Falling: ");
    if (trends->n == 0)
        kw_text_add(&text, "No session tells anything to compare yet.");
    else if (add_all_of(&rest, trends, KW_TREND_NONE, "") + n == 0)
        kw_text_add(&text, "Too few sessions to tell: a trend wants six.");
    else if (n == 0)
        kw_text_add(&text, "No clear trend: what differs between the sessions "
                           "may be chance alone.");
    kw_page_text(page, "p class=\"verdict\"", &text);
    kw_text_free(&rest);
}

/* ---- plots --------------------------------------------------------------- */

/* Kart by kart, as the trends come. */
static void put_plots(struct kw_text *page, const struct kw_trends_page *from)
{
    const struct kw_plots *plots = &from->pictures->plots;
    const struct kw_trends *trends = from->source->trends;
    const char *kart = NULL;
    for (size_t i = 0; i < plots->n; i++) {
        const struct kw_trend *trend = &trends->items[from->shown[i]];
        if (i == 0 || !kw_same_kart(kart, trend->kart))
            kw_page_element(page, "h2", kart_name(trend->kart));
        kart = trend->kart;
        kw_page_figure(page, &plots->items[i],
                       plots->items[i].drawn ? &from->pictures->svgs[i] : NULL);
    }
}

/* ---- tables -------------------------------------------------------------- */

/* NAN shows as a dash. */
static void put_number(struct kw_text *page, double value, int decimals)
{
    struct kw_text text = {0};
    kw_text_add_number(&text, value, decimals);
    kw_page_text(page, "td class=\"n\"", &text);
}

static void put_value(struct kw_text *page,
                      const struct kw_trend *trend,
                      double value)
{
    struct kw_text text = {0};
    kw_add_trend_value(&text, trend, value);
    kw_page_text(page, "td class=\"n\"", &text);
}

/* First and last beside each other: a change that a person can hold against the
 * limit on the maker's sheet. */
static void put_trend(struct kw_text *page,
                      const struct kw_trend *trend,
                      bool karts)
{
    struct kw_text what = {0};
    struct kw_text verdict = {0};
    kw_text_add(&what, trend->what);
    if (karts)
        kw_text_addf(&what, " (%s)", kart_name(trend->kart));
    kw_add_trend_verdict(&verdict, trend);
    kw_text_add(page, "<tr>");
    kw_page_text(page, "td", &what);
    put_number(page, (double)trend->n, 0);
    put_value(page, trend, trend->points[0].value);
    put_value(page, trend, trend->points[trend->n - 1].value);
    put_number(page, trend->points[trend->n - 1].hours, 1);
    kw_page_text(page, "td", &verdict);
    kw_text_add(page, "</tr>\n");
}

/* Where the table has just said "since". */
static void put_since_remark(struct kw_text *page,
                             const struct kw_trends *trends)
{
    struct kw_text since = {0};
    kw_add_since_remark(&since, trends);
    if (kw_text_failed(&since) || since.length > 0)
        kw_page_text(page, "p", &since);
}

/* The method stands below the table, for the reader who asks how it is
 * known. */
static void put_trends(struct kw_text *page, const struct kw_trends *trends)
{
    static const char *const heads[] = {"sessions", "first", "last",
                                        "engine, h"};
    if (trends->n == 0)
        return;
    kw_page_element(page, "h2", "Every measure");
    kw_page_begin_wide(page);
    kw_text_add(page, "<table>\n<thead><tr>");
    kw_page_element(page, "th", "measure");
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
        kw_page_element(page, "th class=\"n\"", heads[i]);
    kw_text_add(page, "<th>verdict</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < trends->n; i++)
        put_trend(page, &trends->items[i], has_karts(trends));
    kw_text_add(page, "</tbody></table></div>\n");
    put_since_remark(page, trends);
    kw_page_element(
        page, "p class=\"quiet\"",
        "Method: one point for each session, a line by least squares, and a "
        "test of its slope (t distribution). A trend is told from six "
        "sessions on, when chance alone would give as steep a slope less "
        "than once in a hundred times (p below 0.01). Since when: a "
        "cumulative sum over the sessions (Page 1954), from the level of the "
        "first ones.");
}

/* Parts that were registered with hours of their own were not fitted that
 * day. */
static void put_fittings(struct kw_text *page, const struct kw_parts *parts)
{
    char date[KW_LOCAL_TIME_SIZE];
    size_t n = 0;
    for (size_t i = 0; i < parts->n; i++) {
        const struct kw_part *part = &parts->items[i];
        struct kw_text name = {0};
        if (part->registered)
            continue;
        if (n++ == 0) {
            kw_page_element(page, "h2", "What was fitted");
            kw_text_add(page, "<table>\n<thead><tr><th>date</th><th>part</th>"
                              "<th>kart</th><th class=\"n\">engine, h</th>"
                              "</tr></thead>\n<tbody>\n");
        }
        kw_add_part_name(&name, part);
        kw_text_add(page, "<tr>");
        kw_page_element(page, "td",
                        kw_local_time_print(date, part->from_s, false));
        kw_page_text(page, "td", &name);
        kw_page_element(page, "td", part->kart);
        put_number(page, part->engine_hours, 1);
        kw_text_add(page, "</tr>\n");
    }
    kw_text_add(page, n > 0 ? "</tbody></table>\n" : "");
}

/* The answer first, then what shows it, then the numbers. */
enum kw_status kw_trends_page_write(const struct kw_trends_page *from,
                                    struct kw_text *page,
                                    struct kw_error *error)
{
    const struct kw_trends_source *source = from->source;
    kw_page_begin(page, from->title);
    kw_page_element(page, "h1", from->title);
    kw_page_element(page, "p class=\"quiet\"",
                    "What creeps from session to session, out of the logbook, "
                    "tested by kartwright");
    put_answer(page, source->trends);
    put_plots(page, from);
    put_trends(page, source->trends);
    put_fittings(page, source->parts);
    kw_page_notices(page, "Notices", source->more);
    kw_page_end(page);
    return kw_text_failed(page) ? kw_fail_memory(error) : KW_OK;
}
