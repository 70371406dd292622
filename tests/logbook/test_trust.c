/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was acknowledged is there: after kill -9 at any moment, with two writers
 * at once, on a full disk. A season of notes must not hang on a flat battery.
 *
 * KW_KILL_ROUNDS  how often a writer is killed; `make test-logbook-kill` sets
 *                 some hundreds. */
#include "support/check.h"

#include "logbook/query.h"
#include "support/scratch.h"
#include "support/season.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { USUAL_ROUNDS = 40, MOST_ACKNOWLEDGED = 64, ATTACHED_BYTES = 20000 };

static unsigned next_random(unsigned *state)
{
    *state = *state * 1103515245U + 12345U;
    return *state >> 8;
}

/* Writes notes with an attachment for ever; says each number through the pipe
 * once the book has acknowledged it. */
static void write_for_ever(const char *path, int acknowledge)
{
    static char attached[ATTACHED_BYTES];
    struct kw_logbook *book = NULL;
    if (kw_logbook_open(path, KW_LOGBOOK_WRITE, &book, NULL) != KW_OK)
        _exit(1);
    for (unsigned n = 0;; n++) {
        int64_t id = 0;
        memset(attached, (int)('a' + n % 26), sizeof attached);
        memcpy(attached, &n, sizeof n);
        const struct kw_file_copy file = {"photo", attached, sizeof attached};
        const struct kw_new_entry note = {.at_s = SEASON_START_S,
                                          .text = "a note",
                                          .files = &file,
                                          .n_files = 1};
        if (kw_logbook_note(book, &note, &id, NULL) != KW_OK ||
            write(acknowledge, &id, sizeof id) != (ssize_t)sizeof id)
            _exit(2);
    }
}

/* Reads numbers until `enough` came, or until the pipe is dry when the writer
 * is dead. */
static size_t read_numbers(int from, int64_t *ids, size_t n, size_t enough)
{
    while (n < enough) {
        const ssize_t got = read(from, &ids[n], sizeof ids[n]);
        if (got != (ssize_t)sizeof ids[n])
            return n;
        n++;
    }
    return n;
}

/* One writer's life: killed after some notes and a moment of any length. */
static size_t write_and_kill(const char *path,
                             unsigned *random,
                             int64_t ids[MOST_ACKNOWLEDGED])
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const pid_t writer = fork();
    assert_true(writer >= 0);
    if (writer == 0) {
        close(ends[0]);
        write_for_ever(path, ends[1]);
    }
    close(ends[1]);
    size_t n = read_numbers(ends[0], ids, 0, next_random(random) % 6);
    for (volatile unsigned spin = next_random(random) % 3000000; spin > 0;)
        spin = spin - 1;
    assert_int_equal(kill(writer, SIGKILL), 0);
    int status = 0;
    assert_int_equal(waitpid(writer, &status, 0), writer);
    assert_true(WIFSIGNALED(status));
    n = read_numbers(ends[0], ids, n, MOST_ACKNOWLEDGED);
    close(ends[0]);
    return n;
}

static void check_sound(const char *path)
{
    struct kw_logbook *book = NULL;
    struct kw_notices problems = {0};
    struct kw_error error = {0};
    if (kw_logbook_open(path, KW_LOGBOOK_READ, &book, &error) != KW_OK)
        fail_msg("does not open: %s", error.what);
    assert_int_equal(kw_logbook_check(book, &problems, NULL), KW_OK);
    if (problems.n > 0)
        fail_msg("damaged: %s", problems.items[0].text);
    kw_notices_free(&problems);
    kw_logbook_close(book);
}

static void check_all_there(const char *path, const int64_t *ids, size_t n)
{
    struct kw_logbook *book = NULL;
    assert_int_equal(kw_logbook_open(path, KW_LOGBOOK_READ, &book, NULL),
                     KW_OK);
    for (size_t i = 0; i < n; i++) {
        struct kw_entries entry;
        char *bytes = NULL;
        size_t n_bytes = 0;
        assert_int_equal(kw_logbook_entry(book, ids[i], &entry, NULL), KW_OK);
        assert_int_equal(entry.items[0].n_attachments, 1);
        assert_int_equal(kw_logbook_read_file(book,
                                              entry.items[0].attachments[0].id,
                                              &bytes, &n_bytes, NULL),
                         KW_OK);
        assert_int_equal(n_bytes, ATTACHED_BYTES);
        free(bytes);
        kw_entries_free(&entry);
    }
    kw_logbook_close(book);
}

static int rounds(void)
{
    const char *stated = getenv("KW_KILL_ROUNDS");
    return stated == NULL ? USUAL_ROUNDS : (int)strtol(stated, NULL, 10);
}

/* The first kills hit the making of the book, the later ones its growing. */
static void test_trust__killed_writer_loses_nothing(void **state)
{
    char path[SCRATCH_PATH_SIZE];
    unsigned random = 20260614;
    size_t n_acknowledged = 0;
    for (int i = 0; i < rounds(); i++) {
        int64_t ids[MOST_ACKNOWLEDGED];
        char name[32];
        snprintf(name, sizeof name, "book-%d.db", i / 8);
        scratch_path(path, *state, name);
        const size_t n = write_and_kill(path, &random, ids);
        check_sound(path);
        check_all_there(path, ids, n);
        n_acknowledged += n;
    }
    print_message("%d writers killed, %zu acknowledged entries there\n",
                  rounds(), n_acknowledged);
    assert_true(n_acknowledged > 0);
}

/* Two at once: both succeed, each entry once. */
static void test_trust__two_writers_both_succeed(void **state)
{
    enum { WRITERS = 2, NOTES = 15 };
    struct season season;
    pid_t writers[WRITERS];
    season_begin(&season, *state);
    season_end(&season);
    for (int w = 0; w < WRITERS; w++) {
        writers[w] = fork();
        assert_true(writers[w] >= 0);
        if (writers[w] > 0)
            continue;
        for (int i = 0; i < NOTES; i++) {
            struct kw_logbook *book = NULL;
            int64_t id = 0;
            const struct kw_new_entry note = {.at_s = SEASON_START_S,
                                              .text = "both"};
            if (kw_logbook_open(season.path, KW_LOGBOOK_WRITE, &book, NULL) !=
                    KW_OK ||
                kw_logbook_note(book, &note, &id, NULL) != KW_OK)
                _exit(1);
            kw_logbook_close(book);
        }
        _exit(0);
    }
    for (int w = 0; w < WRITERS; w++) {
        int status = 0;
        assert_int_equal(waitpid(writers[w], &status, 0), writers[w]);
        assert_true(WIFEXITED(status));
        assert_int_equal(WEXITSTATUS(status), 0);
    }
    check_sound(season.path);
    struct kw_entries entries;
    season_begin(&season, *state);
    assert_int_equal(kw_logbook_entries(season.book, &entries, NULL), KW_OK);
    assert_int_equal(entries.n, WRITERS * NOTES);
    kw_entries_free(&entries);
    season_end(&season);
}

/* Fills a book until it refuses: the last entry is whole or not there, and the
 * book goes on when there is room again. */
static void fill_up(struct kw_logbook *book, struct kw_error *error)
{
    static char attached[ATTACHED_BYTES];
    const struct kw_file_copy file = {"photo", attached, sizeof attached};
    const struct kw_new_entry note = {
        .at_s = SEASON_START_S, .text = "more", .files = &file, .n_files = 1};
    enum kw_status status = KW_OK;
    for (unsigned n = 0; status == KW_OK && n < 1000; n++) {
        int64_t id = 0;
        memset(attached, (int)n, sizeof attached);
        memcpy(attached, &n, sizeof n);
        status = kw_logbook_note(book, &note, &id, error);
    }
    assert_int_equal(status, KW_IO_FAILED);
}

/* SQLite's own limit stands in for the disk where nobody may mount one. */
static void test_trust__no_room_is_told_and_loses_nothing(void **state)
{
    struct season season;
    struct kw_error error = {0};
    struct kw_entries before;
    struct kw_entries after;
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    assert_int_equal(
        kw_book_run(season.book, "PRAGMA max_page_count = 120", &error), KW_OK);
    fill_up(season.book, &error);
    assert_non_null(strstr(error.what, "disk is full"));
    assert_int_equal(kw_logbook_entries(season.book, &before, NULL), KW_OK);
    assert_int_equal(
        kw_book_run(season.book, "PRAGMA max_page_count = 9999", &error),
        KW_OK);
    season_session(&season, 1.0, 600.0);
    assert_int_equal(kw_logbook_entries(season.book, &after, NULL), KW_OK);
    assert_int_equal(after.n, before.n + 1);
    kw_entries_free(&before);
    kw_entries_free(&after);
    season_end(&season);
    check_sound(season.path);
}

/* Runs mount or umount; true when it worked. */
static bool run_quietly(const char *const *words)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (freopen("/dev/null", "w", stderr) == NULL)
            _exit(127);
        execvp(words[0], (char *const *)words);
        _exit(127);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static void test_trust__full_disk_is_told_and_loses_nothing(void **state)
{
    const char *const mount[] = {"mount",     "-t",   "tmpfs", "-o",
                                 "size=400k", "none", *state,  NULL};
    const char *const umount[] = {"umount", *state, NULL};
    struct season season;
    struct kw_error error = {0};
    if (geteuid() != 0 || !run_quietly(mount)) {
        print_message("no disk may be mounted here: skipped\n");
        skip();
    }
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    fill_up(season.book, &error);
    season_end(&season);
    check_sound(season.path);
    assert_true(run_quietly(umount));
    assert_non_null(strstr(error.what, "disk is full"));
}

/* A copy can be taken at any time, and holds all. */
static void test_trust__copy_holds_all(void **state)
{
    struct season season;
    struct kw_logbook *copy = NULL;
    struct kw_entries entries;
    struct kw_error error = {0};
    char path[SCRATCH_PATH_SIZE];
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    scratch_path(path, *state, "copy.db");
    assert_int_equal(kw_logbook_save(season.book, path, &error), KW_OK);
    season_session(&season, 1.0, 600.0);
    assert_int_equal(kw_logbook_save(season.book, path, &error), KW_OK);
    assert_int_equal(kw_logbook_save(season.book, season.path, &error),
                     KW_BAD_INPUT);
    assert_non_null(strstr(error.what, "itself"));
    scratch_write(*state, "diary.txt", "not yours");
    scratch_path(path, *state, "diary.txt");
    assert_int_equal(kw_logbook_save(season.book, path, &error), KW_BAD_INPUT);
    season_end(&season);
    assert_int_equal(kw_logbook_open(scratch_path(path, *state, "copy.db"),
                                     KW_LOGBOOK_READ, &copy, NULL),
                     KW_OK);
    assert_int_equal(kw_logbook_entries(copy, &entries, NULL), KW_OK);
    assert_int_equal(entries.n, 2);
    kw_entries_free(&entries);
    kw_logbook_close(copy);
    check_sound(path);
    assert_int_equal(scratch_count(*state), 3);
}

/* Damage must not pass as a sound book. */
static void test_trust__damage_is_found(void **state)
{
    static const char *const damages[] = {
        "UPDATE content SET bytes = zeroblob(n_bytes)",
        "PRAGMA foreign_keys = OFF; DELETE FROM session",
        "PRAGMA foreign_keys = OFF; DELETE FROM content",
    };
    for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
        struct season season;
        struct kw_notices problems = {0};
        int64_t id = 0;
        const struct kw_file_copy file = {"photo", "bytes", 5};
        const struct kw_new_entry note = {.at_s = SEASON_START_S,
                                          .text = "photo",
                                          .files = &file,
                                          .n_files = 1};
        season_begin(&season, *state);
        season_session(&season, 0.0, 600.0);
        assert_int_equal(kw_logbook_note(season.book, &note, &id, NULL), KW_OK);
        assert_int_equal(kw_logbook_check(season.book, &problems, NULL), KW_OK);
        assert_int_equal(problems.n, 0);
        assert_int_equal(kw_book_run(season.book, damages[i], NULL), KW_OK);
        assert_int_equal(kw_logbook_check(season.book, &problems, NULL), KW_OK);
        check_true(damages[i], problems.n > 0);
        kw_notices_free(&problems);
        season_end(&season);
        assert_int_equal(unlink(season.path), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_trust__killed_writer_loses_nothing),
        IN_SCRATCH(test_trust__two_writers_both_succeed),
        IN_SCRATCH(test_trust__no_room_is_told_and_loses_nothing),
        IN_SCRATCH(test_trust__full_disk_is_told_and_loses_nothing),
        IN_SCRATCH(test_trust__copy_holds_all),
        IN_SCRATCH(test_trust__damage_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
