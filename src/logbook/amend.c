/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Setting entries right: another date, or out of every count. The entry itself
 * stays as it was written, and the change is written beside it.
 *
 * A book that forgets is not believed: by the scrutineer, the buyer of the
 * kart, or its owner a year later. */
#include "logbook/entry.h"

#include "core/fail.h"

/* Findings follow their session and have no date of their own. */
static enum kw_status check_target(struct kw_logbook *book,
                                   int64_t id,
                                   struct kw_error *error)
{
    struct kw_target target;
    const enum kw_status status = kw_target_find(book, id, &target, error);
    kw_target_free(&target);
    if (status != KW_OK)
        return status;
    if (target.kind == KW_N_ENTRY_KINDS || target.kind == KW_ENTRY_FINDING)
        return kw_target_refuse(id, target.kind, "an entry of the list", error);
    return KW_OK;
}

/* Looked at when the new dates stand, and taken back with them. */
static enum kw_status check_order(struct kw_logbook *book,
                                  int64_t target,
                                  struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT s.id FROM stint s WHERE s.to_s < s.from_s AND (s.id = ?1"
        " OR s.id IN (SELECT m.fit_id FROM removal m JOIN live r"
        "  ON r.id = m.entry_id"
        "  WHERE r.id = ?1 OR r.text = 'replaced by ' || ?1))",
        error);
    kw_query_int(&query, target);
    const int64_t part = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK || part == 0)
        return status;
    return kw_failf(error, KW_BAD_INPUT, NULL,
                    "correct the other end first, or withdraw this one",
                    "part %lld would come off before it was fitted",
                    (long long)part);
}

/* The date alone, never the text: what was noticed stays as it was noticed. Of
 * several corrections the last counts, see the view `live`. With a fitting goes
 * the removal that it brought, which has it as its reason: else two parts of
 * the kind, or none, would be on the kart in between. */
enum kw_status kw_logbook_correct(struct kw_logbook *book,
                                  const struct kw_new_entry *entry,
                                  int64_t target,
                                  struct kw_error *error)
{
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = check_target(book, target, error);
    if (status == KW_OK) {
        struct kw_query query = kw_query_begin(
            book,
            "INSERT INTO correction(entry_id, written_s, reason, at_s)"
            " SELECT id, ?2, ?3, ?4 FROM live WHERE id = ?1"
            " OR (kind = 'remove' AND text = 'replaced by ' || ?1)",
            error);
        kw_query_int(&query, target);
        kw_query_real(&query, entry->written_s);
        kw_query_text(&query, entry->text == NULL ? "" : entry->text);
        kw_query_real(&query, entry->at_s);
        status = kw_query_end(&query);
    }
    if (status == KW_OK)
        status = check_order(book, target, error);
    return kw_book_settle(book, status, error);
}

/* A part that something is still said about cannot vanish from under it. */
static enum kw_status check_not_needed(struct kw_logbook *book,
                                       int64_t id,
                                       struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id FROM live l WHERE l.id IN"
        " (SELECT entry_id FROM removal WHERE fit_id = ?1"
        "  UNION SELECT entry_id FROM watch WHERE fit_id = ?1"
        "  UNION SELECT entry_id FROM closing WHERE target_id = ?1)",
        error);
    kw_query_int(&query, id);
    const int64_t by = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK || by == 0)
        return status;
    return kw_failf(error, KW_BAD_INPUT, NULL, "withdraw that one first",
                    "entry %lld is about entry %lld", (long long)by,
                    (long long)id);
}

/* Nothing is deleted: a slip of last year may turn out to be none, and who
 * reads the book sees that it was withdrawn and why. */
enum kw_status kw_logbook_withdraw(struct kw_logbook *book,
                                   const struct kw_new_entry *entry,
                                   int64_t target,
                                   struct kw_error *error)
{
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = check_target(book, target, error);
    /* Foreign keys would not stop it, for the row itself stays. */
    if (status == KW_OK)
        status = check_not_needed(book, target, error);
    if (status == KW_OK) {
        struct kw_query query =
            kw_query_begin(book,
                           "INSERT INTO withdrawal(entry_id, written_s, reason)"
                           " SELECT id, ?2, ?3 FROM live WHERE id = ?1"
                           " OR (kind = 'remove'"
                           "  AND text = 'replaced by ' || ?1)",
                           error);
        kw_query_int(&query, target);
        kw_query_real(&query, entry->written_s);
        kw_query_text(&query, entry->text == NULL ? "" : entry->text);
        status = kw_query_end(&query);
    }
    return kw_book_settle(book, status, error);
}

enum kw_status kw_logbook_part_replaced(struct kw_logbook *book,
                                        int64_t by,
                                        int64_t *part_id,
                                        struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT m.fit_id FROM removal m JOIN live r ON r.id = m.entry_id"
        " WHERE r.text = 'replaced by ' || ? LIMIT 1",
        error);
    kw_query_int(&query, by);
    *part_id = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    return kw_query_end(&query);
}
