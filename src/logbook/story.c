/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading findings and putting them together to stories.
 *
 * Findings of one kart with one title are one story. Closing one of them closes
 * all up to the newest session that the book had at that moment; what a later
 * session brings is the same fault come back. Cost: findings sorted by SQLite,
 * then one pass; closings times findings within a story. */
#include "logbook/story.h"
#include "logbook/about.h"

#include "core/array.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- reading ------------------------------------------------------------- */

/* A finding of a withdrawn session does not come here: it follows its session
 * out of every count. */
static void take_found(struct kw_query *query, struct kw_finds *finds)
{
    if (kw_array_reserve(&finds->items, &finds->capacity, finds->n + 1,
                         sizeof *finds->items, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    finds->items[finds->n++] = (struct kw_found){
        .id = kw_query_int_at(query, 0),
        .kart = kw_query_text_at(query, 1),
        .title = kw_query_string_at(query, 2),
        .why = kw_query_string_at(query, 3),
        .urgency = (enum kw_urgency)kw_query_int_at(query, 4),
        .at_s = kw_query_real_at(query, 5),
        .close_id = kw_query_int_at(query, 6),
        .close_text = kw_query_text_at(query, 7),
        .session_id = kw_query_int_at(query, 8),
    };
}

/* Kart by kart and title by title, by date: each story is a run of rows. */
enum kw_status kw_finds_read(struct kw_logbook *book,
                             struct kw_finds *finds,
                             struct kw_error *error)
{
    *finds = (struct kw_finds){0};
    struct kw_query query = kw_query_begin(
        book,
        "SELECT f.entry_id, o.kart, e.title, e.text, f.urgency, o.at_s,"
        " k.id, k.text, f.session_id"
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

void kw_finds_free(struct kw_finds *finds)
{
    for (size_t i = 0; i < finds->n; i++) {
        free(finds->items[i].kart);
        free(finds->items[i].title);
        free(finds->items[i].why);
        free(finds->items[i].close_text);
    }
    free(finds->items);
}

/* ---- stories ------------------------------------------------------------- */

/* A closing reaches to the newest finding that was there when it was written:
 * numbers grow with writing, whatever the dates say. */
static double reach_of(const struct kw_story *story, int64_t close_id)
{
    double reach_s = -INFINITY;
    for (size_t i = 0; i < story->n; i++) {
        if (story->items[i].id < close_id)
            reach_s = fmax(reach_s, story->items[i].at_s);
    }
    return reach_s;
}

/* The closing that reaches furthest decides, not the last one that was written:
 * closing an old finding again must not open the newer ones. */
static void find_open(struct kw_story *story)
{
    story->closed_s = -INFINITY;
    story->closing = NULL;
    for (size_t i = 0; i < story->n; i++) {
        const struct kw_found *found = &story->items[i];
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

/* Items of the same kart and title stand together. */
static size_t end_of_story(const struct kw_finds *finds, size_t from)
{
    size_t to = from + 1;
    while (to < finds->n &&
           kw_same_kart(finds->items[to].kart, finds->items[from].kart) &&
           strcmp(finds->items[to].title, finds->items[from].title) == 0)
        to++;
    return to;
}

/* From story to story; *from is where the next one begins. */
bool kw_story_next(const struct kw_finds *finds,
                   size_t *from,
                   struct kw_story *story)
{
    if (*from >= finds->n)
        return false;
    const size_t to = end_of_story(finds, *from);
    *story = (struct kw_story){.items = &finds->items[*from], .n = to - *from};
    find_open(story);
    *from = to;
    return true;
}

/* A part that has been on the kart for long cured nothing. */
const struct kw_part *kw_story_last_fitted(const struct kw_parts *parts,
                                           const struct kw_found *found,
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
