/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings from session to session: what is open, what came back after it was
 * closed, what is gone since a part was replaced.
 *
 * Findings of one kart with one title are one story. Closing one of them closes
 * all up to the newest session that the book had at that moment; what a later
 * session brings is the same fault come back. Cost: findings sorted by SQLite,
 * then one pass; closings times findings within a story. */
#include "logbook/about.h"
#include "logbook/due.h"
#include "logbook/outings.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* at_s        of its session.
 * close_id    closing that names this finding, 0 for none.
 * close_text  what was noted then; owned. */
struct found {
    int64_t id;
    char *kart;
    char *title;
    char *why;
    enum kw_urgency urgency;
    double at_s;
    int64_t close_id;
    char *close_text;
};

struct finds {
    struct found *items;
    size_t n;
    size_t capacity;
};

/* One story: items[n] of the same kart and title, by date.
 *
 * closed_s      up to here all is closed; -INFINITY when nothing ever was.
 * closing       the finding whose closing reaches furthest, or NULL.
 * first, last   the open ones: items[first .. n - 1]. */
struct story {
    const struct found *items;
    size_t n;
    double closed_s;
    const struct found *closing;
    size_t first;
};

/* ---- reading ---------------------------------------------------------------
 */

static void take_found(struct kw_query *query, struct finds *finds)
{
    if (kw_array_reserve(&finds->items, &finds->capacity, finds->n + 1,
                         sizeof *finds->items, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    finds->items[finds->n++] = (struct found){
        .id = kw_query_int_at(query, 0),
        .kart = kw_query_text_at(query, 1),
        .title = kw_query_string_at(query, 2),
        .why = kw_query_string_at(query, 3),
        .urgency = (enum kw_urgency)kw_query_int_at(query, 4),
        .at_s = kw_query_real_at(query, 5),
        .close_id = kw_query_int_at(query, 6),
        .close_text = kw_query_text_at(query, 7),
    };
}

static enum kw_status read_finds(struct kw_logbook *book,
                                 struct finds *finds,
                                 struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT f.entry_id, o.kart, e.title, e.text, f.urgency, o.at_s,"
        " k.id, k.text"
        " FROM finding f JOIN outing o ON o.id = f.session_id"
        " JOIN entry e ON e.id = f.entry_id"
        " LEFT JOIN closing c ON c.target_id = f.entry_id AND NOT EXISTS"
        "  (SELECT 1 FROM withdrawal w WHERE w.entry_id = c.entry_id)"
        " LEFT JOIN entry k ON k.id = c.entry_id"
        " ORDER BY o.kart, e.title, o.at_s, f.entry_id",
        error);
    while (kw_query_row(&query))
        take_found(&query, finds);
    return kw_query_end(&query);
}

static void finds_free(struct finds *finds)
{
    for (size_t i = 0; i < finds->n; i++) {
        free(finds->items[i].kart);
        free(finds->items[i].title);
        free(finds->items[i].why);
        free(finds->items[i].close_text);
    }
    free(finds->items);
}

/* Sessions of a kart after one moment, up to and with another. */
static size_t count_sessions(const struct kw_outings *outings,
                             const char *kart,
                             double after_s,
                             double until_s)
{
    size_t n = 0;
    for (size_t i = 0; i < outings->n; i++)
        n += outings->items[i].at_s > after_s &&
             outings->items[i].at_s <= until_s &&
             kw_same_kart(outings->items[i].kart, kart);
    return n;
}

/* ---- parts that it can be about --------------------------------------------
 */

/* The last part about this finding that was fitted after one moment and not
 * after another; NULL for none. */
static const struct kw_part *last_fitted(const struct kw_parts *parts,
                                         const struct found *found,
                                         double after_s,
                                         double until_s)
{
    const struct kw_part *last = NULL;
    for (size_t i = 0; i < parts->n; i++) {
        const struct kw_part *part = &parts->items[i];
        if (part->from_s > after_s && part->from_s <= until_s &&
            (last == NULL || part->from_s > last->from_s) &&
            !part->registered && kw_same_kart(part->kart, found->kart) &&
            kw_is_about(part->part, found->title))
            last = part;
    }
    return last;
}

/* ---- one story ------------------------------------------------------------
 */

/* A closing reaches to the newest finding that was there when it was written:
 * numbers grow with writing, whatever the dates say. */
static double reach_of(const struct story *story, int64_t close_id)
{
    double reach_s = -INFINITY;
    for (size_t i = 0; i < story->n; i++) {
        if (story->items[i].id < close_id)
            reach_s = fmax(reach_s, story->items[i].at_s);
    }
    return reach_s;
}

static void find_open(struct story *story)
{
    story->closed_s = -INFINITY;
    story->closing = NULL;
    for (size_t i = 0; i < story->n; i++) {
        const struct found *found = &story->items[i];
        if (found->close_id == 0)
            continue;
        const double reach_s = reach_of(story, found->close_id);
        if (story->closing == NULL || reach_s > story->closed_s) {
            story->closed_s = reach_s;
            story->closing = found;
        }
    }
    story->first = 0;
    while (story->first < story->n &&
           story->items[story->first].at_s <= story->closed_s)
        story->first++;
}

/* "Back, 2 sessions after it was closed (filter replaced)." */
static void say_back(struct kw_text *why,
                     const struct story *story,
                     const struct kw_outings *outings)
{
    const struct found *first = &story->items[story->first];
    kw_text_add(why, "Back, ");
    kw_due_add_sessions(why, count_sessions(outings, first->kart,
                                            story->closed_s, first->at_s));
    kw_text_add(why, " after it was closed");
    if (story->closing->close_text != NULL &&
        story->closing->close_text[0] != '\0')
        kw_text_addf(why, " (%s)", story->closing->close_text);
    kw_text_add(why, ". ");
}

static void say_part(struct kw_text *why, const struct kw_part *part)
{
    kw_text_addf(why, " the %s was fitted (", part->part);
    kw_due_add_date(why, part->from_s);
    kw_text_add(why, "). ");
}

/* What the sessions after a part was fitted say about it.
 *
 * returns  true when the finding is gone since then. */
static bool say_after_fitting(struct kw_text *why,
                              const struct story *story,
                              const struct kw_outings *outings,
                              const struct kw_parts *parts)
{
    const struct found *first = &story->items[story->first];
    const struct found *last = &story->items[story->n - 1];
    const struct kw_part *since =
        last_fitted(parts, last, last->at_s, INFINITY);
    const size_t n_since =
        since == NULL
            ? 0
            : count_sessions(outings, last->kart, since->from_s, INFINITY);
    if (n_since > 0) {
        kw_text_add(why, "Gone: not found in the ");
        kw_due_add_sessions(why, n_since);
        kw_text_add(why, " since");
        say_part(why, since);
        return true;
    }
    const double before_s =
        isfinite(story->closed_s) ? story->closed_s : first->at_s;
    const struct kw_part *between =
        last_fitted(parts, last, before_s, last->at_s);
    if (between != NULL) {
        kw_text_add(why, "Again, ");
        kw_due_add_sessions(why, count_sessions(outings, last->kart,
                                                between->from_s, last->at_s));
        kw_text_add(why, " after");
        say_part(why, between);
    }
    return false;
}

static void say_how_often(struct kw_text *why, const struct story *story)
{
    const size_t n = story->n - story->first;
    if (n > 1) {
        kw_text_add(why, "Found in ");
        kw_due_add_sessions(why, n);
        kw_text_add(why, " since ");
        kw_due_add_date(why, story->items[story->first].at_s);
        kw_text_add(why, ". ");
    }
}

static enum kw_urgency highest_urgency(const struct story *story)
{
    enum kw_urgency most = KW_WATCH;
    for (size_t i = story->first; i < story->n; i++) {
        if (story->items[i].urgency > most)
            most = story->items[i].urgency;
    }
    return most;
}

/* "Before the next run" cannot be said of a kart that has run since. */
static enum kw_urgency urgency_now(const struct story *story,
                                   size_t n_since,
                                   bool gone)
{
    const enum kw_urgency most = highest_urgency(story);
    if (gone)
        return KW_WATCH;
    return n_since > 0 && most == KW_BEFORE_NEXT_RUN ? KW_BEFORE_NEXT_RACE
                                                     : most;
}

static enum kw_status add_story(const struct story *story,
                                const struct kw_outings *outings,
                                const struct kw_parts *parts,
                                struct kw_dues *dues,
                                struct kw_error *error)
{
    const struct found *last = &story->items[story->n - 1];
    const size_t n_since =
        count_sessions(outings, last->kart, last->at_s, INFINITY);
    struct kw_due_texts texts = {0};
    struct kw_due due = {.source = KW_DUE_FINDING,
                         .id = last->id,
                         .kart = last->kart,
                         .order = last->at_s};
    kw_text_add(&texts.what, last->title);
    if (story->closing != NULL)
        say_back(&texts.why, story, outings);
    const bool gone = say_after_fitting(&texts.why, story, outings, parts);
    if (!gone)
        say_how_often(&texts.why, story);
    if (!gone && n_since > 0) {
        kw_text_add(&texts.why, "Not found in the ");
        kw_due_add_sessions(&texts.why, n_since);
        kw_text_add(&texts.why, " since. ");
    }
    due.urgency = urgency_now(story, n_since, gone);
    kw_text_add(&texts.why, last->why);
    kw_text_addf(&texts.clears,
                 "%s'kartwright logbook close %lld' (what to check: "
                 "'kartwright logbook show %lld')",
                 gone ? "if you agree that it is gone: " : "see to it, then ",
                 (long long)last->id, (long long)last->id);
    return kw_dues_add(dues, &due, &texts, error);
}

/* ---- all stories ----------------------------------------------------------
 */

/* Items of the same kart and title stand together. */
static size_t end_of_story(const struct finds *finds, size_t from)
{
    size_t to = from + 1;
    while (to < finds->n &&
           kw_same_kart(finds->items[to].kart, finds->items[from].kart) &&
           strcmp(finds->items[to].title, finds->items[from].title) == 0)
        to++;
    return to;
}

enum kw_status kw_due_findings(struct kw_logbook *book,
                               const struct kw_parts *parts,
                               struct kw_dues *dues,
                               struct kw_error *error)
{
    struct finds finds = {0};
    struct kw_outings outings = {0};
    enum kw_status status = read_finds(book, &finds, error);
    if (status == KW_OK)
        status = kw_outings_read(book, &outings, error);
    for (size_t from = 0; status == KW_OK && from < finds.n;) {
        const size_t to = end_of_story(&finds, from);
        struct story story = {.items = &finds.items[from], .n = to - from};
        find_open(&story);
        if (story.first < story.n)
            status = add_story(&story, &outings, parts, dues, error);
        from = to;
    }
    kw_outings_free(&outings);
    finds_free(&finds);
    return status;
}
