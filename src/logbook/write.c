/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notes, parts on and off, things to watch, things dealt with; corrections and
 * withdrawals. Each public function is one transaction.
 *
 * What was written is never changed: a part that comes off is a row more, so
 * that hours can be counted anew from any day. */
#include "kartwright/upkeep.h"
#include "logbook/entry.h"
#include "logbook/part_lives.h"

#include "core/fail.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* ---- notes --------------------------------------------------------------- */

/* A note is its own title: lists cut it where they have to. */
enum kw_status kw_logbook_note(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               int64_t *id,
                               struct kw_error *error)
{
    const struct kw_entry_head head = {KW_ENTRY_NOTE, entry->kart, entry->text};
    enum kw_status status =
        kw_entry_check_words(entry->text, "the note is empty", error);
    if (status == KW_OK)
        status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = kw_entry_insert(book, entry, &head, id, error);
    return kw_book_settle(book, status, error);
}

/* ---- parts --------------------------------------------------------------- */

/* How the part is called in every list: "plug", or "tyres (front left)". */
static char *part_title(const char *part,
                        const char *name,
                        struct kw_error *error)
{
    struct kw_text title = {0};
    kw_text_add(&title, part);
    if (name != NULL)
        kw_text_addf(&title, " (%s)", name);
    return kw_text_take(&title, error);
}

/* What `remove` may be about; kw_entry_insert_about() asks. */
static bool is_part(enum kw_entry_kind kind)
{
    return kind == KW_ENTRY_FIT;
}

/* Linked to the fitting by its number: two chains of one season are two
 * parts. */
static enum kw_status insert_removal(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     int64_t part_id,
                                     int64_t *id,
                                     struct kw_error *error)
{
    const struct kw_about removal = {
        KW_ENTRY_REMOVE, is_part, "a part",
        "INSERT INTO removal(entry_id, fit_id) VALUES(?, ?)", part_id};
    return kw_entry_insert_about(book, entry, &removal, id, error);
}

/* The part of the same kind and name that is on the same kart since before:
 * fitting another takes it off, also where it came off later in the book as it
 * was so far. */
static enum kw_status find_replaced(struct kw_logbook *book,
                                    int64_t new_id,
                                    int64_t *replaced_id,
                                    struct kw_error *error)
{
    struct kw_query query =
        kw_query_begin(book,
                       "SELECT old.id FROM stint new JOIN stint old"
                       " ON old.id <> new.id AND old.kart IS new.kart"
                       " AND lower(old.part) = lower(new.part)"
                       " AND lower(old.name) IS lower(new.name)"
                       " AND old.from_s <= new.at_s"
                       " AND (old.to_s IS NULL OR old.to_s > new.at_s)"
                       " WHERE new.id = ? ORDER BY old.from_s DESC LIMIT 1",
                       error);
    kw_query_int(&query, new_id);
    *replaced_id = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    return kw_query_end(&query);
}

/* Of its own. One of the two is enough: tyres have days, a piston has hours. */
static bool has_life(const struct kw_new_part *part)
{
    return !isnan(part->life_h) || !isnan(part->life_days);
}

/* Without a life of its own the row keeps that of the starter list as it was
 * that day: what a reader of the file alone can go by. */
static enum kw_status insert_fit(struct kw_logbook *book,
                                 const struct kw_new_part *part,
                                 int64_t id,
                                 struct kw_error *error)
{
    const struct kw_part_life *row =
        has_life(part) ? NULL : kw_part_life_find(part->part);
    struct kw_query query = kw_query_begin(
        book,
        "INSERT INTO fit(entry_id, part, name, life_h, life_days,"
        " life_from_list, hours_so_far, lead_s, registered)"
        " VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)",
        error);
    kw_query_int(&query, id);
    kw_query_text(&query, part->part);
    kw_query_text(&query, part->name);
    kw_query_real(&query, row == NULL ? part->life_h : row->life_h);
    kw_query_real(&query, row == NULL ? part->life_days : row->life_days);
    kw_query_int(&query, row != NULL);
    kw_query_real(&query, part->hours_so_far);
    kw_query_real(&query, part->lead_s);
    kw_query_int(&query, part->registered);
    return kw_query_end(&query);
}

/* The removal is an entry of its own, with the fitting as its reason: each can
 * be withdrawn alone when it was a slip. */
static enum kw_status take_replaced_off(struct kw_logbook *book,
                                        const struct kw_new_entry *entry,
                                        const struct kw_fitted *fitted,
                                        struct kw_error *error)
{
    struct kw_text reason = {0};
    int64_t id = 0;
    kw_text_addf(&reason, "replaced by %lld", (long long)fitted->id);
    if (kw_text_failed(&reason))
        return kw_fail_memory(error);
    struct kw_new_entry removal = *entry;
    removal.text = reason.bytes;
    removal.n_files = 0;
    const enum kw_status status =
        insert_removal(book, &removal, fitted->replaced_id, &id, error);
    kw_text_free(&reason);
    return status;
}

/* The next part of the same kind and name that went on the same kart. */
static enum kw_status find_successor(struct kw_logbook *book,
                                     struct kw_fitted *fitted,
                                     struct kw_error *error)
{
    struct kw_query query =
        kw_query_begin(book,
                       "SELECT next.id, next.from_s FROM stint new"
                       " JOIN stint next ON next.kart IS new.kart"
                       " AND lower(next.part) = lower(new.part)"
                       " AND lower(next.name) IS lower(new.name)"
                       " AND next.from_s > new.at_s"
                       " WHERE new.id = ? ORDER BY next.from_s LIMIT 1",
                       error);
    kw_query_int(&query, fitted->id);
    if (kw_query_row(&query)) {
        fitted->successor_id = kw_query_int_at(&query, 0);
        fitted->off_s = kw_query_real_at(&query, 1);
    }
    return kw_query_end(&query);
}

/* A season that is written down backwards: what is filed late came off when the
 * next one went on, or every session since would count for both. */
static enum kw_status end_at_successor(struct kw_logbook *book,
                                       const struct kw_new_entry *entry,
                                       struct kw_fitted *fitted,
                                       struct kw_error *error)
{
    const enum kw_status status = find_successor(book, fitted, error);
    if (status != KW_OK || fitted->successor_id == 0)
        return status;
    const struct kw_fitted next = {.id = fitted->successor_id,
                                   .replaced_id = fitted->id};
    struct kw_new_entry removal = *entry;
    removal.at_s = fitted->off_s;
    return take_replaced_off(book, &removal, &next, error);
}

/* A part that was fitted "today" counts from the morning, but not from before
 * its forerunner came off: no session goes to both. */
static enum kw_status shorten_lead(struct kw_logbook *book,
                                   int64_t new_id,
                                   struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "UPDATE fit SET lead_s = COALESCE((SELECT new.at_s - max(old.to_s)"
        " FROM stint new JOIN stint old"
        " ON old.id <> new.id AND old.kart IS new.kart"
        " AND lower(old.part) = lower(new.part)"
        " AND lower(old.name) IS lower(new.name)"
        " AND old.to_s > new.from_s AND old.to_s <= new.at_s"
        " WHERE new.id = ?1), lead_s) WHERE entry_id = ?1",
        error);
    kw_query_int(&query, new_id);
    return kw_query_end(&query);
}

/* In this order: the row must be there before the views can say what it
 * replaces, and the forerunner must be off before its successor's hours can
 * begin. */
static enum kw_status fit_within(struct kw_logbook *book,
                                 const struct kw_new_entry *entry,
                                 const struct kw_new_part *part,
                                 struct kw_fitted *fitted,
                                 struct kw_error *error)
{
    char *title = part_title(part->part, part->name, error);
    if (title == NULL)
        return KW_NO_MEMORY;
    const struct kw_entry_head head = {KW_ENTRY_FIT, entry->kart, title};
    enum kw_status status =
        kw_entry_insert(book, entry, &head, &fitted->id, error);
    free(title);
    if (status == KW_OK)
        status = insert_fit(book, part, fitted->id, error);
    if (status == KW_OK)
        status = find_replaced(book, fitted->id, &fitted->replaced_id, error);
    if (status == KW_OK && fitted->replaced_id != 0)
        status = take_replaced_off(book, entry, fitted, error);
    if (status == KW_OK)
        status = end_at_successor(book, entry, fitted, error);
    if (status == KW_OK)
        status = shorten_lead(book, fitted->id, error);
    return status;
}

/* A life of 0 would be over at once, and hours below 0 would hide wear. */
static enum kw_status check_part(const struct kw_new_part *part,
                                 struct kw_error *error)
{
    if (kw_entry_check_words(part->part, "the part has no name", error) !=
        KW_OK)
        return KW_BAD_USAGE;
    if (kw_part_life_check(part->life_h, part->life_days, error) != KW_OK)
        return KW_BAD_USAGE;
    if (!(part->hours_so_far >= 0.0))
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "hours so far cannot be below 0",
                       "write --hours-so-far 3.5, or leave it out when new");
    return KW_OK;
}

/* What it has from now on: as stated, else the owner's figure for its kind,
 * else the starter list's. */
static enum kw_status find_life(struct kw_logbook *book,
                                const struct kw_new_part *part,
                                struct kw_fitted *fitted,
                                struct kw_error *error)
{
    struct kw_lives lives;
    fitted->life_h = part->life_h;
    fitted->life_days = part->life_days;
    fitted->life_from = KW_LIFE_STATED;
    if (has_life(part))
        return KW_OK;
    const enum kw_status status = kw_logbook_lives(book, &lives, error);
    const struct kw_life *life = kw_lives_find(&lives, part->part);
    fitted->life_from = life == NULL    ? KW_LIFE_NONE
                        : life->id != 0 ? KW_LIFE_OWN
                                        : KW_LIFE_LIST;
    if (life != NULL) {
        fitted->life_h = life->life_h;
        fitted->life_days = life->life_days;
    }
    kw_lives_free(&lives);
    return status;
}

/* What the owner states goes before the lists; stating one kind of life means
 * that the other does not count. */
enum kw_status kw_logbook_fit(struct kw_logbook *book,
                              const struct kw_new_entry *entry,
                              const struct kw_new_part *part,
                              struct kw_fitted *fitted,
                              struct kw_error *error)
{
    *fitted = (struct kw_fitted){.life_h = NAN, .life_days = NAN};
    enum kw_status status = check_part(part, error);
    if (status == KW_OK)
        status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = find_life(book, part, fitted, error);
    if (status == KW_OK)
        status = fit_within(book, entry, part, fitted, error);
    return kw_book_settle(book, status, error);
}

/* A part comes off once, and not before it went on: with hours of a negative
 * stint it would stand in the book as one that never ran. */
static enum kw_status check_is_on(struct kw_logbook *book,
                                  double at_s,
                                  int64_t part_id,
                                  struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book, "SELECT to_s IS NOT NULL, from_s > ?2 FROM stint WHERE id = ?1",
        error);
    kw_query_int(&query, part_id);
    kw_query_real(&query, at_s);
    const bool found = kw_query_row(&query);
    const bool is_off = found && kw_query_int_at(&query, 0) != 0;
    const bool is_later = found && kw_query_int_at(&query, 1) != 0;
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK || (!is_off && !is_later))
        return status;
    if (is_off)
        return kw_failf(error, KW_BAD_INPUT, NULL,
                        "'kartwright logbook parts' shows what is fitted",
                        "part %lld is off the kart already",
                        (long long)part_id);
    return kw_failf(error, KW_BAD_INPUT, NULL,
                    "give a later --date, or 'correct' the fitting's first",
                    "part %lld was fitted after that date", (long long)part_id);
}

/* The look and the writing are one transaction: two programs cannot both take
 * it off. */
enum kw_status kw_logbook_remove(struct kw_logbook *book,
                                 const struct kw_new_entry *entry,
                                 int64_t part_id,
                                 int64_t *id,
                                 struct kw_error *error)
{
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = check_is_on(book, entry->at_s, part_id, error);
    if (status == KW_OK)
        status = insert_removal(book, entry, part_id, id, error);
    return kw_book_settle(book, status, error);
}

/* ---- watching and closing ------------------------------------------------ */

/* About a part, it belongs to the kart of that part, whatever kart was named
 * last. */
static enum kw_status watch_within(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   const struct kw_new_watch *watch,
                                   int64_t *id,
                                   struct kw_error *error)
{
    struct kw_target target = {.kind = KW_ENTRY_FIT};
    struct kw_text title = {0};
    enum kw_status status = KW_OK;
    if (watch->part_id != 0)
        status = kw_target_find(book, watch->part_id, &target, error);
    if (status == KW_OK && target.kind != KW_ENTRY_FIT)
        status = kw_target_refuse(watch->part_id, target.kind, "a part", error);
    kw_text_addf(&title, "%s%s", watch->after_run ? "put back: " : "",
                 entry->text);
    if (status == KW_OK && kw_text_failed(&title))
        status = kw_fail_memory(error);
    if (status == KW_OK) {
        const struct kw_entry_head head = {
            KW_ENTRY_WATCH, watch->part_id != 0 ? target.kart : entry->kart,
            title.bytes};
        status = kw_entry_insert(book, entry, &head, id, error);
    }
    kw_text_free(&title);
    kw_target_free(&target);
    if (status != KW_OK)
        return status;
    struct kw_query query =
        kw_query_begin(book,
                       "INSERT INTO watch(entry_id, fit_id, make_do, after_run)"
                       " VALUES(?, ?, ?, ?)",
                       error);
    kw_query_int(&query, *id);
    kw_query_id(&query, watch->part_id);
    kw_query_int(&query, watch->make_do);
    kw_query_int(&query, watch->after_run);
    return kw_query_end(&query);
}

enum kw_status kw_logbook_watch(struct kw_logbook *book,
                                const struct kw_new_entry *entry,
                                const struct kw_new_watch *watch,
                                int64_t *id,
                                struct kw_error *error)
{
    enum kw_status status =
        kw_entry_check_words(entry->text, "nothing to watch was named", error);
    if (status == KW_OK)
        status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = watch_within(book, entry, watch, id, error);
    return kw_book_settle(book, status, error);
}

/* A fitting is closed when its second look is done; notes, sessions and
 * removals ask for nothing. */
static bool can_be_closed(enum kw_entry_kind kind)
{
    return kind == KW_ENTRY_WATCH || kind == KW_ENTRY_FINDING ||
           kind == KW_ENTRY_FIT;
}

/* Closing twice is a slip of the finger: the second number was meant to be
 * another. */
static enum kw_status check_is_open(struct kw_logbook *book,
                                    int64_t target,
                                    struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id FROM closing c JOIN live l ON l.id = c.entry_id"
        " WHERE c.target_id = ?",
        error);
    kw_query_int(&query, target);
    const int64_t by = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK || by == 0)
        return status;
    return kw_failf(error, KW_BAD_INPUT, NULL,
                    "'kartwright logbook due' shows what is open",
                    "entry %lld was closed already, by entry %lld",
                    (long long)target, (long long)by);
}

static enum kw_status close_within(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   int64_t target_id,
                                   int64_t *id,
                                   struct kw_error *error)
{
    const struct kw_about closing = {
        KW_ENTRY_CLOSE, can_be_closed, "a watch item or a finding",
        "INSERT INTO closing(entry_id, target_id) VALUES(?, ?)", target_id};
    const enum kw_status status = check_is_open(book, target_id, error);
    if (status != KW_OK)
        return status;
    return kw_entry_insert_about(book, entry, &closing, id, error);
}

enum kw_status kw_logbook_close_item(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     int64_t target,
                                     int64_t *id,
                                     struct kw_error *error)
{
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = close_within(book, entry, target, id, error);
    return kw_book_settle(book, status, error);
}
