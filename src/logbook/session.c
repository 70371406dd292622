/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A reviewed session as one entry: its summary, its measures, its findings, and
 * the log's fingerprint, by which a second adding is noticed. */
#include "logbook/entry.h"
#include "logbook/measures.h"

#include <math.h>

/* As FIPS 180-4 has it: 256 bits. */
enum { SHA256_BYTES = 32 };

/* Withdrawn entries do not count: a log that was filed for the wrong kart is
 * withdrawn and added again. */
enum kw_status kw_logbook_find_log(struct kw_logbook *book,
                                   const unsigned char log_sha256[32],
                                   int64_t *id,
                                   struct kw_error *error)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT l.id FROM session s JOIN live l ON l.id = s.entry_id"
        " WHERE s.log_sha256 = ?",
        error);
    kw_query_bytes(&query, log_sha256, SHA256_BYTES);
    *id = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    return kw_query_end(&query);
}

/* The numbers that lists and pages show stand in the row: they must be there
 * when the log is gone, and without reading it again. */
static enum kw_status insert_session(struct kw_logbook *book,
                                     int64_t id,
                                     const struct kw_new_session *session,
                                     const struct kw_session_numbers *numbers,
                                     struct kw_error *error)
{
    const struct kw_review *review = session->review;
    const struct kw_air *air = session->air;
    struct kw_query query = kw_query_begin(
        book,
        "INSERT INTO session(entry_id, log_name, log_sha256, log_bytes,"
        " running_s, starts, revolutions, n_laps, best_lap_s, rpm_max,"
        " egt_max_c, verdict, verdict_text, setup, air_temp_c,"
        " air_pressure_pa, air_humidity)"
        " VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        error);
    kw_query_int(&query, id);
    kw_query_text(&query, session->log_name);
    kw_query_bytes(&query, session->log_sha256, SHA256_BYTES);
    kw_query_int(&query, (int64_t)session->log_bytes);
    kw_query_real(&query, review->running.seconds);
    kw_query_int(&query, (int64_t)review->running.starts);
    kw_query_real(&query, numbers->revolutions);
    kw_query_int(&query, (int64_t)review->laps.n);
    kw_query_real(&query, numbers->best_lap_s);
    kw_query_real(&query, numbers->rpm_max);
    kw_query_real(&query, numbers->egt_max_c);
    kw_query_int(&query, (int64_t)review->verdict);
    kw_query_text(&query, review->verdict_text);
    kw_query_text(&query, session->setup);
    kw_query_real(&query, air == NULL ? NAN : air->temp_c);
    kw_query_real(&query, air == NULL ? NAN : air->pressure_pa);
    kw_query_real(&query, air == NULL ? NAN : air->humidity);
    return kw_query_end(&query);
}

/* One row for each measure, by name: a measure that a later program adds needs
 * no change of the tables, and one that is not known has no row. */
static enum kw_status insert_measures(struct kw_logbook *book,
                                      int64_t id,
                                      const struct kw_session_numbers *numbers,
                                      struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < KW_N_MEASURES && status == KW_OK; i++) {
        if (!isfinite(numbers->values[i]))
            continue;
        struct kw_query query = kw_query_begin(
            book,
            "INSERT INTO measure(session_id, name, value) VALUES(?, ?, ?)",
            error);
        kw_query_int(&query, id);
        kw_query_text(&query, kw_measure_row((enum kw_measure)i)->name);
        kw_query_real(&query, numbers->values[i]);
        status = kw_query_end(&query);
    }
    return status;
}

/* A finding has a number of its own, by which it can be closed. Its title is
 * the part: a finding of the same title in a later session is the same fault
 * come back. */
static enum kw_status insert_finding(struct kw_logbook *book,
                                     const struct kw_new_entry *entry,
                                     int64_t session_id,
                                     const struct kw_suggestion *suggestion,
                                     struct kw_error *error)
{
    struct kw_new_entry own = *entry;
    int64_t id = 0;
    own.text = suggestion->why;
    own.files = NULL;
    own.n_files = 0;
    const struct kw_entry_head head = {KW_ENTRY_FINDING, entry->kart,
                                       suggestion->part};
    const enum kw_status status =
        kw_entry_insert(book, &own, &head, &id, error);
    if (status != KW_OK)
        return status;
    struct kw_query query = kw_query_begin(
        book,
        "INSERT INTO finding(entry_id, session_id, rank, urgency, check_steps,"
        " caution) VALUES(?, ?, ?, ?, ?, ?)",
        error);
    kw_query_int(&query, id);
    kw_query_int(&query, session_id);
    kw_query_int(&query, (int64_t)suggestion->rank);
    kw_query_int(&query, (int64_t)suggestion->urgency);
    kw_query_text(&query, suggestion->check);
    kw_query_text(&query, suggestion->caution);
    return kw_query_end(&query);
}

/* Measured before anything is written: the transaction is short. */
static enum kw_status add_within(struct kw_logbook *book,
                                 const struct kw_new_entry *entry,
                                 const struct kw_new_session *session,
                                 struct kw_added *added,
                                 struct kw_error *error)
{
    const struct kw_suggestions *found = &session->review->suggestions;
    struct kw_session_numbers numbers;
    const struct kw_entry_head head = {KW_ENTRY_SESSION, entry->kart,
                                       session->log_name};
    enum kw_status status =
        kw_measure_session(session->review, &numbers, error);
    if (status == KW_OK)
        status = kw_entry_insert(book, entry, &head, &added->id, error);
    if (status == KW_OK)
        status = insert_session(book, added->id, session, &numbers, error);
    if (status == KW_OK)
        status = insert_measures(book, added->id, &numbers, error);
    for (size_t i = 0; i < found->n && status == KW_OK; i++)
        status =
            insert_finding(book, entry, added->id, &found->items[i], error);
    return status;
}

/* The look for the log and the adding are one transaction: two at once cannot
 * both add it. */
enum kw_status kw_logbook_add_session(struct kw_logbook *book,
                                      const struct kw_new_entry *entry,
                                      const struct kw_new_session *session,
                                      struct kw_added *added,
                                      struct kw_error *error)
{
    *added = (struct kw_added){0};
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = kw_logbook_find_log(book, session->log_sha256, &added->id, error);
    added->already = added->id != 0;
    if (status == KW_OK && !added->already)
        status = add_within(book, entry, session, added, error);
    return kw_book_settle(book, status, error);
}
