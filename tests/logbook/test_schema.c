/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bringing an older book up to date: nothing in it may be lost or read
 * differently, and a power cut in the middle must leave the old book whole. */
#include "support/check.h"

#include "logbook/schema.h"
#include "support/old_book.h"
#include "support/scratch.h"
#include "support/season.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* A number that SQLite itself reads from the file, behind the book's back. */
static int64_t ask(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &statement, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    const int64_t answer = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    return answer;
}

static struct kw_logbook *open_book(const char *path, enum kw_logbook_use use)
{
    struct kw_logbook *book = NULL;
    struct kw_error error = {0};
    if (kw_logbook_open(path, use, &book, &error) != KW_OK)
        fail_msg("does not open: %s", error.what);
    return book;
}

/* Every kind of entry, and what is worked out from them. */
static void check_is_whole(struct kw_logbook *book)
{
    struct kw_entries entries;
    struct kw_notices problems = {0};
    struct kw_session_facts facts;
    char *bytes = NULL;
    size_t n_bytes = 0;
    assert_int_equal(kw_logbook_check(book, &problems, NULL), KW_OK);
    assert_int_equal(problems.n, 0);
    assert_int_equal(kw_logbook_entries(book, &entries, NULL), KW_OK);
    assert_int_equal(entries.n, OLD_BOOK_LISTED);
    for (size_t i = 0; i < entries.n; i++)
        assert_int_not_equal(entries.items[i].id, OLD_BOOK_WITHDRAWN);
    kw_entries_free(&entries);
    assert_int_equal(kw_logbook_session(book, OLD_BOOK_SESSION, &facts, NULL),
                     KW_OK);
    assert_string_equal(facts.log_name, "fuel-restriction.csv");
    assert_string_equal(facts.setup, "main_jet=142");
    check_near("air", facts.air.pressure_pa, 100800.0, 1e-9);
    kw_session_facts_free(&facts);
    assert_int_equal(
        kw_logbook_read_file(book, OLD_BOOK_RECEIPT, &bytes, &n_bytes, NULL),
        KW_OK);
    assert_int_equal(n_bytes, strlen("receipt\n"));
    assert_memory_equal(bytes, "receipt\n", n_bytes);
    free(bytes);
}

/* The session of 559 s goes to what was on the kart, as it did before. */
static void check_hours(struct kw_logbook *book)
{
    struct kw_parts parts;
    assert_int_equal(kw_logbook_parts(book, &parts, NULL), KW_OK);
    assert_int_equal(parts.n, 3);
    for (size_t i = 0; i < parts.n; i++) {
        const struct kw_part *part = &parts.items[i];
        const double before_h = part->id == OLD_BOOK_TYRES ? 1.5 : 0.0;
        check_near(part->part, kw_part_hours(part), before_h + 559.36 / 3600.0,
                   1e-6);
        if (part->id == OLD_BOOK_CHAIN)
            check_near("date put right", part->from_s, 1781222400.0, 1e-9);
    }
    kw_parts_free(&parts);
}

static void test_schema__old_book_is_brought_up_to_date_whole(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    old_book_write(scratch_path(path, *state, "old.db"));
    struct kw_logbook *book = open_book(path, KW_LOGBOOK_WRITE);
    check_is_whole(book);
    check_hours(book);
    struct kw_dues dues;
    assert_int_equal(kw_logbook_due(book, SEASON_START_S + DAY_S, &dues, NULL),
                     KW_OK);
    const struct kw_due *tie = due_of(&dues, OLD_BOOK_CABLE_TIE);
    assert_non_null(tie);
    assert_int_equal(tie->urgency, KW_BEFORE_NEXT_RACE);
    kw_dues_free(&dues);
    /* Numbers go on where they were. */
    const struct kw_new_entry note = {.at_s = SEASON_START_S, .text = "new"};
    int64_t id = 0;
    assert_int_equal(kw_logbook_note(book, &note, &id, NULL), KW_OK);
    assert_int_equal(id, OLD_BOOK_WITHDRAWN + 1);
    kw_logbook_close(book);
    assert_int_equal(ask(path, "PRAGMA user_version"),
                     kw_book_newest_version());
}

/* What a book brought up to date holds is what a new book holds: the same
 * tables and columns, so that no later program needs to tell them apart. */
static void test_schema__old_and_new_books_have_the_same_tables(void **state)
{
    static const char shape[] =
        "SELECT sum(length(s.name) * 31 + c.cid + length(c.name) * 7"
        " + c.pk + c.\"notnull\" * 3) FROM sqlite_schema s,"
        " pragma_table_info(s.name) c WHERE s.type = 'table'";
    char path[SCRATCH_PATH_SIZE];
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 0.0, 60.0);
    season_end(&season);
    old_book_write(scratch_path(path, *state, "old.db"));
    kw_logbook_close(open_book(path, KW_LOGBOOK_WRITE));
    assert_int_equal(ask(path, shape), ask(season.path, shape));
    assert_int_equal(ask(path, "SELECT count(*) FROM sqlite_schema"),
                     ask(season.path, "SELECT count(*) FROM sqlite_schema"));
}

/* ---- cut off in the middle ----------------------------------------------- */

/* Steps of SQLite's machine that the child still has. */
static int steps_left;

static int count_down(void *data)
{
    (void)data;
    if (steps_left-- == 0)
        raise(SIGKILL);
    return 0;
}

/* SQLite calls it for each connection that is opened. */
static int watch_steps(sqlite3 *db,
                       char **message,
                       const struct sqlite3_api_routines *routines)
{
    (void)message;
    (void)routines;
    sqlite3_progress_handler(db, 1, count_down, NULL);
    return SQLITE_OK;
}

/* Opens the book in a child that is killed after so many steps.
 *
 * returns  true when the child came through. */
static bool open_and_die(const char *path, int steps)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct kw_logbook *book = NULL;
        steps_left = steps;
        sqlite3_auto_extension((void (*)(void))watch_steps);
        const enum kw_status status =
            kw_logbook_open(path, KW_LOGBOOK_WRITE, &book, NULL);
        /* Closed, for valgrind counts what a child leaves behind too; without
         * the steps, which closing takes as well. */
        steps_left = -1;
        kw_logbook_close(book);
        _exit(status == KW_OK ? 0 : 1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) || WEXITSTATUS(status) == 0);
    return WIFEXITED(status);
}

/* Either the old book is there or the new one, never half of each. */
static void check_old_or_new(const char *path)
{
    const int64_t version = ask(path, "PRAGMA user_version");
    const int64_t n_new = ask(path, "SELECT count(*) FROM sqlite_schema"
                                    " WHERE name IN ('tick', 'own_life')");
    assert_int_equal(ask(path, "SELECT count(*) FROM entry"), 10);
    assert_int_equal(n_new, version == 1 ? 0 : 2);
}

static void test_schema__killed_half_way_leaves_the_old_book(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    bool through = false;
    int n_killed = 0;
    for (int steps = 0; !through; steps += 7) {
        char name[32];
        snprintf(name, sizeof name, "old-%d.db", steps);
        old_book_write(scratch_path(path, *state, name));
        through = open_and_die(path, steps);
        check_old_or_new(path);
        struct kw_logbook *book = open_book(path, KW_LOGBOOK_WRITE);
        check_is_whole(book);
        kw_logbook_close(book);
        assert_int_equal(unlink(path), 0);
        n_killed += !through;
    }
    /* Else nothing was cut off, and nothing proven. */
    assert_true(n_killed > 20);
}

/* ---- not to be written --------------------------------------------------- */

/* A stick with its lock set, somebody else's folder: the old book reads, and
 * stays as it is. root may write anything, so a child steps down first. */
static void test_schema__old_book_that_may_not_be_written_reads(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    old_book_write(scratch_path(path, *state, "old.db"));
    assert_int_equal(chmod(path, 0444), 0);
    assert_int_equal(chmod(*state, 0555), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct kw_logbook *book = NULL;
        struct kw_entries entries;
        if (geteuid() == 0 && setuid(65534) != 0)
            _exit(9);
        if (kw_logbook_open(path, KW_LOGBOOK_WRITE, &book, NULL) !=
            KW_IO_FAILED)
            _exit(1);
        if (kw_logbook_open(path, KW_LOGBOOK_READ, &book, NULL) != KW_OK ||
            kw_logbook_entries(book, &entries, NULL) != KW_OK ||
            entries.n != OLD_BOOK_LISTED)
            _exit(2);
        kw_entries_free(&entries);
        kw_logbook_close(book);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(chmod(*state, 0755), 0);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(ask(path, "PRAGMA user_version"), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_schema__old_book_is_brought_up_to_date_whole),
        IN_SCRATCH(test_schema__old_and_new_books_have_the_same_tables),
        IN_SCRATCH(test_schema__killed_half_way_leaves_the_old_book),
        IN_SCRATCH(test_schema__old_book_that_may_not_be_written_reads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
