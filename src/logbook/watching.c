/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What somebody wanted to keep an eye on, and what was put together and has run
 * since: both stay on the list until they are closed. */
#include "logbook/due.h"

#include <stdlib.h>

/* ---- watch items ----------------------------------------------------------
 */

static void say_watch(struct kw_due_texts *texts,
                      const struct kw_due *due,
                      const char *part,
                      bool is_off)
{
    if (due->urgency != KW_WATCH)
        kw_text_add(&texts->why, "a make-do repair, ");
    kw_text_add(&texts->why, "written down on ");
    kw_due_add_date(&texts->why, due->order);
    if (part != NULL)
        kw_text_addf(&texts->why, ", about the %s", part);
    if (is_off)
        kw_text_add(&texts->why, ", which has come off since");
    if (due->urgency != KW_WATCH)
        kw_text_add(&texts->clears, "put the proper part in, then ");
    kw_text_addf(&texts->clears, "'kartwright logbook close %lld'",
                 (long long)due->id);
}

/* A make-do stays pressing until the proper part is in. */
static void take_watch(struct kw_query *query, struct kw_dues *dues)
{
    struct kw_due_texts texts = {0};
    char *kart = kw_query_text_at(query, 1);
    char *text = kw_query_text_at(query, 2);
    char *part = kw_query_text_at(query, 5);
    const bool is_off = kw_query_int_at(query, 6) != 0;
    const bool make_do = kw_query_int_at(query, 4) != 0 && !is_off;
    const struct kw_due due = {.source = KW_DUE_WATCH,
                               .urgency =
                                   make_do ? KW_BEFORE_NEXT_RACE : KW_WATCH,
                               .id = kw_query_int_at(query, 0),
                               .kart = kart,
                               .to_buy = make_do,
                               .order = kw_query_real_at(query, 3)};
    kw_text_add(&texts.what, text == NULL ? "" : text);
    say_watch(&texts, &due, part, is_off);
    const enum kw_status status = kw_dues_add(dues, &due, &texts, query->error);
    if (query->status == KW_OK)
        query->status = status;
    free(kart);
    free(text);
    free(part);
}

enum kw_status kw_due_watch_items(struct kw_logbook *book,
                                  struct kw_dues *dues,
                                  struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id, l.kart, l.text, l.at_s, w.make_do, p.part,"
        " p.to_s IS NOT NULL"
        " FROM watch w JOIN live l ON l.id = w.entry_id"
        " LEFT JOIN stint p ON p.id = w.fit_id"
        " WHERE NOT EXISTS (SELECT 1 FROM closing c"
        "  JOIN live k ON k.id = c.entry_id WHERE c.target_id = l.id)",
        error);
    while (kw_query_row(&query))
        take_watch(&query, dues);
    return kw_query_end(&query);
}

/* ---- second looks ----------------------------------------------------------
 */

static enum kw_status is_closed(struct kw_logbook *book,
                                int64_t id,
                                bool *closed,
                                struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT 1 FROM closing c JOIN live l ON l.id = c.entry_id"
        " WHERE c.target_id = ?",
        error);
    kw_query_int(&query, id);
    *closed = kw_query_row(&query);
    return kw_query_end(&query);
}

static enum kw_status add_second_look(struct kw_dues *dues,
                                      const struct kw_part *part,
                                      struct kw_error *error)
{
    struct kw_due_texts texts = {0};
    const struct kw_due due = {.source = KW_DUE_WATCH,
                               .urgency = KW_BEFORE_NEXT_RACE,
                               .id = part->id,
                               .kart = part->kart,
                               .order = part->from_s};
    kw_text_addf(&texts.what, "second look: %s", part->part);
    if (part->name != NULL)
        kw_text_addf(&texts.what, " (%s)", part->name);
    kw_text_add(&texts.why, "fitted on ");
    kw_due_add_date(&texts.why, part->from_s);
    kw_text_add(&texts.why, ", it has run ");
    kw_due_add_sessions(&texts.why, (size_t)part->n_sessions);
    kw_text_add(&texts.why, " since: what was taken apart settles");
    kw_text_addf(&texts.clears,
                 "engine off and cold: fixings, springs, chain tension, leaks; "
                 "then 'kartwright logbook close %lld'",
                 (long long)part->id);
    return kw_dues_add(dues, &due, &texts, error);
}

/* Parts that were on the kart before the book began need none. */
enum kw_status kw_due_second_looks(struct kw_logbook *book,
                                   const struct kw_parts *parts,
                                   struct kw_dues *dues,
                                   struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < parts->n && status == KW_OK; i++) {
        const struct kw_part *part = &parts->items[i];
        bool closed = false;
        if (part->registered || part->n_sessions == 0 || part->to_s > 0.0)
            continue;
        status = is_closed(book, part->id, &closed, error);
        if (status == KW_OK && !closed)
            status = add_second_look(dues, part, error);
    }
    return status;
}
