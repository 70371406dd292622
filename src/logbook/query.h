/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Talking to SQLite: prepared statements whose errors need one check at the
 * end, and transactions.
 *
 *     struct kw_query query = kw_query_begin(
 *         book, "SELECT at_s FROM entry WHERE id = ?", error);
 *     kw_query_int(&query, id);
 *     while (kw_query_row(&query))
 *         at_s = kw_query_real_at(&query, 0);
 *     return kw_query_end(&query);
 *
 * After a failure every call does nothing, and kw_query_end() says what failed.
 */
#ifndef KARTWRIGHT_LOGBOOK_QUERY_H
#define KARTWRIGHT_LOGBOOK_QUERY_H

#include "kartwright/logbook.h"

#include <sqlite3.h>

/* path    as the person named it, for errors.
 * exists  false for the empty stand-in of a file that is not there.
 * version  SQLite's count of what other programs wrote, of a book that was made
 *          when it was opened and has been left empty since; else 0.
 * rollback  made with each transaction, for taking it back must not need
 * memory; else NULL. */
struct kw_logbook {
    sqlite3 *db;
    sqlite3_stmt *rollback;
    char *path;
    bool exists;
    int64_t version;
};

/* n_bound  parameters given so far.
 * done     the last row was fetched: another step would begin anew.
 * status   of what failed first. */
struct kw_query {
    struct kw_logbook *book;
    struct kw_error *error;
    sqlite3_stmt *statement;
    int n_bound;
    bool done;
    enum kw_status status;
};

struct kw_query kw_query_begin(struct kw_logbook *book,
                               const char *sql,
                               struct kw_error *error);

/* Each gives the next parameter; NAN, a NULL text and the id 0 of
 * kw_query_id() become NULL. Texts and bytes must live until the end. */
void kw_query_int(struct kw_query *query, int64_t value);
void kw_query_id(struct kw_query *query, int64_t id);
void kw_query_real(struct kw_query *query, double value);
void kw_query_text(struct kw_query *query, const char *text);
void kw_query_bytes(struct kw_query *query, const void *bytes, size_t n);

/* Fetches the next row.
 *
 * returns  false at the end and after a failure. */
bool kw_query_row(struct kw_query *query);

/* Values of the row; NULL gives 0, NAN, NULL. */
int64_t kw_query_int_at(const struct kw_query *query, int column);
double kw_query_real_at(const struct kw_query *query, int column);

/* A copy that the caller frees; NULL for NULL. Want of memory fails the query.
 */
char *kw_query_text_at(struct kw_query *query, int column);

/* The same where there must be a text: "" for NULL, which a damaged book can
 * hold. NULL only when the query has failed. */
char *kw_query_string_at(struct kw_query *query, int column);

/* Ends the query; runs what is left of it. */
enum kw_status kw_query_end(struct kw_query *query);

/* Runs statements that take no parameter. */
enum kw_status kw_book_run(struct kw_logbook *book,
                           const char *sql,
                           struct kw_error *error);

/* Begins to write: nobody else may from here on. */
enum kw_status kw_book_begin(struct kw_logbook *book, struct kw_error *error);

/* Makes it last when status is KW_OK, else takes all of it back.
 *
 * returns  status, or what went wrong at the last moment. */
enum kw_status kw_book_settle(struct kw_logbook *book,
                              enum kw_status status,
                              struct kw_error *error);

/* Copies the whole book, page by page, while others may use it.
 *
 * to       an empty database.
 * returns  SQLite's code. */
int kw_book_copy_pages(struct kw_logbook *book, sqlite3 *to);

/* Turns SQLite's result code into an error that a person understands.
 *
 * returns  its status, never KW_OK. */
enum kw_status kw_book_failed(const struct kw_logbook *book,
                              int code,
                              struct kw_error *error);

#endif
