/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeping a book safe: copies, and looking for damage.
 *
 * A season fits in one file, and one file is lost at once. A copy is taken page
 * by page while others may write; a check reads every page, every link and
 * every attachment against its sum. */
#include "logbook/query.h"

#include "core/file.h"
#include "core/notices.h"
#include "core/sha256.h"
#include "core/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* More problems than this tell a person nothing more. */
enum { MOST_PROBLEMS = 50 };

/* ---- copies -------------------------------------------------------------- */

/* A place that may be written: nothing there, or an older copy; never the book
 * itself, by whatever name. */
static enum kw_status check_place(const struct kw_logbook *book,
                                  const char *path,
                                  struct kw_error *error)
{
    struct stat there;
    struct stat own;
    struct kw_logbook *old = NULL;
    if (!book->exists)
        return kw_fail(error, KW_BAD_INPUT, book->path, 0,
                       "there is no logbook yet", "name one with --book");
    if (stat(path, &there) != 0)
        return errno == ENOENT
                   ? KW_OK
                   : kw_file_failed(error, path, "cannot be written", errno);
    if (stat(book->path, &own) == 0 && own.st_dev == there.st_dev &&
        own.st_ino == there.st_ino)
        return kw_fail(error, KW_BAD_INPUT, path, 0, "is the logbook itself",
                       "name another file for the copy");
    if (!S_ISREG(there.st_mode) || there.st_size == 0 ||
        kw_logbook_open(path, KW_LOGBOOK_READ, &old, NULL) != KW_OK)
        return kw_fail(error, KW_BAD_INPUT, path, 0,
                       "is there already and is no logbook",
                       "name a new file for the copy");
    kw_logbook_close(old);
    return KW_OK;
}

/* Closing is part of the copying: what it cannot write is not there. */
static enum kw_status fill_copy(struct kw_logbook *book,
                                const char *name,
                                struct kw_error *error)
{
    struct kw_logbook to = {.path = book->path};
    struct kw_text file = {0};
    if (name[0] != '/')
        kw_text_add(&file, "./");
    kw_text_add(&file, name);
    int code =
        kw_text_failed(&file)
            ? SQLITE_NOMEM
            : sqlite3_open_v2(file.bytes, &to.db,
                              SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    kw_text_free(&file);
    if (code == SQLITE_OK)
        code =
            sqlite3_exec(to.db, "PRAGMA synchronous = EXTRA", NULL, NULL, NULL);
    if (code == SQLITE_OK)
        code = kw_book_copy_pages(book, to.db);
    const int closed = sqlite3_close(to.db);
    code = code == SQLITE_OK ? closed : code;
    to.db = NULL;
    return code == SQLITE_OK ? KW_OK : kw_book_failed(&to, code, error);
}

/* Under a passing name first: a copy that is cut off by a stick that is full
 * must not take the place of last month's. */
enum kw_status kw_logbook_save(struct kw_logbook *book,
                               const char *path,
                               struct kw_error *error)
{
    enum kw_status status = check_place(book, path, error);
    if (status != KW_OK)
        return status;
    char *passing = kw_file_passing_name(path, 0, error);
    if (passing == NULL)
        return KW_NO_MEMORY;
    status = fill_copy(book, passing, error);
    /* The error speaks of the place of the copy, not of the book. */
    if (status != KW_OK && error != NULL && error->status != KW_NO_MEMORY)
        kw_text_copy(error->file, sizeof error->file, path);
    if (status == KW_OK && rename(passing, path) != 0)
        status = kw_file_failed(error, path, "cannot be written", errno);
    if (status != KW_OK)
        (void)unlink(passing);
    else
        status = kw_file_sync_folder_of(path, error);
    free(passing);
    return status;
}

/* ---- looking for damage -------------------------------------------------- */

/* What SQLite finds wrong with its own pages; "ok" when nothing is. */
static enum kw_status check_pages(struct kw_logbook *book,
                                  struct kw_notices *problems,
                                  struct kw_error *error)
{
    struct kw_query query =
        kw_query_begin(book, "PRAGMA main.integrity_check(50)", error);
    while (kw_query_row(&query)) {
        char *line = kw_query_string_at(&query, 0);
        if (line != NULL && strcmp(line, "ok") != 0 &&
            kw_notices_add(problems, 0, line, error) != KW_OK)
            query.status = KW_NO_MEMORY;
        free(line);
    }
    return kw_query_end(&query);
}

/* Runs a query that gives a row for each thing that is wrong, with a word and a
 * number. */
static enum kw_status check_rows(struct kw_logbook *book,
                                 const char *sql,
                                 const char *what,
                                 struct kw_notices *problems,
                                 struct kw_error *error)
{
    struct kw_query query = kw_query_begin(book, sql, error);
    while (kw_query_row(&query) && problems->n < MOST_PROBLEMS) {
        struct kw_text line = {0};
        char *name = kw_query_string_at(&query, 0);
        kw_text_addf(&line, "%s: %s %lld", what, name == NULL ? "" : name,
                     (long long)kw_query_int_at(&query, 1));
        free(name);
        if (kw_notices_tell(problems, 0, &line, error) != KW_OK)
            query.status = KW_NO_MEMORY;
    }
    /* Rows beyond the most are not looked at. */
    query.done = query.status == KW_OK;
    return kw_query_end(&query);
}

/* The same sum as when the file was attached. */
static bool has_digest(struct kw_query *query)
{
    struct kw_sha256 sum;
    unsigned char digest[KW_SHA256_BYTES];
    const void *bytes = sqlite3_column_blob(query->statement, 1);
    const size_t n = (size_t)sqlite3_column_bytes(query->statement, 1);
    const void *kept = sqlite3_column_blob(query->statement, 2);
    kw_sha256_begin(&sum);
    kw_sha256_add(&sum, bytes, bytes == NULL ? 0 : n);
    kw_sha256_end(&sum, digest);
    return kept != NULL && memcmp(digest, kept, sizeof digest) == 0;
}

/* SQLite does not notice a bit that turned over inside a photo: its pages carry
 * no sums. */
static enum kw_status check_contents(struct kw_logbook *book,
                                     struct kw_notices *problems,
                                     struct kw_error *error)
{
    struct kw_query query =
        kw_query_begin(book, "SELECT id, bytes, sha256 FROM content", error);
    while (kw_query_row(&query)) {
        char line[64];
        if (has_digest(&query))
            continue;
        snprintf(line, sizeof line, "attachment content %lld is not as kept",
                 (long long)kw_query_int_at(&query, 0));
        if (kw_notices_add(problems, 0, line, error) != KW_OK)
            query.status = KW_NO_MEMORY;
    }
    return kw_query_end(&query);
}

/* From the pages up to what they mean. */
enum kw_status kw_logbook_check(struct kw_logbook *book,
                                struct kw_notices *problems,
                                struct kw_error *error)
{
    enum kw_status status = check_pages(book, problems, error);
    /* On broken pages the other questions have no sound answer. */
    if (status != KW_OK || problems->n > 0)
        return status;
    status =
        check_rows(book, "PRAGMA main.foreign_key_check",
                   "a row that another one needs is missing", problems, error);
    if (status == KW_OK)
        status = check_rows(
            book,
            "SELECT e.kind, e.id FROM entry e WHERE CASE e.kind"
            " WHEN 'session' THEN e.id NOT IN (SELECT entry_id FROM session)"
            " WHEN 'fit' THEN e.id NOT IN (SELECT entry_id FROM fit)"
            " WHEN 'remove' THEN e.id NOT IN (SELECT entry_id FROM removal)"
            " WHEN 'watch' THEN e.id NOT IN (SELECT entry_id FROM watch)"
            " WHEN 'close' THEN e.id NOT IN (SELECT entry_id FROM closing)"
            " WHEN 'finding' THEN e.id NOT IN (SELECT entry_id FROM finding)"
            " ELSE 0 END",
            "an entry is not whole", problems, error);
    if (status == KW_OK)
        status = check_contents(book, problems, error);
    return status;
}
