/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What somebody wanted to keep an eye on, and what was put together and has run
 * since: both stay on the list until they are closed. */
#include "logbook/about.h"
#include "logbook/due.h"
#include "logbook/outings.h"

#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* ---- watch items --------------------------------------------------------- */

/* One watch item as the book has it.
 *
 * part      that it is about, NULL for none; is_off: it has come off since.
 * n_runs    sessions of its kart since, counted for second looks alone. */
struct watched {
    int64_t id;
    char *kart;
    char *text;
    double at_s;
    bool make_do;
    char *part;
    bool is_off;
    bool after_run;
    int64_t n_runs;
};

static void watched_free(struct watched *item)
{
    free(item->kart);
    free(item->text);
    free(item->part);
}

/* The proper part may be in without anybody having closed the make-do: whoever
 * fits a clamp at ten in the evening does not think of the list. Only pointed
 * at, for words are no proof that it is the part. */
static const struct kw_part *fitted_since(const struct kw_parts *parts,
                                          const struct watched *item)
{
    const struct kw_part *last = NULL;
    for (size_t i = 0; i < parts->n; i++) {
        const struct kw_part *part = &parts->items[i];
        if (isnan(part->to_s) && part->from_s > item->at_s &&
            (last == NULL || part->from_s > last->from_s) &&
            kw_same_kart(part->kart, item->kart) &&
            kw_is_about(part->part, item->text))
            last = part;
    }
    return last;
}

/* A cable tie that holds is forgotten: the list says what would end it. */
static void say_make_do(struct kw_due_texts *texts,
                        const struct kw_parts *parts,
                        const struct watched *item)
{
    const struct kw_part *since = fitted_since(parts, item);
    kw_text_add(&texts->why, "a make-do repair, ");
    if (since == NULL) {
        kw_text_add(&texts->clears, "put the proper part in, then ");
        return;
    }
    kw_text_addf(&texts->clears, "the %s was fitted since (", since->part);
    kw_due_add_date(&texts->clears, since->from_s);
    kw_text_add(&texts->clears, "): if that is the proper part, ");
}

/* What was taken apart settles: fixings, springs, chain tension and leaks show
 * after the first run and not on the stand. */
static void say_second_look(struct kw_due_texts *texts,
                            double since_s,
                            size_t n_runs,
                            const char *verb)
{
    kw_text_add(&texts->what, "second look: ");
    texts->looks_at = texts->what.length;
    kw_text_addf(&texts->why, "%s on ", verb);
    kw_due_add_date(&texts->why, since_s);
    kw_text_add(&texts->why, ", ");
    kw_due_add_sessions(&texts->why, n_runs);
    kw_text_add(&texts->why, " since");
    kw_text_add(&texts->clears,
                "fixings, springs, chain tension, leaks; then ");
}

/* One list for what was noticed, mended for now, and taken apart: each with its
 * own why. */
static void say_watch(struct kw_due_texts *texts,
                      const struct kw_parts *parts,
                      const struct watched *item)
{
    if (item->after_run)
        say_second_look(texts, item->at_s, (size_t)item->n_runs, "put back");
    kw_text_add(&texts->what, item->text == NULL ? "" : item->text);
    if (!item->after_run) {
        if (item->make_do)
            say_make_do(texts, parts, item);
        kw_text_add(&texts->why, "written down on ");
        kw_due_add_date(&texts->why, item->at_s);
    }
    if (item->part != NULL)
        kw_text_addf(&texts->why, ", about the %s", item->part);
    if (item->is_off)
        kw_text_add(&texts->why, ", which has come off since");
    kw_text_addf(&texts->clears, "'kartwright logbook close %lld'",
                 (long long)item->id);
}

/* A make-do stays pressing until the proper part is in; one about a part that
 * has come off went with it. A second look waits for the first run. */
static enum kw_status add_watched(struct kw_dues *dues,
                                  const struct kw_parts *parts,
                                  struct watched *item,
                                  struct kw_error *error)
{
    struct kw_due_texts texts = {0};
    item->make_do = item->make_do && !item->is_off;
    if (item->after_run && (item->n_runs == 0 || item->is_off))
        return KW_OK;
    const struct kw_due due = {.source = KW_DUE_WATCH,
                               .urgency = item->make_do || item->after_run
                                              ? KW_BEFORE_NEXT_RACE
                                              : KW_WATCH,
                               .id = item->id,
                               .kart = item->kart,
                               .to_buy = item->make_do,
                               .order = item->at_s};
    say_watch(&texts, parts, item);
    return kw_dues_add(dues, &due, &texts, error);
}

/* Sessions since are counted for second looks alone: for all it would be a pass
 * over the sessions for each item. */
enum kw_status kw_due_watch_items(struct kw_logbook *book,
                                  const struct kw_parts *parts,
                                  struct kw_dues *dues,
                                  struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id, l.kart, l.text, l.at_s, w.make_do, p.part,"
        " p.to_s IS NOT NULL, w.after_run,"
        " CASE WHEN w.after_run THEN (SELECT count(*) FROM outing o"
        "  WHERE o.kart IS l.kart AND o.at_s > l.at_s) END"
        " FROM watch w JOIN live l ON l.id = w.entry_id"
        " LEFT JOIN stint p ON p.id = w.fit_id"
        " WHERE NOT EXISTS (SELECT 1 FROM closing c"
        "  JOIN live k ON k.id = c.entry_id WHERE c.target_id = l.id)",
        error);
    while (kw_query_row(&query)) {
        struct watched item = {.id = kw_query_int_at(&query, 0),
                               .kart = kw_query_text_at(&query, 1),
                               .text = kw_query_string_at(&query, 2),
                               .at_s = kw_query_real_at(&query, 3),
                               .make_do = kw_query_int_at(&query, 4) != 0,
                               .part = kw_query_text_at(&query, 5),
                               .is_off = kw_query_int_at(&query, 6) != 0,
                               .after_run = kw_query_int_at(&query, 7) != 0,
                               .n_runs = kw_query_int_at(&query, 8)};
        if (query.status == KW_OK)
            query.status = add_watched(dues, parts, &item, error);
        watched_free(&item);
    }
    return kw_query_end(&query);
}

/* ---- second looks -------------------------------------------------------- */

/* A closing that was withdrawn does not close. */
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

/* Two tyres of one kind are told apart by their names; both may have none. */
static bool same_name(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : kw_text_same(a, b);
}

/* A part with hours so far is one of two things: what was on the kart when the
 * book began, which nobody has touched, or a used part that was put in, which
 * another of its kind made room for. */
static bool replaced_another(const struct kw_parts *parts,
                             const struct kw_part *part)
{
    for (size_t i = 0; i < parts->n; i++) {
        const struct kw_part *other = &parts->items[i];
        if (other->id != part->id && other->to_s <= part->from_s &&
            kw_same_kart(other->kart, part->kart) &&
            kw_text_same(other->part, part->part) &&
            same_name(other->name, part->name))
            return true;
    }
    return false;
}

/* By the fitting's own number: closing it says that the look was taken. */
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
    say_second_look(&texts, part->from_s, (size_t)part->n_sessions, "fitted");
    kw_text_add(&texts.what, part->part);
    if (part->name != NULL)
        kw_text_addf(&texts.what, " (%s)", part->name);
    kw_text_addf(&texts.clears, "'kartwright logbook close %lld'",
                 (long long)part->id);
    return kw_dues_add(dues, &due, &texts, error);
}

/* What was put back by hand in the evening may work loose on the first day:
 * once it has been out, it is looked at again. */
enum kw_status kw_due_second_looks(struct kw_logbook *book,
                                   const struct kw_parts *parts,
                                   struct kw_dues *dues,
                                   struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < parts->n && status == KW_OK; i++) {
        const struct kw_part *part = &parts->items[i];
        bool closed = false;
        /* What has come off again has nothing left to settle. */
        if (part->n_sessions == 0 || !isnan(part->to_s) ||
            (part->registered && !replaced_another(parts, part)))
            continue;
        status = is_closed(book, part->id, &closed, error);
        if (status == KW_OK && !closed)
            status = add_second_look(dues, part, error);
    }
    return status;
}
