/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long parts last: the starter list, and what the owner knows better.
 *
 * An own life is a note with a row in own_life. A part remembers only whether
 * its life was stated when it was fitted; all others are looked up here at each
 * question, so that a new figure counts at once for what is on the kart. */
#include "kartwright/upkeep.h"
#include "logbook/entry.h"
#include "logbook/part_lives.h"

#include "core/array.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* "clutch shoes" and "Clutch" are the list's clutch lining. */
static const char *name_of(const char *part)
{
    const struct kw_part_life *row = kw_part_life_find(part);
    return row == NULL ? part : row->part;
}

static struct kw_life *find(const struct kw_lives *lives, const char *part)
{
    for (size_t i = 0; i < lives->n; i++) {
        if (kw_text_same(lives->items[i].part, name_of(part)))
            return &lives->items[i];
    }
    return NULL;
}

const struct kw_life *kw_lives_find(const struct kw_lives *lives,
                                    const char *part)
{
    return find(lives, part);
}

void kw_lives_free(struct kw_lives *lives)
{
    for (size_t i = 0; i < lives->n; i++)
        free(lives->items[i].part);
    free(lives->items);
    *lives = (struct kw_lives){0};
}

/* ---- reading ------------------------------------------------------------- */

/* Until the owner says otherwise the usual life is the one that counts. */
static enum kw_status add_life(struct kw_lives *lives,
                               const char *part,
                               double usual_h,
                               double usual_days,
                               struct kw_error *error)
{
    char *name = kw_text_duplicate(part, error);
    if (name == NULL ||
        kw_array_reserve(&lives->items, &lives->capacity, lives->n + 1,
                         sizeof *lives->items, error) != KW_OK) {
        free(name);
        return KW_NO_MEMORY;
    }
    lives->items[lives->n++] = (struct kw_life){.part = name,
                                                .life_h = usual_h,
                                                .life_days = usual_days,
                                                .usual_h = usual_h,
                                                .usual_days = usual_days};
    return KW_OK;
}

/* In the order of the list, which groups what belongs together on the kart. */
static enum kw_status add_list(struct kw_lives *lives, struct kw_error *error)
{
    size_t n = 0;
    const struct kw_part_life *rows = kw_part_lives(&n);
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < n && status == KW_OK; i++)
        status = add_life(lives, rows[i].part, rows[i].life_h,
                          rows[i].life_days, error);
    return status;
}

/* The owner's figure replaces both of the list's: who says 8 h for the fuel
 * line does not mean "and 365 days". */
static void take_own(struct kw_query *query, struct kw_lives *lives)
{
    char *part = kw_query_string_at(query, 1);
    if (part == NULL)
        return;
    if (find(lives, part) == NULL &&
        add_life(lives, part, NAN, NAN, query->error) != KW_OK)
        query->status = KW_NO_MEMORY;
    struct kw_life *life = find(lives, part);
    if (life != NULL) {
        life->id = kw_query_int_at(query, 0);
        life->life_h = kw_query_real_at(query, 2);
        life->life_days = kw_query_real_at(query, 3);
    }
    free(part);
}

/* By date, so that the last figure of the owner's stands. */
enum kw_status kw_logbook_lives(struct kw_logbook *book,
                                struct kw_lives *out,
                                struct kw_error *error)
{
    *out = (struct kw_lives){0};
    enum kw_status status = add_list(out, error);
    if (status == KW_OK) {
        struct kw_query query = kw_query_begin(
            book,
            "SELECT l.id, o.part, o.life_h, o.life_days FROM own_life o"
            " JOIN live l ON l.id = o.entry_id ORDER BY l.at_s, l.id",
            error);
        while (kw_query_row(&query))
            take_own(&query, out);
        status = kw_query_end(&query);
    }
    if (status != KW_OK)
        kw_lives_free(out);
    return status;
}

/* ---- writing ------------------------------------------------------------- */

/* "life of the clutch lining: 8.0 h" */
static char *title_of(const struct kw_new_life *life, struct kw_error *error)
{
    struct kw_text title = {0};
    kw_text_addf(&title, "life of the %s: ", name_of(life->part));
    if (isfinite(life->life_h)) {
        kw_text_add_number(&title, life->life_h, life->life_h < 1.0 ? 2 : 1);
        kw_text_add(&title, " h");
    }
    if (isfinite(life->life_days)) {
        kw_text_add(&title, isfinite(life->life_h) ? ", " : "");
        kw_text_add_number(&title, life->life_days, 0);
        kw_text_add(&title, " days");
    }
    return kw_text_take(&title, error);
}

/* Kept by the list's own name, so that any word for the part finds it. */
static enum kw_status set_within(struct kw_logbook *book,
                                 const struct kw_new_entry *entry,
                                 const struct kw_new_life *life,
                                 int64_t *id,
                                 struct kw_error *error)
{
    char *title = title_of(life, error);
    if (title == NULL)
        return KW_NO_MEMORY;
    const struct kw_entry_head head = {KW_ENTRY_NOTE, entry->kart, title};
    const enum kw_status status =
        kw_entry_insert(book, entry, &head, id, error);
    free(title);
    if (status != KW_OK)
        return status;
    struct kw_query query =
        kw_query_begin(book,
                       "INSERT INTO own_life(entry_id, part, life_h, life_days)"
                       " VALUES(?, ?, ?, ?)",
                       error);
    kw_query_int(&query, *id);
    kw_query_text(&query, name_of(life->part));
    kw_query_real(&query, life->life_h);
    kw_query_real(&query, life->life_days);
    return kw_query_end(&query);
}

/* Refused before the transaction: a wrong figure locks nobody out. */
enum kw_status kw_logbook_set_life(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   const struct kw_new_life *life,
                                   int64_t *id,
                                   struct kw_error *error)
{
    enum kw_status status =
        kw_entry_check_words(life->part, "the part has no name", error);
    if (status == KW_OK)
        status = kw_part_life_check(life->life_h, life->life_days, error);
    if (status == KW_OK && isnan(life->life_h) && isnan(life->life_days))
        status = kw_fail(error, KW_BAD_USAGE, NULL, 0, "no life was given",
                         "add --hours 8 or --days 365");
    if (status == KW_OK)
        status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    return kw_book_settle(book, set_within(book, entry, life, id, error),
                          error);
}
