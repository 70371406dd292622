/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing down what became of a check, and adding one to the round. Each public
 * function is one transaction.
 *
 * A tick is dated. Whether it closes the round is not stored but asked: a
 * session that is filed late opens it again. */
#include "kartwright/upkeep.h"
#include "logbook/check_list.h"
#include "logbook/entry.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* The number of an own check as the round shows it, so that 023 and 23 are one.
 *
 * item  the caller frees it; NULL when there is no such check. */
static enum kw_status find_own(struct kw_logbook *book,
                               const char *word,
                               char **item,
                               struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id FROM own_check o JOIN live l ON l.id = o.entry_id"
        " WHERE CAST(l.id AS TEXT) = ltrim(?, '0')",
        error);
    kw_query_text(&query, word);
    *item = kw_query_row(&query) ? kw_query_string_at(&query, 0) : NULL;
    return kw_query_end(&query);
}

/* The names are short and not all are guessed. */
static enum kw_status refuse_item(const char *word, struct kw_error *error)
{
    return kw_failf(error, KW_BAD_USAGE, NULL,
                    "'kartwright logbook round' shows their names",
                    "the round has no check '%s'", word);
}

/* The name as the round shows it, whatever word was used for it. */
static enum kw_status find_item(struct kw_logbook *book,
                                const char *word,
                                char **item,
                                struct kw_error *error)
{
    const struct kw_check_row *row = kw_check_list_find(word);
    enum kw_status status = KW_OK;
    if (row != NULL)
        *item = kw_text_duplicate(row->name, error);
    else
        status = find_own(book, word, item, error);
    if (status != KW_OK)
        return status;
    if (row == NULL && *item == NULL)
        return refuse_item(word, error);
    return *item == NULL ? KW_NO_MEMORY : KW_OK;
}

/* Said twice in one breath is said once. */
static enum kw_status insert_tick(struct kw_logbook *book,
                                  int64_t entry_id,
                                  const char *item,
                                  enum kw_check_state outcome,
                                  struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "INSERT OR IGNORE INTO tick(entry_id, item, outcome) VALUES(?, ?, ?)",
        error);
    kw_query_int(&query, entry_id);
    kw_query_text(&query, item);
    kw_query_text(&query, kw_check_state_name(outcome));
    return kw_query_end(&query);
}

/* ---- whose round --------------------------------------------------------- */

/* "it knows Number 7, Number 8"; nothing where it knows none.
 *
 * is_known  whether `kart` is one of them. */
static enum kw_status list_karts(struct kw_logbook *book,
                                 const char *kart,
                                 struct kw_text *text,
                                 bool *is_known,
                                 struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT DISTINCT kart FROM live WHERE kart IS NOT NULL ORDER BY kart",
        error);
    *is_known = false;
    while (kw_query_row(&query)) {
        char *name = kw_query_string_at(&query, 0);
        if (name == NULL)
            continue;
        *is_known = *is_known || kw_same_kart(name, kart);
        kw_text_add(text, text->length == 0 ? "it knows " : ", ");
        kw_text_add(text, name);
        free(name);
    }
    return kw_query_end(&query);
}

/* A slip in the name would tick the round of a kart that is not there, and
 * leave open what was done. A kart becomes known with its first entry of
 * another kind. */
static enum kw_status check_kart(struct kw_logbook *book,
                                 const char *kart,
                                 struct kw_error *error)
{
    struct kw_text todo = {0};
    bool is_known = false;
    if (kart == NULL)
        return KW_OK;
    enum kw_status status = list_karts(book, kart, &todo, &is_known, error);
    if (status == KW_OK && kw_text_failed(&todo))
        status = kw_fail_memory(error);
    else if (status == KW_OK && !is_known)
        status =
            kw_failf(error, KW_BAD_USAGE, NULL,
                     todo.length > 0 ? todo.bytes
                                     : "it knows none yet: leave --kart out",
                     "the logbook knows no kart '%s'", kart);
    kw_text_free(&todo);
    return status;
}

/* ---- ticking ------------------------------------------------------------- */

/* "checked: chain, brake", what the list of entries shows. */
static void add_title(struct kw_text *title,
                      const char *item,
                      enum kw_check_state outcome)
{
    kw_text_add(title, title->length > 0             ? ", "
                       : outcome == KW_CHECK_DONE    ? "checked: "
                       : outcome == KW_CHECK_SKIPPED ? "check skipped: "
                                                     : "not on this kart: ");
    kw_text_add(title, item);
}

/* "tyres tires" are one. */
static bool was_named(char *const *items, size_t n, const char *item)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(items[i], item) == 0)
            return true;
    }
    return false;
}

/* Items by their own names, and the title that they make. */
static enum kw_status name_items(struct kw_logbook *book,
                                 const struct kw_new_tick *tick,
                                 char **items,
                                 struct kw_text *title,
                                 struct kw_error *error)
{
    for (size_t i = 0; i < tick->n_items; i++) {
        const enum kw_status status =
            find_item(book, tick->items[i], &items[i], error);
        if (status != KW_OK)
            return status;
        if (!was_named(items, i, items[i]))
            add_title(title, items[i], tick->outcome);
    }
    return kw_text_failed(title) ? kw_fail_memory(error) : KW_OK;
}

/* One entry for what was said in one breath: a walk round the kart is one line
 * in the list, not seventeen. */
static enum kw_status tick_within(struct kw_logbook *book,
                                  const struct kw_new_entry *entry,
                                  const struct kw_new_tick *tick,
                                  int64_t *id,
                                  struct kw_error *error)
{
    struct kw_text title = {0};
    char **items = kw_array_new(tick->n_items, sizeof *items, error);
    if (items == NULL)
        return KW_NO_MEMORY;
    enum kw_status status = check_kart(book, entry->kart, error);
    if (status == KW_OK)
        status = name_items(book, tick, items, &title, error);
    if (status == KW_OK) {
        const struct kw_entry_head head = {KW_ENTRY_NOTE, entry->kart,
                                           title.bytes};
        status = kw_entry_insert(book, entry, &head, id, error);
    }
    for (size_t i = 0; i < tick->n_items && status == KW_OK; i++)
        status = insert_tick(book, *id, items[i], tick->outcome, error);
    for (size_t i = 0; i < tick->n_items; i++)
        free(items[i]);
    free(items);
    kw_text_free(&title);
    return status;
}

/* All of them or none: a slip in the third name must not leave two ticks
 * behind. */
enum kw_status kw_logbook_tick(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               const struct kw_new_tick *tick,
                               int64_t *id,
                               struct kw_error *error)
{
    assert(tick->n_items > 0 && tick->outcome != KW_CHECK_OPEN);
    const enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    return kw_book_settle(book, tick_within(book, entry, tick, id, error),
                          error);
}

/* ---- adding -------------------------------------------------------------- */

/* The text alone is what the round shows; the title says in the list what kind
 * of note it is. */
static enum kw_status add_check_within(struct kw_logbook *book,
                                       const struct kw_new_entry *entry,
                                       int64_t *id,
                                       struct kw_error *error)
{
    struct kw_text title = {0};
    kw_text_addf(&title, "new check: %s", entry->text);
    if (kw_text_failed(&title))
        return kw_fail_memory(error);
    const struct kw_entry_head head = {KW_ENTRY_NOTE, entry->kart, title.bytes};
    const enum kw_status status =
        kw_entry_insert(book, entry, &head, id, error);
    kw_text_free(&title);
    if (status != KW_OK)
        return status;
    struct kw_query query = kw_query_begin(
        book, "INSERT INTO own_check(entry_id) VALUES(?)", error);
    kw_query_int(&query, *id);
    return kw_query_end(&query);
}

/* For every kart: what the owner looks at on one is looked at on all. */
enum kw_status kw_logbook_new_check(struct kw_logbook *book,
                                    const struct kw_new_entry *entry,
                                    int64_t *id,
                                    struct kw_error *error)
{
    enum kw_status status =
        kw_entry_check_words(entry->text, "the check has no words", error);
    if (status == KW_OK)
        status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    return kw_book_settle(book, add_check_within(book, entry, id, error),
                          error);
}
