/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a book: is it one, is it ours, is it of a version that we know.
 *
 * A rollback journal, not a write-ahead log: the book is one file at every
 * moment in which nobody writes, and can be copied to a stick as it lies there.
 * synchronous=EXTRA flushes the folder too when the journal goes, so that what
 * was acknowledged outlives a power cut (sqlite.org, pragma synchronous). */
#include "logbook/query.h"
#include "logbook/schema.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/text.h"

#include <errno.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/* How long the later of two waits before it says that the book is busy. */
enum { BUSY_WAIT_MS = 5000 };

/* What a file says about itself.
 *
 * n_objects  tables and the like; 0 in an empty file. */
struct identity {
    int64_t application_id;
    int64_t version;
    int64_t n_objects;
};

/* Only what is not there. A folder that may not be read is another trouble, and
 * is told as one. */
static bool is_missing(const char *path)
{
    struct stat about;
    return stat(path, &about) != 0 && errno == ENOENT;
}

/* SQLite gives some names a meaning of their own (":memory:", ""): with a
 * folder before it every name is a file's. */
static char *file_name(const char *path, struct kw_error *error)
{
    struct kw_text name = {0};
    if (path[0] != '/')
        kw_text_add(&name, "./");
    kw_text_add(&name, path);
    return kw_text_take(&name, error);
}

/* A book that is not there reads as an empty one in memory: no file is made by
 * looking. */
static enum kw_status connect(struct kw_logbook *book,
                              int flags,
                              struct kw_error *error)
{
    char *name = book->exists ? file_name(book->path, error)
                              : kw_text_duplicate(":memory:", error);
    if (name == NULL)
        return KW_NO_MEMORY;
    const int code =
        sqlite3_open_v2(name, &book->db, flags | SQLITE_OPEN_EXRESCODE, NULL);
    free(name);
    if (book->db == NULL)
        return kw_fail_memory(error);
    if (code != SQLITE_OK)
        return kw_book_failed(book, code, error);
    sqlite3_busy_timeout(book->db, BUSY_WAIT_MS);
    return KW_OK;
}

/* A book may come from somebody else's stick: nothing in its schema may call
 * functions with side effects, and damaged pages are to be noticed early. */
static enum kw_status settle_in(struct kw_logbook *book, struct kw_error *error)
{
    sqlite3_db_config(book->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(book->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    return kw_book_run(book,
                       "PRAGMA foreign_keys = ON;"
                       "PRAGMA synchronous = EXTRA;"
                       "PRAGMA trusted_schema = OFF;"
                       "PRAGMA cell_size_check = ON;"
                       "PRAGMA temp_store = MEMORY;",
                       error);
}

static enum kw_status ask_int(struct kw_logbook *book,
                              const char *sql,
                              int64_t *out,
                              struct kw_error *error)
{
    struct kw_query query = kw_query_begin(book, sql, error);
    *out = kw_query_row(&query) ? kw_query_int_at(&query, 0) : 0;
    return kw_query_end(&query);
}

/* Three numbers in the head of the file, before any table is trusted. */
static enum kw_status identify(struct kw_logbook *book,
                               struct identity *identity,
                               struct kw_error *error)
{
    enum kw_status status =
        ask_int(book, "SELECT count(*) FROM main.sqlite_schema",
                &identity->n_objects, error);
    if (status == KW_OK)
        status = ask_int(book, "PRAGMA application_id",
                         &identity->application_id, error);
    if (status == KW_OK)
        status =
            ask_int(book, "PRAGMA user_version", &identity->version, error);
    return status;
}

/* What a crash before the first page leaves, and what mktemp makes. */
static bool is_empty(const struct identity *identity)
{
    return identity->n_objects == 0 && identity->version == 0 &&
           identity->application_id == 0;
}

/* A newer book may hold what this program would not keep: it is not touched. */
static enum kw_status refuse_stranger(const struct kw_logbook *book,
                                      const struct identity *identity,
                                      struct kw_error *error)
{
    if (identity->application_id != KW_BOOK_APPLICATION_ID)
        return kw_fail(error, KW_BAD_INPUT, book->path, 0,
                       "is a database of another program, no logbook",
                       "name the logbook's own file with --book");
    return kw_failf(error, KW_BAD_INPUT, book->path,
                    "use the newer program; the logbook was not touched",
                    "was written by a newer kartwright (version %lld of the "
                    "logbook, this one knows %d)",
                    (long long)identity->version, kw_book_newest_version());
}

/* Looks once more inside the transaction: another program may have made the
 * book in between. */
static enum kw_status bring_up_to_date(struct kw_logbook *book,
                                       struct kw_error *error)
{
    struct identity identity = {0};
    enum kw_status status = kw_book_begin(book, error);
    if (status != KW_OK)
        return status;
    status = identify(book, &identity, error);
    if (status == KW_OK)
        status = kw_book_migrate(book, (int)identity.version, error);
    return kw_book_settle(book, status, error);
}

/* An older book that may not be written (a stick with its lock set, another's
 * folder) is still to be read: its copy in memory is brought up to date. */
static enum kw_status take_into_memory(struct kw_logbook *book,
                                       struct kw_error *error)
{
    struct kw_logbook copy = {.path = book->path, .exists = book->exists};
    int code = sqlite3_open_v2(":memory:", &copy.db,
                               SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE |
                                   SQLITE_OPEN_EXRESCODE,
                               NULL);
    if (code == SQLITE_OK)
        code = kw_book_copy_pages(book, copy.db);
    if (code != SQLITE_OK) {
        const enum kw_status status = kw_book_failed(&copy, code, error);
        (void)sqlite3_close(copy.db);
        return status;
    }
    (void)sqlite3_close(book->db);
    book->db = copy.db;
    return settle_in(book, error);
}

/* SQLite opens a file that may not be written as one to read only; a writer
 * wants to know before the work, not after. */
static enum kw_status check_rights(const struct kw_logbook *book,
                                   enum kw_logbook_use use,
                                   struct kw_error *error)
{
    if (use != KW_LOGBOOK_READ && sqlite3_db_readonly(book->db, "main") == 1)
        return kw_book_failed(book, SQLITE_READONLY, error);
    return KW_OK;
}

/* Whose file it is comes before anything is changed in it. An older book that
 * may not be written is brought up to date in memory, so that it can still be
 * read. */
static enum kw_status get_ready(struct kw_logbook *book,
                                enum kw_logbook_use use,
                                struct kw_error *error)
{
    struct identity identity = {0};
    enum kw_status status = settle_in(book, error);
    if (status == KW_OK)
        status = identify(book, &identity, error);
    if (status != KW_OK)
        return status;
    const bool ours =
        is_empty(&identity) ||
        (identity.application_id == KW_BOOK_APPLICATION_ID &&
         identity.version >= 1 && identity.version <= kw_book_newest_version());
    if (!ours)
        return refuse_stranger(book, &identity, error);
    status = check_rights(book, use, error);
    const bool is_older = identity.version < kw_book_newest_version();
    if (status == KW_OK && is_older && sqlite3_db_readonly(book->db, "main"))
        status = take_into_memory(book, error);
    if (status == KW_OK && is_older)
        status = bring_up_to_date(book, error);
    if (status == KW_OK)
        status = kw_book_make_views(book, error);
    return status;
}

/* SQLite's own number, which every commit of another program changes. */
static int64_t data_version(struct kw_logbook *book)
{
    int64_t version = 0;
    return ask_int(book, "PRAGMA data_version", &version, NULL) == KW_OK
               ? version
               : 0;
}

/* A book that was made for an entry which was then refused is taken away again.
 * The lock keeps all others out; who waits for it finds the file gone, and says
 * so (kw_book_begin). A link that the person made stays, and its target goes.
 */
static void take_back(struct kw_logbook *book)
{
    if (sqlite3_exec(book->db, "BEGIN EXCLUSIVE", NULL, NULL, NULL) !=
        SQLITE_OK)
        return;
    int moved = 0;
    (void)sqlite3_file_control(book->db, "main", SQLITE_FCNTL_HAS_MOVED,
                               &moved);
    if (moved == 0 && data_version(book) == book->version)
        (void)unlink(sqlite3_db_filename(book->db, "main"));
    (void)sqlite3_exec(book->db, "ROLLBACK", NULL, NULL, NULL);
}

/* Everything or nothing: a book that is handed out answers every question. */
enum kw_status kw_logbook_open(const char *path,
                               enum kw_logbook_use use,
                               struct kw_logbook **out,
                               struct kw_error *error)
{
    *out = NULL;
    if (path[0] == '\0')
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "the logbook's file has no name",
                       "name one with --book");
    struct kw_logbook *book = kw_array_new(1, sizeof *book, error);
    if (book == NULL)
        return KW_NO_MEMORY;
    const bool missing = is_missing(path);
    book->exists = use == KW_LOGBOOK_WRITE || !missing;
    book->path = kw_text_duplicate(path, error);
    enum kw_status status = book->path == NULL ? KW_NO_MEMORY : KW_OK;
    const bool may_make = use == KW_LOGBOOK_WRITE || !book->exists;
    if (status == KW_OK)
        status = connect(
            book, SQLITE_OPEN_READWRITE | (may_make ? SQLITE_OPEN_CREATE : 0),
            error);
    if (status == KW_OK)
        status = get_ready(book, use, error);
    if (status == KW_OK && missing && book->exists)
        book->version = data_version(book);
    if (status == KW_OK)
        *out = book;
    else
        kw_logbook_close(book);
    return status;
}

/* NULL is fine, as with free(). */
void kw_logbook_close(struct kw_logbook *book)
{
    if (book == NULL)
        return;
    if (book->version > 0)
        take_back(book);
    /* Every statement is finalized where it was made: closing cannot fail. */
    (void)sqlite3_close(book->db);
    free(book->path);
    free(book);
}

bool kw_logbook_exists(const struct kw_logbook *book)
{
    return book->exists;
}
