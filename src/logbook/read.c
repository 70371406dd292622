/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries as they count now, with their attachments.
 *
 * "Now" is what the view `live` says: with the last correction of each date,
 * and without what was withdrawn. */
#include "logbook/entry.h"

#include "core/array.h"
#include "core/sha256.h"

#include <stdlib.h>
#include <string.h>

/* Up to so many entries, such as the findings of a session, are asked for one
 * by one; for more the whole table is read once. */
enum { MOST_ONE_BY_ONE = 16 };

#define ENTRY_COLUMNS                                                          \
    "SELECT l.id, l.kind, l.at_s, l.source, l.kart, l.title, l.text,"          \
    " COALESCE(r.fit_id, w.fit_id, c.target_id, f.session_id), s.running_s"    \
    " FROM live l LEFT JOIN removal r ON r.entry_id = l.id"                    \
    " LEFT JOIN watch w ON w.entry_id = l.id"                                  \
    " LEFT JOIN closing c ON c.entry_id = l.id"                                \
    " LEFT JOIN finding f ON f.entry_id = l.id"                                \
    " LEFT JOIN session s ON s.entry_id = l.id"

/* What one entry owns; the list owns the entries. */
static void entry_free(struct kw_entry *entry)
{
    for (size_t i = 0; i < entry->n_attachments; i++) {
        free(entry->attachments[i].name);
        free(entry->attachments[i].sha256);
    }
    free(entry->attachments);
    free(entry->kart);
    free(entry->title);
    free(entry->text);
}

void kw_entries_free(struct kw_entries *entries)
{
    for (size_t i = 0; i < entries->n; i++)
        entry_free(&entries->items[i]);
    free(entries->items);
    *entries = (struct kw_entries){0};
}

/* The row that the query stands on. */
static void take_entry(struct kw_query *query, struct kw_entries *out)
{
    if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                         sizeof *out->items, query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    struct kw_entry *entry = &out->items[out->n++];
    char *kind = kw_query_text_at(query, 1);
    char *source = kw_query_text_at(query, 3);
    *entry = (struct kw_entry){
        .id = kw_query_int_at(query, 0),
        .kind = kw_entry_kind_from_name(kind == NULL ? "" : kind),
        .at_s = kw_query_real_at(query, 2),
        .source = kw_date_source_from_name(source == NULL ? "" : source),
        .kart = kw_query_text_at(query, 4),
        .title = kw_query_string_at(query, 5),
        .text = kw_query_string_at(query, 6),
        .about_id = kw_query_int_at(query, 7),
        .running_s = kw_query_real_at(query, 8),
    };
    free(kind);
    free(source);
}

/* ---- attachments --------------------------------------------------------- */

/* The content stays in the book: a list of a thousand sessions must not carry
 * all of their plots in memory. */
static void take_attachment(struct kw_query *query, struct kw_entry *entry)
{
    if (kw_array_reserve(&entry->attachments, &entry->attachments_capacity,
                         entry->n_attachments + 1, sizeof *entry->attachments,
                         query->error) != KW_OK) {
        query->status = KW_NO_MEMORY;
        return;
    }
    struct kw_attachment *attachment =
        &entry->attachments[entry->n_attachments++];
    *attachment = (struct kw_attachment){
        .id = kw_query_int_at(query, 1),
        .name = kw_query_string_at(query, 2),
        .n_bytes = kw_query_int_at(query, 3),
        .sha256 = kw_query_string_at(query, 4),
    };
}

/* bsearch() hands the key first. */
static int by_id(const void *key, const void *item)
{
    const int64_t id = *(const int64_t *)key;
    const struct kw_entry *const *entry = item;
    return (id > (*entry)->id) - (id < (*entry)->id);
}

/* Ids are 64 bits wide: a difference would not fit into the int that qsort()
 * wants. */
static int compare_ids(const void *a, const void *b)
{
    const struct kw_entry *const *x = a;
    const struct kw_entry *const *y = b;
    return ((*x)->id > (*y)->id) - ((*x)->id < (*y)->id);
}

/* The index has all but the content itself, which lies beside these columns and
 * would be read page by page. */
#define ATTACHMENT_COLUMNS                                                     \
    "SELECT a.entry_id, a.id, a.name, c.n_bytes, lower(hex(c.sha256))"         \
    " FROM attachment a JOIN content c INDEXED BY content_facts"               \
    " ON c.id = a.content_id"

static enum kw_status add_attachments_of(struct kw_logbook *book,
                                         struct kw_entry *entry,
                                         struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book, ATTACHMENT_COLUMNS " WHERE a.entry_id = ? ORDER BY a.id", error);
    kw_query_int(&query, entry->id);
    while (kw_query_row(&query))
        take_attachment(&query, entry);
    return kw_query_end(&query);
}

/* One query for all entries: a query for each would take a thousand. */
static enum kw_status add_all_attachments(struct kw_logbook *book,
                                          struct kw_entries *entries,
                                          struct kw_error *error)
{
    struct kw_entry **sorted = kw_array_new(entries->n, sizeof *sorted, error);
    if (sorted == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < entries->n; i++)
        sorted[i] = &entries->items[i];
    qsort(sorted, entries->n, sizeof *sorted, compare_ids);
    struct kw_query query =
        kw_query_begin(book, ATTACHMENT_COLUMNS " ORDER BY a.id", error);
    while (kw_query_row(&query)) {
        const int64_t id = kw_query_int_at(&query, 0);
        struct kw_entry **found =
            bsearch(&id, sorted, entries->n, sizeof *sorted, by_id);
        if (found != NULL)
            take_attachment(&query, *found);
    }
    free(sorted);
    return kw_query_end(&query);
}

/* One finding should not cost a pass over all the attachments of ten seasons,
 * and a list of entries not a query for each. */
static enum kw_status add_attachments(struct kw_logbook *book,
                                      struct kw_entries *entries,
                                      struct kw_error *error)
{
    enum kw_status status = KW_OK;
    if (entries->n > MOST_ONE_BY_ONE)
        return add_all_attachments(book, entries, error);
    for (size_t i = 0; i < entries->n && status == KW_OK; i++)
        status = add_attachments_of(book, &entries->items[i], error);
    return status;
}

/* Byte for byte as it was put in, or an error. */
enum kw_status kw_logbook_read_file(struct kw_logbook *book,
                                    int64_t attachment_id,
                                    char **bytes,
                                    size_t *n_bytes,
                                    struct kw_error *error)
{
    unsigned char digest[KW_SHA256_BYTES];
    struct kw_sha256 sum;
    bool whole = false;
    *bytes = NULL;
    *n_bytes = 0;
    struct kw_query query =
        kw_query_begin(book,
                       "SELECT c.bytes, c.sha256 FROM attachment a"
                       " JOIN content c ON c.id = a.content_id WHERE a.id = ?",
                       error);
    kw_query_int(&query, attachment_id);
    /* The sum is checked at each reading: a damaged photo is said to be
     * damaged, never handed out as if it were whole. */
    if (kw_query_row(&query)) {
        const void *content = sqlite3_column_blob(query.statement, 0);
        *n_bytes = (size_t)sqlite3_column_bytes(query.statement, 0);
        *bytes = kw_array_new(*n_bytes, 1, error);
        if (*bytes == NULL || (content == NULL && *n_bytes > 0))
            query.status = kw_fail_memory(error);
        else if (*n_bytes > 0)
            memcpy(*bytes, content, *n_bytes);
        kw_sha256_begin(&sum);
        kw_sha256_add(&sum, *bytes, *bytes == NULL ? 0 : *n_bytes);
        kw_sha256_end(&sum, digest);
        const void *kept = sqlite3_column_blob(query.statement, 1);
        whole = kept != NULL && memcmp(kept, digest, sizeof digest) == 0;
    }
    enum kw_status status = kw_query_end(&query);
    if (status == KW_OK && !whole)
        status = kw_fail(error, KW_BAD_INPUT, book->path, 0,
                         "an attachment is damaged or not there",
                         "run 'kartwright logbook check'");
    if (status != KW_OK) {
        free(*bytes);
        *bytes = NULL;
    }
    return status;
}

/* ---- entries ------------------------------------------------------------- */

/* Runs a query for entries, with one id as its parameter where it has one. */
static enum kw_status read_entries(struct kw_logbook *book,
                                   const char *sql,
                                   int64_t id,
                                   struct kw_entries *out,
                                   struct kw_error *error)
{
    *out = (struct kw_entries){0};
    struct kw_query query = kw_query_begin(book, sql, error);
    if (id != 0)
        kw_query_int(&query, id);
    while (kw_query_row(&query))
        take_entry(&query, out);
    enum kw_status status = kw_query_end(&query);
    if (status == KW_OK)
        status = add_attachments(book, out, error);
    if (status != KW_OK)
        kw_entries_free(out);
    return status;
}

/* Findings belong to their sessions and would drown the rest. */
enum kw_status kw_logbook_entries(struct kw_logbook *book,
                                  struct kw_entries *out,
                                  struct kw_error *error)
{
    return read_entries(
        book, ENTRY_COLUMNS " WHERE l.kind <> 'finding' ORDER BY l.at_s, l.id",
        0, out, error);
}

/* Withdrawn entries are in the file but in no list: asking for one by number
 * gives the same answer as asking for one that never was. */
enum kw_status kw_logbook_entry(struct kw_logbook *book,
                                int64_t id,
                                struct kw_entries *out,
                                struct kw_error *error)
{
    enum kw_status status =
        read_entries(book, ENTRY_COLUMNS " WHERE l.id = ?", id, out, error);
    if (status == KW_OK && out->n == 0)
        status = kw_target_refuse(id, KW_N_ENTRY_KINDS, "an entry", error);
    return status;
}

/* In the order in which the review ranked them: most pressing first. */
enum kw_status kw_logbook_findings(struct kw_logbook *book,
                                   int64_t session_id,
                                   struct kw_entries *out,
                                   struct kw_error *error)
{
    return read_entries(book,
                        ENTRY_COLUMNS " WHERE f.session_id = ? ORDER BY f.rank",
                        session_id, out, error);
}

/* ---- sessions ------------------------------------------------------------ */

/* What the review summed up on the day: the log itself may be gone by now. */
enum kw_status kw_logbook_session(struct kw_logbook *book,
                                  int64_t id,
                                  struct kw_session_facts *out,
                                  struct kw_error *error)
{
    bool found = false;
    *out = (struct kw_session_facts){0};
    struct kw_query query = kw_query_begin(
        book,
        "SELECT log_name, running_s, revolutions, n_laps, best_lap_s, rpm_max,"
        " egt_max_c, verdict_text, setup, air_temp_c, air_pressure_pa,"
        " air_humidity, lower(hex(log_sha256)), verdict FROM session"
        " WHERE entry_id = ?",
        error);
    kw_query_int(&query, id);
    if (kw_query_row(&query)) {
        found = true;
        *out = (struct kw_session_facts){
            .log_name = kw_query_string_at(&query, 0),
            .log_sha256 = kw_query_string_at(&query, 12),
            .running_s = kw_query_real_at(&query, 1),
            .revolutions = kw_query_real_at(&query, 2),
            .n_laps = kw_query_int_at(&query, 3),
            .best_lap_s = kw_query_real_at(&query, 4),
            .rpm_max = kw_query_real_at(&query, 5),
            .egt_max_c = kw_query_real_at(&query, 6),
            .verdict = (enum kw_verdict)kw_query_int_at(&query, 13),
            .verdict_text = kw_query_string_at(&query, 7),
            .setup = kw_query_text_at(&query, 8),
            .air = {kw_query_real_at(&query, 9), kw_query_real_at(&query, 10),
                    kw_query_real_at(&query, 11)}};
    }
    enum kw_status status = kw_query_end(&query);
    if (status == KW_OK && !found)
        status = kw_target_refuse(id, KW_N_ENTRY_KINDS, "a session", error);
    if (status != KW_OK)
        kw_session_facts_free(out);
    return status;
}

/* The air is a struct of numbers and owns nothing. */
void kw_session_facts_free(struct kw_session_facts *facts)
{
    free(facts->log_name);
    free(facts->log_sha256);
    free(facts->verdict_text);
    free(facts->setup);
    *facts = (struct kw_session_facts){0};
}

/* As the review wrote it then: a later program may know better, but the book
 * tells what was said. */
enum kw_status kw_logbook_advice(struct kw_logbook *book,
                                 int64_t finding_id,
                                 struct kw_finding_advice *out,
                                 struct kw_error *error)
{
    *out = (struct kw_finding_advice){0};
    struct kw_query query = kw_query_begin(
        book, "SELECT check_steps, caution FROM finding WHERE entry_id = ?",
        error);
    kw_query_int(&query, finding_id);
    if (kw_query_row(&query)) {
        out->check = kw_query_string_at(&query, 0);
        out->caution = kw_query_string_at(&query, 1);
    }
    const enum kw_status status = kw_query_end(&query);
    if (status != KW_OK)
        kw_finding_advice_free(out);
    return status;
}

void kw_finding_advice_free(struct kw_finding_advice *advice)
{
    free(advice->check);
    free(advice->caution);
    *advice = (struct kw_finding_advice){0};
}
