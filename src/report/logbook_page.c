/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book, or one entry, as one page for a screen and for paper: no file
 * beside it, no script, pictures inside. */
#include "kartwright/report.h"

#include "core/escape.h"
#include "core/local_time.h"
#include "core/text.h"
#include "kartwright/upkeep.h"
#include "report/page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The page while it grows, and where it comes from.
 *
 * all_plots  of each session; else one.
 * karts      the book has several: each entry says which is meant. */
struct page {
    struct kw_logbook *book;
    struct kw_text *html;
    struct kw_error *error;
    bool all_plots;
    bool karts;
};

/* ---- pieces -------------------------------------------------------------- */

/* Tags and words of ours, which need no escape. */
static void add(struct page *page, const char *html)
{
    kw_text_add(page->html, html);
}

/* Every text of the book goes through here: a note or a file name may hold
 * tags. */
static void add_escaped(struct page *page, const char *text)
{
    kw_escape_html(page->html, text);
}

/* Paper is read by days. */
static void add_day(struct page *page, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    add_escaped(page, kw_local_time_print(date, unix_s, false));
}

static void add_moment(struct page *page, double unix_s)
{
    char date[KW_LOCAL_TIME_SIZE];
    add_escaped(page, kw_local_time_show(date, unix_s));
}

static void add_number(struct page *page, double value, int decimals)
{
    kw_text_add_number(page->html, value, decimals);
}

/* <p>name: text</p>, or nothing for an empty text. */
static void add_line(struct page *page, const char *name, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return;
    add(page, "<p>");
    add(page, name);
    add_escaped(page, text);
    add(page, "</p>\n");
}

/* ---- pictures ------------------------------------------------------------ */

/* What a browser shows, by the name's ending; NULL for other files. Not SVG: a
 * stranger's could hold a script. */
static const char *picture_type(const char *name)
{
    static const struct {
        const char *ending;
        const char *type;
    } types[] = {
        {".png", "image/png"}, {".jpg", "image/jpeg"}, {".jpeg", "image/jpeg"}};
    const size_t length = strlen(name);
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        const size_t n = strlen(types[i].ending);
        if (length > n && kw_text_same(name + length - n, types[i].ending))
            return types[i].type;
    }
    return NULL;
}

/* Inside the page, so that it can be sent and archived as one file. */
static enum kw_status add_picture(struct page *page,
                                  const struct kw_attachment *attachment)
{
    char *bytes = NULL;
    size_t n_bytes = 0;
    const enum kw_status status = kw_logbook_read_file(
        page->book, attachment->id, &bytes, &n_bytes, page->error);
    if (status != KW_OK)
        return status;
    add(page, "<figure class=\"photo\"><img alt=\"");
    add_escaped(page, attachment->name);
    add(page, "\" src=\"data:");
    add(page, picture_type(attachment->name));
    add(page, ";base64,");
    kw_page_add_base64(page->html, bytes, n_bytes);
    add(page, "\"></figure>\n");
    free(bytes);
    return KW_OK;
}

/* For a whole season one plot of each session, or the page grows past what a
 * browser opens; photos always. */
static bool is_shown(const struct page *page,
                     const struct kw_entry *entry,
                     const char *name)
{
    if (picture_type(name) == NULL)
        return false;
    return page->all_plots || entry->kind != KW_ENTRY_SESSION ||
           strcmp(name, "session.png") == 0 ||
           strcmp(picture_type(name), "image/jpeg") == 0;
}

/* In the order in which they were kept: the report's plots first. */
static enum kw_status add_files(struct page *page, const struct kw_entry *entry)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < entry->n_attachments && status == KW_OK; i++) {
        if (is_shown(page, entry, entry->attachments[i].name))
            status = add_picture(page, &entry->attachments[i]);
    }
    return status;
}

/* ---- entries ------------------------------------------------------------- */

/* With what to check: on paper there is no `show` to ask. */
static enum kw_status add_finding(struct page *page,
                                  const struct kw_entry *finding)
{
    struct kw_finding_advice advice;
    const enum kw_status status =
        kw_logbook_advice(page->book, finding->id, &advice, page->error);
    if (status != KW_OK)
        return status;
    add(page, "<h3>");
    kw_text_addf(page->html, "%lld. ", (long long)finding->id);
    add_escaped(page, finding->title);
    add(page, "</h3>\n");
    add_line(page, "", finding->text);
    add_line(page, "Check: ", advice.check);
    add_line(page, "Caution: ", advice.caution);
    kw_finding_advice_free(&advice);
    return KW_OK;
}

/* What is not known is left out, and so is its comma. */
static void add_facts(struct page *page, const struct kw_session_facts *facts)
{
    add(page, "<p>Ran ");
    add_number(page, facts->running_s / 60.0, 1);
    add(page, " min");
    if (isfinite(facts->best_lap_s)) {
        add(page, ", best lap ");
        add_number(page, facts->best_lap_s, 2);
        add(page, " s");
    }
    if (isfinite(facts->rpm_max)) {
        add(page, ", top RPM ");
        kw_text_add_whole(page->html, facts->rpm_max);
    }
    if (isfinite(facts->egt_max_c)) {
        add(page, ", top EGT ");
        add_number(page, facts->egt_max_c, 0);
        add(page, " C");
    }
    if (isfinite(facts->air.temp_c)) {
        add(page, "; air ");
        add_number(page, facts->air.temp_c, 1);
        add(page, " C, ");
        add_number(page, facts->air.pressure_pa / 100.0, 0);
        add(page, " hPa, ");
        add_number(page, facts->air.humidity * 100.0, 0);
        add(page, " %");
    }
    add(page, "</p>\n");
    add_line(page, "Setup: ", facts->setup);
    add_line(page, "", facts->verdict_text);
}

/* Facts before findings: how it ran, then what was wrong. */
static enum kw_status add_session(struct page *page,
                                  const struct kw_entry *entry)
{
    struct kw_session_facts facts = {0};
    struct kw_entries findings = {0};
    enum kw_status status =
        kw_logbook_session(page->book, entry->id, &facts, page->error);
    if (status == KW_OK) {
        add_facts(page, &facts);
        status =
            kw_logbook_findings(page->book, entry->id, &findings, page->error);
    }
    for (size_t i = 0; i < findings.n && status == KW_OK; i++)
        status = add_finding(page, &findings.items[i]);
    kw_entries_free(&findings);
    kw_session_facts_free(&facts);
    return status;
}

/* A short note is its own title and is not said twice. */
static enum kw_status add_entry(struct page *page, const struct kw_entry *entry)
{
    enum kw_status status = KW_OK;
    add(page, "<article class=\"item\">\n<h3>");
    kw_text_addf(page->html, "%lld. ", (long long)entry->id);
    add_moment(page, entry->at_s);
    add(page, ", ");
    add(page, kw_entry_kind_name(entry->kind));
    add(page, ": ");
    add_escaped(page, entry->title);
    add(page, "</h3>\n");
    if (page->karts)
        add_line(page, "Kart: ", entry->kart);
    if (strcmp(entry->text, entry->title) != 0)
        add_line(page, "", entry->text);
    if (entry->kind == KW_ENTRY_SESSION)
        status = add_session(page, entry);
    if (status == KW_OK)
        status = add_files(page, entry);
    add(page, "</article>\n");
    return status;
}

/* ---- the whole book ------------------------------------------------------ */

/* First on the page: what is due is what the page is printed for. */
static enum kw_status add_dues(struct page *page, double now_s)
{
    static const char *const when[] = {
        [KW_WATCH] = "keep an eye on it",
        [KW_BEFORE_NEXT_RACE] = "before the next race",
        [KW_BEFORE_NEXT_RUN] = "before the next run"};
    struct kw_dues dues;
    const enum kw_status status =
        kw_logbook_due(page->book, now_s, &dues, page->error);
    if (status != KW_OK)
        return status;
    add(page, "<h2>What is due</h2>\n");
    bool looks = false;
    if (dues.n == 0)
        add(page, "<p>Nothing is due.</p>\n");
    for (size_t i = 0; i < dues.n; i++) {
        const struct kw_due *due = &dues.items[i];
        add(page, i == 0 ? "<table>\n<tr><th>When<th>What<th>Why\n" : "");
        add(page, "<tr><td>");
        add(page, when[due->urgency]);
        add(page, "<td>");
        add_escaped(page, due->what);
        add(page, "<td>");
        add_escaped(page, due->why);
        add(page, "\n");
        looks = looks || due->looks_at != NULL;
    }
    add(page, dues.n > 0 ? "</table>\n" : "");
    /* Once for all: after an evening's work there are many. */
    add(page, looks ? "<p>A second look: what was taken apart settles. "
                      "Fixings, springs, chain tension, leaks.</p>\n"
                    : "");
    kw_dues_free(&dues);
    return KW_OK;
}

/* Boxes to tick with a pencil; done ones are ticked already. */
static void add_round(struct page *page, const struct kw_round *round)
{
    add(page, "<h2>Round of checks after ");
    add_day(page, round->last_s);
    if (round->kart != NULL) {
        add(page, ", ");
        add_escaped(page, round->kart);
    }
    add(page, "</h2>\n<table>\n<tr><th><th>Check<th>Why\n");
    for (size_t i = 0; i < round->n; i++) {
        const struct kw_check *check = &round->items[i];
        if (check->state == KW_CHECK_NEVER)
            continue;
        add(page, check->state == KW_CHECK_DONE      ? "<tr><td>&#9745;<td>"
                  : check->state == KW_CHECK_SKIPPED ? "<tr><td>skipped<td>"
                                                     : "<tr><td>&#9744;<td>");
        add_escaped(page, check->what);
        add(page, "<td>");
        add_escaped(page, check->why);
        add(page, "\n");
    }
    add(page, "</table>\n<p>Common practice. Engine off and cold; the maker's "
              "sheet and the class rules come first.</p>\n");
}

/* A kart that never ran has no round to walk. */
static enum kw_status add_rounds(struct page *page)
{
    struct kw_rounds rounds;
    const enum kw_status status =
        kw_logbook_rounds(page->book, &rounds, page->error);
    for (size_t i = 0; i < rounds.n; i++) {
        if (!isnan(rounds.items[i].last_s))
            add_round(page, &rounds.items[i]);
    }
    kw_rounds_free(&rounds);
    return status;
}

/* "8.0 h, 365 days" */
static void add_life(struct page *page, const struct kw_part *part)
{
    if (isfinite(part->life_h)) {
        add_number(page, part->life_h, 1);
        add(page, " h");
    }
    if (isfinite(part->life_days)) {
        add(page, isfinite(part->life_h) ? ", " : "");
        add_number(page, part->life_days, 0);
        add(page, " days");
    }
}

/* The day is enough on paper; a part that is on has no end. */
static void add_part_row(struct page *page, const struct kw_part *part)
{
    add(page, "<tr><td>");
    add_escaped(page, part->part);
    if (part->name != NULL) {
        add(page, " (");
        add_escaped(page, part->name);
        add(page, ")");
    }
    add(page, "<td>");
    add_escaped(page, part->kart);
    add(page, "<td class=\"n\">");
    add_number(page, kw_part_hours(part), 2);
    add(page, "<td>");
    add_life(page, part);
    add(page, "<td>");
    add_day(page, part->from_s);
    add(page, "<td>");
    if (!isnan(part->to_s))
        add_day(page, part->to_s);
    add(page, "\n");
}

/* Engines first. Whether the book has several karts shows here, and is kept for
 * the entries below. */
static enum kw_status add_parts(struct page *page)
{
    struct kw_parts engines = {0};
    struct kw_parts parts = {0};
    enum kw_status status =
        kw_logbook_engines(page->book, &engines, page->error);
    if (status == KW_OK)
        status = kw_logbook_parts(page->book, &parts, page->error);
    add(page, "<h2>Parts and hours</h2>\n<table>\n<tr><th>Part<th>Kart"
              "<th class=\"n\">Hours<th>Life<th>From<th>To\n");
    page->karts = engines.n > 1;
    for (size_t i = 0; i < engines.n; i++)
        add_part_row(page, &engines.items[i]);
    for (size_t i = 0; i < parts.n; i++)
        add_part_row(page, &parts.items[i]);
    add(page, "</table>\n<p>Hours are counted from the logs. Lives are the "
              "owner's or common practice; the maker's sheet comes "
              "first.</p>\n");
    kw_parts_free(&engines);
    kw_parts_free(&parts);
    return status;
}

/* From what has to be done to how it came about. */
static enum kw_status add_all(struct page *page, double now_s)
{
    struct kw_entries entries = {0};
    enum kw_status status = add_dues(page, now_s);
    if (status == KW_OK)
        status = add_rounds(page);
    if (status == KW_OK)
        status = add_parts(page);
    if (status == KW_OK)
        status = kw_logbook_entries(page->book, &entries, page->error);
    add(page, "<h2>Entries</h2>\n");
    for (size_t i = 0; i < entries.n && status == KW_OK; i++)
        status = add_entry(page, &entries.items[i]);
    kw_entries_free(&entries);
    return status;
}

/* A finding has no entry of its own in the list, but a number to ask for. */
static enum kw_status add_one(struct page *page, int64_t id)
{
    struct kw_entries entry = {0};
    enum kw_status status =
        kw_logbook_entry(page->book, id, &entry, page->error);
    if (status == KW_OK)
        status = entry.items[0].kind == KW_ENTRY_FINDING
                     ? add_finding(page, &entry.items[0])
                     : add_entry(page, &entry.items[0]);
    kw_entries_free(&entry);
    return status;
}

/* A page that could not be finished is not given out. */
enum kw_status kw_logbook_print(struct kw_logbook *book,
                                int64_t id,
                                double now_s,
                                char **out,
                                struct kw_error *error)
{
    struct kw_text html = {0};
    struct page page = {book, &html, error, id != 0, id != 0};
    *out = NULL;
    kw_page_begin(&html, "Kart logbook");
    add(&page, "<h1>Kart logbook, ");
    add_day(&page, now_s);
    add(&page, "</h1>\n");
    const enum kw_status status =
        id != 0 ? add_one(&page, id) : add_all(&page, now_s);
    kw_page_end(&html);
    if (status == KW_OK)
        *out = kw_text_take(&html, error);
    kw_text_free(&html);
    return status == KW_OK && *out == NULL ? KW_NO_MEMORY : status;
}
