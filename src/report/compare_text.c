/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison for a person at a terminal between two sessions: what to do
 * first, then the numbers behind it. */
#include "kartwright/report.h"

#include "report/compare_words.h"
#include "report/log_notices.h"
#include "report/screen.h"
#include "report/words.h"
#include "report/wrap.h"

#include <math.h>

enum { MOST_NOT_ALIKE = 4, SIDE_INDENT = 8 };

/* Columns of the table from the left: 34 + 9 + 9 + 19 leave room for the word
 * at the end in 80. */
enum { TITLE_COLUMNS = 34, NUMBER_COLUMNS = 9, RANGE_COLUMNS = 17 };

/* Blanks up to a column, one at least: text that is too long pushes the
 * rest. */
static void pad(struct kw_text *line, size_t from, size_t columns)
{
    size_t width = kw_display_width(line->bytes + from);
    do
        kw_text_add(line, " ");
    while (++width < columns);
}

/* A number set right in its column, so that the eye can run down the units. */
static void number(struct kw_text *line,
                   const struct kw_measure *measure,
                   double value)
{
    struct kw_text digits = {0};
    kw_add_measured(&digits, measure, value);
    for (size_t i = digits.length; i < NUMBER_COLUMNS; i++)
        kw_text_add(line, " ");
    if (kw_text_failed(&digits))
        line->failed = true;
    else
        kw_text_add(line, digits.bytes);
    kw_text_free(&digits);
}

/* "-21.0 to -13.4" */
static void range(struct kw_text *line, const struct kw_measure *measure)
{
    const size_t from = line->length;
    kw_text_add(line, "  ");
    if (isnan(measure->low)) {
        kw_text_add(line, "-");
    } else {
        kw_add_measured(line, measure, measure->low);
        kw_text_add(line, " to ");
        kw_add_measured(line, measure, measure->high);
    }
    if (!kw_text_failed(line))
        pad(line, from, RANGE_COLUMNS + 2);
}

/* 0 on every lap of both sides. */
static bool is_none(const struct kw_measure *measure)
{
    return !(fabs(measure->low) > 0.0) && !(fabs(measure->high) > 0.0) &&
           measure->verdict == KW_NO_CLEAR_CHANGE;
}

/* "unclear" is no "unchanged": so few or so scattered laps could not have told.
 * "maybe" stands where the range alone would say more than the verdict, which
 * asks for more because many measures are shown. */
static const char *word_for(const struct kw_measure *measure)
{
    if (is_none(measure))
        return "none";
    if (measure->verdict == KW_ROSE)
        return "rose";
    if (measure->verdict == KW_FELL)
        return "fell";
    if (measure->verdict == KW_TOO_FEW_LAPS)
        return "too few";
    return measure->low > 0.0 || measure->high < 0.0 ? "maybe" : "unclear";
}

/* One line of the table. */
static void put_measure(const struct kw_screen *screen,
                        const struct kw_measure *measure)
{
    struct kw_text line = {0};
    kw_add_measure_title(&line, measure);
    if (kw_text_failed(&line)) {
        screen->out->failed = true;
        kw_text_free(&line);
        return;
    }
    pad(&line, 0, TITLE_COLUMNS);
    number(&line, measure, measure->mean[KW_BEFORE]);
    number(&line, measure, measure->mean[KW_AFTER]);
    range(&line, measure);
    if (kw_text_failed(&line))
        screen->out->failed = true;
    else
        kw_text_addf(screen->out, "%s%s\n", line.bytes, word_for(measure));
    kw_text_free(&line);
}

/* The interval stands beside the means, so that "rose by 2, 1 to 3" is not read
 * as "rose by 2". */
static void put_measures(const struct kw_screen *screen,
                         const struct kw_measures *measures)
{
    if (measures->n == 0)
        return;
    kw_screen_heading(screen, "Lap against lap");
    kw_text_add(screen->out,
                "                                     before    after  "
                "changed by (95 %)\n");
    for (size_t i = 0; i < measures->n; i++)
        put_measure(screen, &measures->items[i]);
    kw_screen_paragraph(
        screen,
        "The true change lies in the range in 95 of 100 comparisons. "
        "\"Maybe\": "
        "the range leaves out 0, but of so many measures one does so by "
        "chance. "
        "\"Unclear\" is not \"unchanged\": these laps could not tell.",
        0, 0);
    kw_screen_paragraph(screen, kw_measures_note, 0, 0);
}

/* Names of the logs without their folders, and the laps that count. */
static void put_side(const struct kw_screen *screen,
                     const struct kw_comparison_source *source,
                     int which)
{
    const struct kw_compare_sessions *sessions = source->sessions[which];
    struct kw_text line = {0};
    for (size_t log = 0; log < sessions->n; log++) {
        kw_text_add(&line, log == 0 ? "" : ", ");
        kw_text_add(&line, kw_file_name_of(sessions->reviews[log].log.path));
    }
    kw_text_add(&line, ": ");
    kw_add_laps_used(&line, &source->comparison->sides[which]);
    kw_text_add(&line, ".");
    kw_text_add(screen->out, which == KW_BEFORE ? "before  " : "after   ");
    kw_screen_paragraph_of(screen, &line, SIDE_INDENT);
}

/* More than a few would push the answer off the screen; the page has all. Each
 * is told whole: what is not alike is what the answer hangs on. */
static void put_not_alike(const struct kw_screen *screen,
                          const struct kw_notices *not_alike)
{
    if (not_alike->n > 0)
        kw_screen_heading(screen, "Not alike");
    for (size_t i = 0; i < not_alike->n && i < MOST_NOT_ALIKE; i++)
        kw_screen_item(screen, not_alike->items[i].text, 0);
}

/* A column that was left out on one side alone may be all the difference. */
static enum kw_status put_notices(const struct kw_screen *screen,
                                  const struct kw_comparison_source *source,
                                  struct kw_error *error)
{
    struct kw_notices notices = {0};
    const enum kw_status status =
        kw_gather_compared_notices(source, &notices, error);
    if (notices.n > 0)
        kw_screen_heading(screen, "Notices");
    kw_screen_notices(screen, &notices, "see the report or --json");
    kw_notices_free(&notices);
    return status;
}

/* Verdicts are words, so that colour adds nothing that they do not say. */
enum kw_status kw_comparison_to_text(const struct kw_comparison_source *source,
                                     const struct kw_text_options *options,
                                     char **out,
                                     struct kw_error *error)
{
    const struct kw_comparison *comparison = source->comparison;
    struct kw_text text = {0};
    const struct kw_screen screen = kw_screen_on(&text, options);
    kw_screen_style(&screen, KW_STYLE_BOLD);
    kw_screen_paragraph(&screen, comparison->summary, 0, 0);
    kw_screen_style(&screen, KW_STYLE_PLAIN);
    put_not_alike(&screen, &comparison->not_alike);
    kw_screen_heading(&screen, "What to do");
    kw_screen_paragraph(&screen, comparison->suggestion, 0, 0);
    put_measures(&screen, &comparison->measures);
    kw_screen_heading(&screen, "Laps");
    for (int side = 0; side < KW_N_SIDES; side++)
        put_side(&screen, source, side);
    if (put_notices(&screen, source, error) == KW_OK)
        *out = kw_text_take(&text, error);
    kw_text_free(&text);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
