/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison for a person at a terminal between two sessions: what to do
 * first, then the numbers behind it. */
#include "kartwright/report.h"

#include "report/compare_words.h"
#include "report/words.h"
#include "report/wrap.h"

#include <math.h>

enum { DEFAULT_COLUMNS = 80, FEWEST_COLUMNS = 40, MOST_NOTICES = 4 };

/* Columns of the table from the left: 34 + 9 + 9 + 19 leave room for the word
 * at the end in 80. */
enum { TITLE_COLUMNS = 34, NUMBER_COLUMNS = 9, RANGE_COLUMNS = 17 };

static const char *const bold = "\033[1m";
static const char *const plain = "\033[0m";

/* Where the text goes, how wide the terminal is, and whether it takes
 * colour. */
struct screen {
    struct kw_text *out;
    size_t columns;
    bool colour;
};

/* An empty line parts it from what went before. */
static void heading(const struct screen *screen, const char *words)
{
    kw_text_addf(screen->out, "\n%s%s%s\n", screen->colour ? bold : "", words,
                 screen->colour ? plain : "");
}

/* Wrapped at the width of the terminal and made visible: names of files come
 * from outside. */
static void paragraph(const struct screen *screen,
                      const char *words,
                      size_t first,
                      size_t indent)
{
    kw_wrap_add(screen->out, words,
                &(struct kw_wrap){screen->columns, first, indent, 0});
}

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
static void number(struct kw_text *line, double value, int decimals)
{
    struct kw_text digits = {0};
    kw_text_add_number(&digits, value, decimals);
    for (size_t i = digits.length; i < NUMBER_COLUMNS; i++)
        kw_text_add(line, " ");
    if (kw_text_failed(&digits))
        line->failed = true;
    else
        kw_text_add(line, digits.bytes);
    kw_text_free(&digits);
}

/* "-21.0 to -13.4" */
static void range(struct kw_text *line,
                  const struct kw_measure *measure,
                  int decimals)
{
    const size_t from = line->length;
    kw_text_add(line, "  ");
    if (isnan(measure->low)) {
        kw_text_add(line, "-");
    } else {
        kw_text_add_number(line, measure->low, decimals);
        kw_text_add(line, " to ");
        kw_text_add_number(line, measure->high, decimals);
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

/* One line of the table. "unclear" is no "unchanged": so few or so scattered
 * laps could not have told. */
static void put_measure(const struct screen *screen,
                        const struct kw_measure *measure)
{
    const int decimals = kw_measure_decimals(measure);
    struct kw_text line = {0};
    kw_add_measure_title(&line, measure);
    if (measure->unit[0] != '\0')
        kw_text_addf(&line, ", %s", measure->unit);
    if (kw_text_failed(&line)) {
        screen->out->failed = true;
        kw_text_free(&line);
        return;
    }
    pad(&line, 0, TITLE_COLUMNS);
    number(&line, measure->mean[KW_BEFORE], decimals);
    number(&line, measure->mean[KW_AFTER], decimals);
    range(&line, measure, decimals);
    if (kw_text_failed(&line))
        screen->out->failed = true;
    else
        kw_text_addf(screen->out, "%s%s\n", line.bytes,
                     is_none(measure)                      ? "none"
                     : measure->verdict == KW_ROSE         ? "rose"
                     : measure->verdict == KW_FELL         ? "fell"
                     : measure->verdict == KW_TOO_FEW_LAPS ? "too few"
                                                           : "unclear");
    kw_text_free(&line);
}

/* The interval stands beside the means, so that "rose by 2, 1 to 3" is not read
 * as "rose by 2". */
static void put_measures(const struct screen *screen,
                         const struct kw_measures *measures)
{
    if (measures->n == 0)
        return;
    heading(screen, "Lap against lap");
    kw_text_add(screen->out,
                "                                     before    after  "
                "changed by (95 %)\n");
    for (size_t i = 0; i < measures->n; i++)
        put_measure(screen, &measures->items[i]);
    paragraph(screen,
              "The true change lies in the range in 95 of 100 comparisons. "
              "\"Unclear\" is not \"unchanged\": these laps could not tell.",
              0, 0);
}

/* Names of the logs without their folders, and the laps that count. */
static void put_side(const struct screen *screen,
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
    if (kw_text_failed(&line))
        screen->out->failed = true;
    else
        paragraph(screen, line.bytes, 8, 8);
    kw_text_free(&line);
}

/* More than a few would push the answer off the screen; the page has all. */
static void put_notices(const struct screen *screen,
                        const struct kw_notices *notices)
{
    for (size_t i = 0; notices != NULL && i < notices->n && i < MOST_NOTICES;
         i++) {
        kw_text_add(screen->out, "- ");
        paragraph(screen, notices->items[i].text, 2, 2);
    }
}

/* Verdicts are words, so that colour adds nothing that they do not say. */
enum kw_status kw_comparison_to_text(const struct kw_comparison_source *source,
                                     const struct kw_text_options *options,
                                     char **out,
                                     struct kw_error *error)
{
    const struct kw_comparison *comparison = source->comparison;
    struct kw_text text = {0};
    struct screen screen = {&text, DEFAULT_COLUMNS, false};
    if (options != NULL && options->columns >= FEWEST_COLUMNS)
        screen.columns = options->columns;
    screen.colour = options != NULL && options->colour;
    kw_text_add(&text, screen.colour ? bold : "");
    paragraph(&screen, comparison->summary, 0, 0);
    kw_text_add(&text, screen.colour ? plain : "");
    if (comparison->not_alike.n > 0) {
        heading(&screen, "Not alike");
        put_notices(&screen, &comparison->not_alike);
    }
    heading(&screen, "What to do");
    paragraph(&screen, comparison->suggestion, 0, 0);
    put_measures(&screen, &comparison->measures);
    heading(&screen, "Laps");
    for (int side = 0; side < KW_N_SIDES; side++)
        put_side(&screen, source, side);
    if (source->more != NULL && source->more->n > 0) {
        heading(&screen, "Notices");
        put_notices(&screen, source->more);
    }
    *out = kw_text_take(&text, error);
    kw_text_free(&text);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
