/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements, transactions, and SQLite's complaints in plain words. */
#include "logbook/query.h"

#include "core/fail.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* Pages copied between two looks at what other programs did: small enough that
 * a writer need not wait. */
enum { PAGES_A_STEP = 256 };

/* One of SQLite's primary result codes, and what it means to a person. */
struct complaint {
    int code;
    enum kw_status status;
    const char *what;
    const char *todo;
};

static const struct complaint complaints[] = {
    {SQLITE_BUSY, KW_BUSY, "the logbook is busy: another program writes to it",
     "try again when the other one has ended"},
    {SQLITE_LOCKED, KW_BUSY,
     "the logbook is busy: another program writes to it",
     "try again when the other one has ended"},
    {SQLITE_FULL, KW_IO_FAILED, "cannot be written: the disk is full",
     "make room on the disk; the logbook is as it was"},
    {SQLITE_READONLY, KW_IO_FAILED, "may not be written",
     "change its rights, or name another with --book"},
    {SQLITE_CANTOPEN, KW_IO_FAILED, "cannot be opened or made",
     "check that its folder exists and may be written to"},
    {SQLITE_IOERR, KW_IO_FAILED, "cannot be read or written",
     "check the disk; the logbook is as it was"},
    {SQLITE_PERM, KW_IO_FAILED, "may not be opened", "change its rights"},
    {SQLITE_NOTADB, KW_BAD_INPUT, "is no logbook",
     "name the logbook's own file with --book"},
    {SQLITE_CORRUPT, KW_BAD_INPUT, "is damaged",
     "go back to your last copy made with 'kartwright logbook save'"},
    {SQLITE_TOOBIG, KW_BAD_INPUT, "an attachment is too large",
     "attach a smaller file"},
};

/* What no row tells is shown in SQLite's own words: a bug of ours, or a new
 * kind of trouble. */
enum kw_status kw_book_failed(const struct kw_logbook *book,
                              int code,
                              struct kw_error *error)
{
    const int primary = code & 0xFF;
    if (primary == SQLITE_NOMEM)
        return kw_fail_memory(error);
    for (size_t i = 0; i < sizeof complaints / sizeof complaints[0]; i++) {
        if (complaints[i].code == primary)
            return kw_fail(error, complaints[i].status, book->path, 0,
                           complaints[i].what, complaints[i].todo);
    }
    return kw_failf(error, KW_BAD_INPUT, book->path,
                    "run 'kartwright logbook check'", "the database says: %s",
                    sqlite3_errmsg(book->db));
}

/* The first failure is the cause; what fails after it is a consequence. */
static void look_at(struct kw_query *query, int code)
{
    if (code != SQLITE_OK && query->status == KW_OK)
        query->status = kw_book_failed(query->book, code, query->error);
}

/* A statement that cannot be compiled is remembered, and all that follows does
 * nothing: one check at the end is enough, as with a text. */
struct kw_query kw_query_begin(struct kw_logbook *book,
                               const char *sql,
                               struct kw_error *error)
{
    struct kw_query query = {.book = book, .error = error};
    look_at(&query,
            sqlite3_prepare_v2(book->db, sql, -1, &query.statement, NULL));
    return query;
}

/* Parameters are bound in the order of their question marks, from 1 on. */
void kw_query_int(struct kw_query *query, int64_t value)
{
    if (query->status == KW_OK)
        look_at(query,
                sqlite3_bind_int64(query->statement, ++query->n_bound, value));
}

/* Not known is NULL in the book, never 0 and never an empty text. */
static void bind_null(struct kw_query *query)
{
    if (query->status == KW_OK)
        look_at(query, sqlite3_bind_null(query->statement, ++query->n_bound));
}

/* 0 is no entry: ids begin at 1. */
void kw_query_id(struct kw_query *query, int64_t id)
{
    if (id == 0)
        bind_null(query);
    else
        kw_query_int(query, id);
}

/* SQLite stores NAN as NULL by itself; an infinity it would keep. */
void kw_query_real(struct kw_query *query, double value)
{
    if (!isfinite(value))
        bind_null(query);
    else if (query->status == KW_OK)
        look_at(query,
                sqlite3_bind_double(query->statement, ++query->n_bound, value));
}

/* Static, so that SQLite makes no copy: the caller's text lives until the query
 * ends. */
void kw_query_text(struct kw_query *query, const char *text)
{
    if (text == NULL)
        bind_null(query);
    else if (query->status == KW_OK)
        look_at(query,
                sqlite3_bind_text64(query->statement, ++query->n_bound, text,
                                    strlen(text), SQLITE_STATIC, SQLITE_UTF8));
}

void kw_query_bytes(struct kw_query *query, const void *bytes, size_t n)
{
    /* A NULL pointer would be bound as NULL: an empty file has no bytes. */
    if (query->status == KW_OK)
        look_at(query,
                sqlite3_bind_blob64(query->statement, ++query->n_bound,
                                    n == 0 ? "" : bytes, n, SQLITE_STATIC));
}

/* After the last row it must not be stepped again: SQLite would begin anew. */
bool kw_query_row(struct kw_query *query)
{
    if (query->status != KW_OK || query->done)
        return false;
    const int code = sqlite3_step(query->statement);
    if (code == SQLITE_ROW)
        return true;
    query->done = true;
    if (code != SQLITE_DONE)
        look_at(query, code);
    return false;
}

/* NULL reads as 0, which is no entry's number. */
int64_t kw_query_int_at(const struct kw_query *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

/* NULL is not known, which is NAN here. */
double kw_query_real_at(const struct kw_query *query, int column)
{
    if (sqlite3_column_type(query->statement, column) == SQLITE_NULL)
        return NAN;
    return sqlite3_column_double(query->statement, column);
}

/* A copy: SQLite's own is gone with the next step. */
char *kw_query_text_at(struct kw_query *query, int column)
{
    if (query->status != KW_OK ||
        sqlite3_column_type(query->statement, column) == SQLITE_NULL)
        return NULL;
    const unsigned char *text = sqlite3_column_text(query->statement, column);
    char *copy = text == NULL
                     ? NULL
                     : kw_text_duplicate((const char *)text, query->error);
    if (text == NULL)
        kw_fail_memory(query->error);
    if (copy == NULL)
        query->status = KW_NO_MEMORY;
    return copy;
}

/* For columns that are never NULL to the reader: a title, a text. */
char *kw_query_string_at(struct kw_query *query, int column)
{
    char *text = kw_query_text_at(query, column);
    if (text == NULL && query->status == KW_OK) {
        text = kw_text_duplicate("", query->error);
        if (text == NULL)
            query->status = KW_NO_MEMORY;
    }
    return text;
}

/* Runs to the end: an INSERT does its work only then. */
enum kw_status kw_query_end(struct kw_query *query)
{
    while (kw_query_row(query))
        continue;
    /* Its code repeats that of the last step, which was looked at. */
    (void)sqlite3_finalize(query->statement);
    query->statement = NULL;
    return query->status;
}

/* For statements without parameters and without an answer. */
enum kw_status kw_book_run(struct kw_logbook *book,
                           const char *sql,
                           struct kw_error *error)
{
    const int code = sqlite3_exec(book->db, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? KW_OK : kw_book_failed(book, code, error);
}

/* Want of memory is one of the reasons to take a change back: a ROLLBACK that
 * had to be compiled then would fail as well, and leave half an entry to be
 * completed by the next one. Compiled anew for each transaction, since a change
 * of the tables would have it compiled again at the wrong moment. */
static enum kw_status make_rollback(struct kw_logbook *book,
                                    struct kw_error *error)
{
    const int code =
        sqlite3_prepare_v2(book->db, "ROLLBACK", -1, &book->rollback, NULL);
    return code == SQLITE_OK ? KW_OK : kw_book_failed(book, code, error);
}

/* Ends the transaction if one is open: some failures have rolled back already
 * (a full disk), and COMMIT has ended it when all went well. */
static void end_transaction(struct kw_logbook *book)
{
    if (sqlite3_get_autocommit(book->db) == 0)
        (void)sqlite3_step(book->rollback);
    (void)sqlite3_finalize(book->rollback);
    book->rollback = NULL;
}

/* What is written to a file that was deleted or replaced meanwhile is lost. */
static enum kw_status refuse_moved(const struct kw_logbook *book,
                                   struct kw_error *error)
{
    int moved = 0;
    (void)sqlite3_file_control(book->db, "main", SQLITE_FCNTL_HAS_MOVED,
                               &moved);
    return moved == 0 ? KW_OK
                      : kw_fail(error, KW_BUSY, book->path, 0,
                                "the logbook was moved or deleted just now",
                                "try again");
}

/* IMMEDIATE takes the lock for writing at once. A transaction that reads first
 * and wants to write later can be refused half-way, when another has written in
 * between. */
enum kw_status kw_book_begin(struct kw_logbook *book, struct kw_error *error)
{
    enum kw_status status = make_rollback(book, error);
    if (status == KW_OK)
        status = kw_book_run(book, "BEGIN IMMEDIATE", error);
    if (status == KW_OK)
        status = refuse_moved(book, error);
    /* It can have begun and then failed to say so. */
    if (status != KW_OK)
        end_transaction(book);
    return status;
}

/* All of it or nothing. A COMMIT that fails (a full disk) is taken back. */
enum kw_status kw_book_settle(struct kw_logbook *book,
                              enum kw_status status,
                              struct kw_error *error)
{
    if (status == KW_OK)
        status = kw_book_run(book, "COMMIT", error);
    if (status == KW_OK)
        book->version = 0;
    end_transaction(book);
    return status;
}

/* SQLite begins anew by itself when somebody writes in between. */
int kw_book_copy_pages(struct kw_logbook *book, sqlite3 *to)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", book->db, "main");
    if (backup == NULL)
        return sqlite3_errcode(to);
    int code = SQLITE_OK;
    while (code == SQLITE_OK)
        code = sqlite3_backup_step(backup, PAGES_A_STEP);
    const int finished = sqlite3_backup_finish(backup);
    return code == SQLITE_DONE ? finished : code;
}
