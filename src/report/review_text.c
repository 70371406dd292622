/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A review for a person at a terminal, late in the evening: the verdict first,
 * then what to do, then laps and findings, then how good the data are. One
 * screen: only what must be done before the engine runs again, and the first
 * suggestion, are told in full; like findings are told together, and long lists
 * say how much more there is.
 *
 * What is left out is always said, with the place where it stands in full. The
 * caution of a suggestion that is told in full is never cut.
 *
 * Everything goes through the screen, which makes it visible: no escape
 * sequence of a log reaches the terminal. */
#include "kartwright/report.h"

#include "report/digest.h"
#include "report/log_notices.h"
#include "report/screen.h"
#include "report/words.h"

#include <math.h>
#include <string.h>

/* What fits on a screen of 40 lines. */
enum {
    MOST_SUGGESTIONS = 4,
    MOST_GROUPS_TOLD = 5,
    WHY_LINES_IN_FULL = 8,
    WHY_LINES = 2,
    LABEL_COLUMNS = 8,
    MOST_FINDING_LINES = 4
};

/* Where what was left out here stands. */
static const char elsewhere[] = "see the report or --json";

/* "  why    Seen twice, on laps ..." */
static void labelled(const struct kw_screen *screen,
                     const char *label,
                     const char *words,
                     size_t most_lines)
{
    kw_text_add(screen->out, "   ");
    kw_text_add(screen->out, label);
    for (size_t i = strlen(label); i < LABEL_COLUMNS; i++)
        kw_text_add(screen->out, " ");
    const size_t indent = 3 + LABEL_COLUMNS;
    kw_screen_paragraph(screen, words, indent, most_lines);
}

/* ---- verdict and advice -------------------------------------------------- */

/* Red, yellow and green only repeat what the words say. */
static void put_verdict(const struct kw_screen *screen,
                        const struct kw_review *review)
{
    const enum kw_style style =
        review->verdict == KW_DO_NOT_RUN           ? KW_STYLE_RED
        : review->verdict == KW_MEND_BEFORE_RACE   ? KW_STYLE_YELLOW
        : review->verdict == KW_NOTHING_STANDS_OUT ? KW_STYLE_GREEN
                                                   : KW_STYLE_YELLOW;
    const bool own_words =
        review->verdict_text != NULL && review->verdict_text[0] != '\0';
    kw_screen_style(screen, style);
    kw_screen_paragraph(screen,
                        own_words ? review->verdict_text
                                  : kw_say_verdict(review->verdict),
                        0, 0);
    kw_screen_style(screen, KW_STYLE_PLAIN);
}

/* Each step on its own line. None is left out: a hint that one more stands
 * elsewhere would take the same line. */
static void put_steps(const struct kw_screen *screen, const char *check)
{
    const char *at = check == NULL ? "" : check;
    unsigned number = 1;
    size_t length = 0;
    size_t told = 0;
    for (const char *step; (step = kw_next_step(&at, &number, &length));) {
        struct kw_text line = {0};
        kw_text_addf(&line, "%zu. ", told + 1);
        kw_text_add_bytes(&line, step, length);
        if (kw_text_failed(&line))
            screen->out->failed = true;
        else
            labelled(screen, told == 0 ? "check" : "", line.bytes, 0);
        told++;
        kw_text_free(&line);
    }
}

/* The first is the one to begin with; and what the engine must not run without
 * is told in full too, with how to do it safely. */
static bool is_told_in_full(const struct kw_suggestions *suggestions, size_t i)
{
    return i == 0 || suggestions->items[i].urgency == KW_BEFORE_NEXT_RUN;
}

/* The caution is never cut. Those that are not told in full give their
 * reason. */
static void put_suggestion(const struct kw_screen *screen,
                           const struct kw_suggestion *one,
                           bool in_full)
{
    struct kw_text title = {0};
    kw_text_addf(&title, "%zu. ", one->rank);
    kw_add_capital(&title, one->part == NULL ? "" : one->part);
    kw_text_addf(&title, ": %s", kw_say_urgency(one->urgency));
    kw_screen_style(screen, KW_STYLE_BOLD);
    kw_screen_paragraph_of(screen, &title, 0);
    kw_screen_style(screen, KW_STYLE_PLAIN);
    if (one->why != NULL)
        labelled(screen, "why", one->why,
                 in_full ? WHY_LINES_IN_FULL : WHY_LINES);
    if (!in_full)
        return;
    put_steps(screen, one->check);
    if (one->caution != NULL)
        labelled(screen, "caution", one->caution, 0);
}

/* Nothing to do gives no heading: an empty list would look like a fault of the
 * program. */
static void put_suggestions(const struct kw_screen *screen,
                            const struct kw_suggestions *suggestions)
{
    if (suggestions->n == 0)
        return;
    kw_screen_heading(screen, "What to do");
    size_t n_in_full = 0;
    for (size_t i = 0; i < suggestions->n && i < MOST_SUGGESTIONS; i++) {
        const bool in_full = is_told_in_full(suggestions, i);
        put_suggestion(screen, &suggestions->items[i], in_full);
        n_in_full += in_full;
    }
    /* They are ranked by urgency: what is told in full comes first. */
    if (n_in_full < suggestions->n) {
        struct kw_text line = {0};
        kw_text_addf(&line, "Steps and cautions from point %zu on: %s",
                     n_in_full + 1, elsewhere);
        kw_text_add(screen->out, "   ");
        kw_screen_paragraph_of(screen, &line, 3);
    }
    kw_screen_and_more(screen, suggestions->n, MOST_SUGGESTIONS, elsewhere);
}

/* ---- laps and findings --------------------------------------------------- */

/* Fastest and middle lap: the two numbers that a driver asks for. The fastest
 * may have had a tow; the middle is what the kart does. */
static void add_lap_times(struct kw_text *line,
                          const struct kw_laps *laps,
                          const struct kw_lap_digest *digest)
{
    if (digest->n_flying == 0)
        return;
    const struct kw_lap *best = &laps->items[digest->best];
    kw_text_add(line, " Fastest ");
    kw_add_clock(line, best->end_s - best->start_s, 2);
    kw_text_addf(line, " (lap %zu), middle ", best->number);
    kw_add_clock(line, digest->middle_s, 2);
    kw_text_add(line, ".");
}

/* Running time, laps, and how the laps were told. */
static void put_laps(const struct kw_screen *screen,
                     const struct kw_review *review,
                     const struct kw_lap_digest *digest)
{
    struct kw_text line = {0};
    kw_add_running(&line, &review->running);
    if (review->laps.method == KW_LAPS_NONE) {
        kw_text_add(&line, "No laps were found.");
    } else {
        /* A spoilt lap was driven all the same, and the driver counts it. */
        const size_t n = digest->n_flying + digest->n_spoilt;
        kw_text_addf(&line, "%zu flying lap%s%s%s, %s.", n, n == 1 ? "" : "s",
                     digest->n_out > 0 ? ", an out lap" : "",
                     digest->n_in > 0 ? ", an in lap" : "",
                     kw_say_lap_method(review->laps.method));
        add_lap_times(&line, &review->laps, digest);
        if (digest->n_spoilt > 0)
            kw_text_addf(&line, " Spoilt by a spin, a stop or a gap: %zu.",
                         digest->n_spoilt);
    }
    kw_add_gearing(&line, review->locked_rpm_per_m_s);
    kw_screen_paragraph_of(screen, &line, 0);
}

/* "lean, top end: 4 times, laps 3, 5 and 6. At 5:01.2: 38 C over ..." */
static void put_group(const struct kw_screen *screen,
                      const struct kw_review *review,
                      const struct kw_event_group *group)
{
    const struct kw_event *worst = &review->events.items[group->worst];
    struct kw_text line = {0};
    kw_add_event_title(&line, worst);
    kw_add_group(&line, review, group);
    if (isfinite(worst->confidence)) {
        kw_text_add(&line, "; ");
        kw_text_add_number(&line, worst->confidence * 100.0, 0);
        kw_text_add(&line, " % sure");
    }
    kw_screen_item_of(screen, &line, MOST_FINDING_LINES);
}

/* All starts in one sentence: the longest one is the one to look at. */
static void put_clutch(const struct kw_screen *screen,
                       const struct kw_events *events)
{
    const size_t n = kw_events_count(events, KW_CLUTCH_ENGAGEMENT);
    const struct kw_event *longest = NULL;
    for (size_t i = 0; i < events->n; i++) {
        const struct kw_event *event = &events->items[i];
        if (event->kind == KW_CLUTCH_ENGAGEMENT &&
            (longest == NULL ||
             event->end_s - event->start_s > longest->end_s - longest->start_s))
            longest = event;
    }
    if (longest == NULL)
        return;
    struct kw_text line = {0};
    kw_text_addf(&line, "clutch: %zu start%s from a stand-still; ", n,
                 n == 1 ? "" : "s");
    kw_text_add(&line, n == 1 ? "locked after " : "longest ");
    kw_text_add_number(&line, longest->end_s - longest->start_s, 2);
    kw_text_add(&line, " s at ");
    kw_add_clock(&line, longest->start_s, 1);
    if (isfinite(longest->detail.engagement.hold_rpm)) {
        kw_text_add(&line, ", slipping at ");
        kw_text_add_whole(&line, longest->detail.engagement.hold_rpm);
        kw_text_add(&line, " RPM");
    }
    kw_text_add(&line, longest->detail.engagement.method == KW_CLUTCH_BY_SPEED
                           ? " (measured from speed)"
                           : " (estimated from RPM alone)");
    kw_screen_item_of(screen, &line, 0);
}

/* Groups, then the clutch; a healthy session is told so in words, since silence
 * leaves open whether anything was looked for. One of which nothing is known
 * must not sound like it. */
static void put_findings(const struct kw_screen *screen,
                         const struct kw_review *review)
{
    const struct kw_events *events = &review->events;
    struct kw_event_group groups[KW_MOST_GROUPS];
    const size_t n = kw_group_events(events, groups);
    for (size_t i = 0; i < n && i < MOST_GROUPS_TOLD; i++)
        put_group(screen, review, &groups[i]);
    kw_screen_and_more(screen, n, MOST_GROUPS_TOLD, elsewhere);
    put_clutch(screen, events);
    if (n == 0)
        kw_screen_item(
            screen,
            review->verdict == KW_VERDICT_NOT_KNOWN
                ? "no fault was found, but too little was there to show one"
                : "no lean running, drop-out or other fault was found",
            0);
}

/* ---- data quality -------------------------------------------------------- */

/* Only roles: headings are long, and `kartwright columns` shows them. */
static void add_channels(struct kw_text *line, const struct kw_log *log)
{
    kw_text_add(line, " Columns: ");
    for (size_t i = 0; i < log->n_channels; i++) {
        const struct kw_channel *channel = &log->channels[i];
        kw_text_addf(line, "%s%s", i == 0 ? "" : ", ",
                     kw_role_name(channel->role));
        if (channel->missing > 0) {
            kw_text_add(line, " (");
            kw_text_add_whole(line, (double)channel->missing);
            kw_text_add(line, " missing)");
        }
    }
    kw_text_add(line, ".");
}

/* How much was read, and how much of it was of use: a verdict from a tenth of a
 * log is to be read as one. */
static void put_source(const struct kw_screen *screen, const struct kw_log *log)
{
    struct kw_text line = {0};
    kw_text_add(&line, kw_file_name_of(log->path));
    kw_text_add(&line, ": ");
    kw_add_log_size(&line, log);
    add_channels(&line, log);
    kw_screen_paragraph_of(screen, &line, 0);
}

/* The log's own troubles, then what it could not tell at all. */
static enum kw_status put_quality(const struct kw_screen *screen,
                                  const struct kw_review *review,
                                  const struct kw_notices *more,
                                  struct kw_error *error)
{
    struct kw_notices notices = {0};
    const enum kw_status status =
        kw_gather_notices(&review, 1, more, &notices, error);
    kw_screen_heading(screen, "The log");
    put_source(screen, &review->log);
    kw_screen_notices(screen, &notices, elsewhere);
    if (review->not_judged.n > 0)
        kw_screen_heading(screen, "What this log could not tell");
    kw_screen_notices(screen, &review->not_judged, elsewhere);
    kw_notices_free(&notices);
    return status;
}

/* The order is the order of need. */
enum kw_status kw_review_to_text(const struct kw_review *review,
                                 const struct kw_notices *more,
                                 const struct kw_text_options *options,
                                 char **out,
                                 struct kw_error *error)
{
    *out = NULL;
    struct kw_text text = {0};
    const struct kw_screen screen = kw_screen_on(&text, options);
    struct kw_lap_digest digest;
    if (kw_digest_laps(&review->laps, &digest, error) != KW_OK)
        return KW_NO_MEMORY;
    put_verdict(&screen, review);
    put_suggestions(&screen, &review->suggestions);
    kw_screen_heading(&screen, "Laps and findings");
    put_laps(&screen, review, &digest);
    put_findings(&screen, review);
    if (put_quality(&screen, review, more, error) == KW_OK)
        *out = kw_text_take(&text, error);
    kw_text_free(&text);
    return *out == NULL ? KW_NO_MEMORY : KW_OK;
}
