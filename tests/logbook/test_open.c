/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a book: what is none is refused with a line that helps, and never
 * written to. */
#include "support/check.h"

#include "logbook/schema.h"
#include "support/scratch.h"
#include "support/season.h"

#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* Runs SQL on a file with SQLite itself, behind the book's back. */
static void run_sql(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* Opens for both uses and expects a refusal that holds some words, and a file
 * that is byte for byte as it was. */
static void check_refused(const void *folder,
                          const char *name,
                          const char *words)
{
    static const enum kw_logbook_use uses[] = {KW_LOGBOOK_READ,
                                               KW_LOGBOOK_WRITE};
    char path[SCRATCH_PATH_SIZE];
    struct stat before;
    struct stat after;
    scratch_path(path, folder, name);
    assert_int_equal(stat(path, &before), 0);
    for (size_t i = 0; i < 2; i++) {
        struct kw_logbook *book = NULL;
        struct kw_error error = {0};
        assert_int_equal(kw_logbook_open(path, uses[i], &book, &error),
                         KW_BAD_INPUT);
        assert_null(book);
        assert_string_equal(error.file, path);
        if (strstr(error.what, words) == NULL)
            fail_msg("'%s' does not say '%s'", error.what, words);
    }
    assert_int_equal(stat(path, &after), 0);
    assert_int_equal(before.st_size, after.st_size);
    assert_int_equal(before.st_mtim.tv_nsec, after.st_mtim.tv_nsec);
}

/* A log named by mistake as the book must not become one. */
static void test_open__file_that_is_no_book_is_refused(void **state)
{
    scratch_write(*state, "log.csv", "Time,RPM\n0,1\n0.1,2\n");
    check_refused(*state, "log.csv", "is no logbook");
}

static void test_open__database_of_others_is_refused(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    run_sql(scratch_path(path, *state, "other.db"),
            "CREATE TABLE bookmarks(x)");
    check_refused(*state, "other.db", "another program");
}

/* A newer program may have put things in the book that this one would lose. */
static void test_open__newer_book_is_refused(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 0.0, 60.0);
    season_end(&season);
    run_sql(season.path, "PRAGMA user_version = 999");
    check_refused(*state, "season.db", "newer");
}

/* `due` on a new machine says that nothing is due, and makes no file. */
static void test_open__missing_book_reads_as_empty(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    struct kw_logbook *book = NULL;
    struct kw_entries entries;
    scratch_path(path, *state, "none.db");
    assert_int_equal(kw_logbook_open(path, KW_LOGBOOK_READ, &book, NULL),
                     KW_OK);
    assert_false(kw_logbook_exists(book));
    assert_int_equal(kw_logbook_entries(book, &entries, NULL), KW_OK);
    assert_int_equal(entries.n, 0);
    kw_entries_free(&entries);
    kw_logbook_close(book);
    assert_int_equal(scratch_count(*state), 0);
}

/* An entry that is refused leaves what was there before it: nothing. */
static void test_open__book_without_a_word_is_not_left(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_end(&season);
    assert_int_equal(scratch_count(*state), 0);
    season_begin(&season, *state);
    season_session(&season, 0.0, 60.0);
    season_end(&season);
    assert_int_equal(scratch_count(*state), 1);
    season_begin(&season, *state);
    season_end(&season);
    assert_int_equal(scratch_count(*state), 1);
}

/* The book on a stick, reached by a link: what was made is taken away, and the
 * link is the person's. */
static void test_open__link_to_a_book_is_left(void **state)
{
    char link[SCRATCH_PATH_SIZE];
    struct kw_logbook *book = NULL;
    scratch_path(link, *state, "link.db");
    assert_int_equal(symlink("stick.db", link), 0);
    assert_int_equal(kw_logbook_open(link, KW_LOGBOOK_WRITE, &book, NULL),
                     KW_OK);
    assert_true(scratch_exists(*state, "stick.db"));
    kw_logbook_close(book);
    assert_false(scratch_exists(*state, "stick.db"));
    assert_int_equal(unlink(link), 0);
}

/* The other program's entry is worth more than a tidy folder; and what it is
 * about to write must not go to a file that is no more. */
static void test_open__empty_book_of_two_is_not_lost(void **state)
{
    struct season first;
    struct season second;
    struct kw_error error = {0};
    season_begin(&first, *state);
    season_begin(&second, *state);
    season_session(&second, 0.0, 60.0);
    season_end(&first);
    assert_int_equal(scratch_count(*state), 1);
    season_end(&second);
    assert_int_equal(unlink(second.path), 0);
    season_begin(&first, *state);
    season_begin(&second, *state);
    season_end(&first);
    assert_int_equal(scratch_count(*state), 0);
    assert_int_equal(kw_book_begin(second.book, &error), KW_BUSY);
    assert_string_equal(error.todo, "try again");
    season_end(&second);
}

/* mktemp and a crash before the first page leave an empty file: it becomes a
 * book. */
static void test_open__empty_file_becomes_a_book(void **state)
{
    struct season season;
    scratch_write(*state, "season.db", "");
    season_begin(&season, *state);
    season_session(&season, 0.0, 60.0);
    season_end(&season);
    season_begin(&season, *state);
    season_end(&season);
}

/* SQLite would keep a book of this name in memory, and lose it. */
static void test_open__odd_name_is_a_file(void **state)
{
    struct kw_logbook *book = NULL;
    char before[SCRATCH_PATH_SIZE];
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(*state), 0);
    assert_int_equal(kw_logbook_open(":memory:", KW_LOGBOOK_WRITE, &book, NULL),
                     KW_OK);
    assert_true(scratch_exists(*state, ":memory:"));
    kw_logbook_close(book);
    assert_int_equal(chdir(before), 0);
    assert_int_equal(kw_logbook_open("", KW_LOGBOOK_WRITE, &book, NULL),
                     KW_BAD_USAGE);
}

/* Writes nothing, says so at once, and still reads. root may write anything, so
 * a child steps down first. */
static void test_open__book_that_may_not_be_written_reads(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 0.0, 60.0);
    season_end(&season);
    assert_int_equal(chmod(season.path, 0444), 0);
    assert_int_equal(chmod(*state, 0755), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct kw_logbook *book = NULL;
        struct kw_error error = {0};
        struct kw_entries entries;
        if (geteuid() == 0 && setuid(65534) != 0)
            _exit(9);
        if (kw_logbook_open(season.path, KW_LOGBOOK_WRITE, &book, &error) !=
                KW_IO_FAILED ||
            strstr(error.what, "may not be written") == NULL)
            _exit(1);
        if (kw_logbook_open(season.path, KW_LOGBOOK_READ, &book, NULL) !=
                KW_OK ||
            kw_logbook_entries(book, &entries, NULL) != KW_OK || entries.n != 1)
            _exit(2);
        kw_entries_free(&entries);
        kw_logbook_close(book);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

/* The later of two says that the book is busy, and does not hang for ever. The
 * lock is held by SQLite itself, so the wait is shortened by a hand on it. */
static void test_open__held_book_is_busy(void **state)
{
    struct season season;
    sqlite3 *other = NULL;
    struct kw_error error = {0};
    int64_t id = 0;
    const struct kw_new_entry note = {.at_s = 1.0, .text = "late"};
    season_begin(&season, *state);
    sqlite3_busy_timeout(season.book->db, 1);
    assert_int_equal(sqlite3_open(season.path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(kw_logbook_note(season.book, &note, &id, &error), KW_BUSY);
    assert_non_null(strstr(error.what, "busy"));
    assert_int_equal(sqlite3_exec(other, "COMMIT", NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
    assert_int_equal(kw_logbook_note(season.book, &note, &id, &error), KW_OK);
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_open__file_that_is_no_book_is_refused),
        IN_SCRATCH(test_open__database_of_others_is_refused),
        IN_SCRATCH(test_open__newer_book_is_refused),
        IN_SCRATCH(test_open__missing_book_reads_as_empty),
        IN_SCRATCH(test_open__book_without_a_word_is_not_left),
        IN_SCRATCH(test_open__link_to_a_book_is_left),
        IN_SCRATCH(test_open__empty_book_of_two_is_not_lost),
        IN_SCRATCH(test_open__empty_file_becomes_a_book),
        IN_SCRATCH(test_open__odd_name_is_a_file),
        IN_SCRATCH(test_open__book_that_may_not_be_written_reads),
        IN_SCRATCH(test_open__held_book_is_busy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
