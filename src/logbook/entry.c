/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that every kind of entry has, and looking up what one is about.
 *
 * Entries are only ever added. A correction, a withdrawal and a closing are
 * rows beside the entry that they are about, so that the book can always tell
 * what was thought before. */
#include "logbook/entry.h"

#include "core/fail.h"
#include "core/sha256.h"

#include <stdlib.h>
#include <string.h>

/* The words of the contract and of the table of entries: changing one would
 * make old books unreadable. */
static const char *const kind_names[KW_N_ENTRY_KINDS] = {
    [KW_ENTRY_SESSION] = "session", [KW_ENTRY_NOTE] = "note",
    [KW_ENTRY_FIT] = "fit",         [KW_ENTRY_REMOVE] = "remove",
    [KW_ENTRY_WATCH] = "watch",     [KW_ENTRY_CLOSE] = "close",
    [KW_ENTRY_FINDING] = "finding",
};

static const char *const source_names[] = {
    [KW_DATE_GIVEN] = "given",
    [KW_DATE_LOG] = "log",
    [KW_DATE_FILE] = "file",
    [KW_DATE_NOW] = "now",
};

enum { N_SOURCES = sizeof source_names / sizeof source_names[0] };

const char *kw_entry_kind_name(enum kw_entry_kind kind)
{
    return kind < KW_N_ENTRY_KINDS ? kind_names[kind] : "";
}

const char *kw_date_source_name(enum kw_date_source source)
{
    return (size_t)source < N_SOURCES ? source_names[source] : "";
}

/* One beyond the last for a name that is not ours, which a damaged book may
 * hold. */
enum kw_entry_kind kw_entry_kind_from_name(const char *name)
{
    size_t i = 0;
    while (i < KW_N_ENTRY_KINDS && strcmp(kind_names[i], name) != 0)
        i++;
    return (enum kw_entry_kind)i;
}

/* A damaged row must not stop the whole list from being read: it counts as
 * given, and `check` names the damage. */
enum kw_date_source kw_date_source_from_name(const char *name)
{
    for (size_t i = 0; i < N_SOURCES; i++) {
        if (strcmp(source_names[i], name) == 0)
            return (enum kw_date_source)i;
    }
    return KW_DATE_GIVEN;
}

/* ---- attachments --------------------------------------------------------- */

/* By its sum: the same photo kept with two entries lies in the book once. */
static enum kw_status find_content(struct kw_logbook *book,
                                   const unsigned char *sha256,
                                   int64_t *id,
                                   struct kw_error *error)
{
    struct kw_query query =
        kw_query_begin(book, "SELECT id FROM content WHERE sha256 = ?", error);
    kw_query_bytes(&query, sha256, KW_SHA256_BYTES);
    *id = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    return kw_query_end(&query);
}

/* The sum is kept beside the bytes: each reading is held against it. */
static enum kw_status insert_content(struct kw_logbook *book,
                                     const unsigned char *sha256,
                                     const struct kw_file_copy *file,
                                     int64_t *id,
                                     struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book, "INSERT INTO content(sha256, n_bytes, bytes) VALUES(?, ?, ?)",
        error);
    kw_query_bytes(&query, sha256, KW_SHA256_BYTES);
    kw_query_int(&query, (int64_t)file->n_bytes);
    kw_query_bytes(&query, file->bytes, file->n_bytes);
    const enum kw_status status = kw_query_end(&query);
    *id = sqlite3_last_insert_rowid(book->db);
    return status;
}

/* Bytes once, names as often as they are kept. */
enum kw_status kw_attach(struct kw_logbook *book,
                         int64_t entry_id,
                         const struct kw_file_copy *file,
                         struct kw_error *error)
{
    struct kw_sha256 sum;
    unsigned char digest[KW_SHA256_BYTES];
    int64_t content_id = 0;
    /* Summed up as it comes in, so that a bit that turns over on the disk is
     * found years later. */
    kw_sha256_begin(&sum);
    kw_sha256_add(&sum, file->bytes, file->n_bytes);
    kw_sha256_end(&sum, digest);
    enum kw_status status = find_content(book, digest, &content_id, error);
    /* Within the caller's transaction: nobody can add it in between. */
    if (status == KW_OK && content_id == 0)
        status = insert_content(book, digest, file, &content_id, error);
    if (status != KW_OK)
        return status;
    struct kw_query query = kw_query_begin(
        book,
        "INSERT INTO attachment(entry_id, name, content_id) VALUES(?, ?, ?)",
        error);
    kw_query_int(&query, entry_id);
    kw_query_text(&query, file->name);
    kw_query_int(&query, content_id);
    return kw_query_end(&query);
}

/* ---- the entry ----------------------------------------------------------- */

/* The kart that was last named, when none is. */
static const char insert_sql[] =
    "INSERT INTO entry(kind, at_s, source, written_s, kart, title, text)"
    " VALUES(?, ?, ?, ?, COALESCE(?, (SELECT k.kart FROM entry k"
    "  WHERE k.kart IS NOT NULL AND NOT EXISTS (SELECT 1 FROM withdrawal w"
    "   WHERE w.entry_id = k.id) ORDER BY k.id DESC LIMIT 1)), ?, ?)";

/* Every entry goes through here, whatever it is: date, kart and files are alike
 * for all. */
enum kw_status kw_entry_insert(struct kw_logbook *book,
                               const struct kw_new_entry *entry,
                               const struct kw_entry_head *head,
                               int64_t *id,
                               struct kw_error *error)
{
    struct kw_query query = kw_query_begin(book, insert_sql, error);
    kw_query_text(&query, kw_entry_kind_name(head->kind));
    kw_query_real(&query, entry->at_s);
    kw_query_text(&query, kw_date_source_name(entry->source));
    kw_query_real(&query, entry->written_s);
    kw_query_text(&query, head->kart);
    kw_query_text(&query, head->title);
    kw_query_text(&query, entry->text == NULL ? "" : entry->text);
    enum kw_status status = kw_query_end(&query);
    /* Attachments stand in the same transaction: an entry is never there
     * without its photo. */
    *id = sqlite3_last_insert_rowid(book->db);
    for (size_t i = 0; i < entry->n_files && status == KW_OK; i++)
        status = kw_attach(book, *id, &entry->files[i], error);
    return status;
}

/* ---- what an entry is about ---------------------------------------------- */

/* A finding is withdrawn with its session. */
enum kw_status kw_target_find(struct kw_logbook *book,
                              int64_t id,
                              struct kw_target *target,
                              struct kw_error *error)
{
    *target = (struct kw_target){.kind = KW_N_ENTRY_KINDS};
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.kind, l.kart, l.title FROM live l"
        " LEFT JOIN finding f ON f.entry_id = l.id WHERE l.id = ?"
        " AND NOT EXISTS (SELECT 1 FROM withdrawal w"
        "  WHERE w.entry_id = f.session_id)",
        error);
    kw_query_int(&query, id);
    if (kw_query_row(&query)) {
        char *kind = kw_query_text_at(&query, 0);
        if (kind != NULL)
            target->kind = kw_entry_kind_from_name(kind);
        free(kind);
        target->kart = kw_query_text_at(&query, 1);
        target->title = kw_query_text_at(&query, 2);
    }
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK)
        kw_target_free(target);
    return status;
}

/* Safe to call twice, and after a refusal. */
void kw_target_free(struct kw_target *target)
{
    free(target->kart);
    free(target->title);
    target->kart = NULL;
    target->title = NULL;
}

/* Says what the number is, where it is something: mostly it is a digit off. */
enum kw_status kw_target_refuse(int64_t id,
                                enum kw_entry_kind kind,
                                const char *wanted,
                                struct kw_error *error)
{
    static const char todo[] =
        "'kartwright logbook list' and 'due' show the numbers";
    if (kind == KW_N_ENTRY_KINDS)
        return kw_failf(error, KW_BAD_INPUT, NULL, todo,
                        "the logbook has no entry %lld", (long long)id);
    return kw_failf(error, KW_BAD_INPUT, NULL, todo,
                    "entry %lld is a %s, %s is wanted", (long long)id,
                    kw_entry_kind_name(kind), wanted);
}

/* The kart and the title come from what it is about: of two karts the right one
 * gets it. */
enum kw_status kw_entry_insert_about(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     const struct kw_about *about,
                                     int64_t *id,
                                     struct kw_error *error)
{
    struct kw_target target;
    enum kw_status status =
        kw_target_find(book, about->target_id, &target, error);
    if (status == KW_OK && !about->fits(target.kind))
        status = kw_target_refuse(about->target_id, target.kind, about->wanted,
                                  error);
    if (status == KW_OK) {
        const struct kw_entry_head head = {about->kind, target.kart,
                                           target.title};
        status = kw_entry_insert(book, entry, &head, id, error);
    }
    kw_target_free(&target);
    if (status != KW_OK)
        return status;
    struct kw_query query = kw_query_begin(book, about->link_sql, error);
    kw_query_int(&query, *id);
    kw_query_int(&query, about->target_id);
    return kw_query_end(&query);
}

/* ---- words --------------------------------------------------------------- */

enum kw_status kw_entry_check_words(const char *text,
                                    const char *what,
                                    struct kw_error *error)
{
    /* Blanks alone come of a slip with the quotes. */
    if (text == NULL || text[strspn(text, " \t\n")] == '\0')
        return kw_fail(error, KW_BAD_USAGE, NULL, 0, what,
                       "write it in quotes: \"...\"");
    return KW_OK;
}
