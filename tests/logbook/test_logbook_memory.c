/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The n-th allocation fails, for n = 0, 1, 2 ..., SQLite's own among them:
 * nothing leaks or crashes, what was refused left the book as it was, and no
 * half-read answer is taken for a whole one. The linker sends the library's
 * allocations here (see the Makefile). */
#include "support/check.h"

#include "kartwright/report.h"
#include "kartwright/season.h"
#include "kartwright/upkeep.h"
#include "logbook/query.h"
#include "support/failing_memory.h"
#include "support/scratch.h"
#include "support/season.h"

#include <stdlib.h>

/* Its number, after all that fill() writes. */
enum { LATER_SESSION = 7 };

/* One thing that is done to a book. */
typedef enum kw_status work(struct kw_logbook *book, struct kw_error *error);

static const struct kw_file_copy receipt = {"receipt.txt", "1 filter", 8};

static const struct kw_new_entry evening = {.at_s =
                                                SEASON_START_S + 0.4 * DAY_S,
                                            .written_s = SEASON_START_S,
                                            .text = "some words",
                                            .files = &receipt,
                                            .n_files = 1};

static enum kw_status write_note(struct kw_logbook *book,
                                 struct kw_error *error)
{
    int64_t id = 0;
    return kw_logbook_note(book, &evening, &id, error);
}

static enum kw_status write_fit(struct kw_logbook *book, struct kw_error *error)
{
    const struct kw_new_part part = {
        .part = "chain", .name = "new", .life_h = NAN, .life_days = NAN};
    struct kw_fitted fitted;
    return kw_logbook_fit(book, &evening, &part, &fitted, error);
}

static enum kw_status write_ticks(struct kw_logbook *book,
                                  struct kw_error *error)
{
    static const char *const items[] = {"chain", "Tires"};
    const struct kw_new_tick tick = {items, 2, KW_CHECK_DONE};
    int64_t id = 0;
    return kw_logbook_tick(book, &evening, &tick, &id, error);
}

static enum kw_status write_check(struct kw_logbook *book,
                                  struct kw_error *error)
{
    int64_t id = 0;
    return kw_logbook_new_check(book, &evening, &id, error);
}

static enum kw_status write_life(struct kw_logbook *book,
                                 struct kw_error *error)
{
    const struct kw_new_life life = {"chain", 8.0, 100.0};
    int64_t id = 0;
    return kw_logbook_set_life(book, &evening, &life, &id, error);
}

static enum kw_status write_closing(struct kw_logbook *book,
                                    struct kw_error *error)
{
    int64_t id = 0;
    return kw_logbook_close_item(book, &evening, 3, &id, error);
}

static enum kw_status read_dues(struct kw_logbook *book, struct kw_error *error)
{
    struct kw_dues dues;
    const enum kw_status status =
        kw_logbook_due(book, SEASON_START_S + 9.0 * DAY_S, &dues, error);
    assert_int_equal(dues.n > 0, status == KW_OK);
    kw_dues_free(&dues);
    return status;
}

static enum kw_status read_rounds(struct kw_logbook *book,
                                  struct kw_error *error)
{
    struct kw_rounds rounds;
    const enum kw_status status = kw_logbook_rounds(book, &rounds, error);
    assert_int_equal(rounds.n, status == KW_OK ? 1 : 0);
    kw_rounds_free(&rounds);
    return status;
}

static enum kw_status read_entries(struct kw_logbook *book,
                                   struct kw_error *error)
{
    struct kw_entries entries;
    const enum kw_status status = kw_logbook_entries(book, &entries, error);
    assert_int_equal(entries.n > 0, status == KW_OK);
    kw_entries_free(&entries);
    return status;
}

static enum kw_status read_follow_up(struct kw_logbook *book,
                                     struct kw_error *error)
{
    struct kw_notices lines = {0};
    const enum kw_status status =
        kw_logbook_follow_up(book, LATER_SESSION, &lines, error);
    if (status == KW_OK)
        assert_int_equal(lines.n, 1);
    kw_notices_free(&lines);
    return status;
}

static enum kw_status read_page(struct kw_logbook *book, struct kw_error *error)
{
    char *html = NULL;
    const enum kw_status status =
        kw_logbook_print(book, 0, SEASON_START_S, &html, error);
    assert_int_equal(html != NULL, status == KW_OK);
    free(html);
    return status;
}

struct memory_case {
    const char *label;
    work *work;
    bool writes;
};

static const struct memory_case cases[] = {
    {"note", write_note, true},       {"fit", write_fit, true},
    {"tick", write_ticks, true},      {"new check", write_check, true},
    {"life", write_life, true},       {"close", write_closing, true},
    {"due", read_dues, false},        {"round", read_rounds, false},
    {"entries", read_entries, false}, {"follow up", read_follow_up, false},
    {"page", read_page, false},
};

static int64_t count_rows(struct kw_logbook *book)
{
    struct kw_query query = kw_query_begin(
        book,
        "SELECT (SELECT count(*) FROM entry) + (SELECT count(*) FROM fit)"
        " + (SELECT count(*) FROM tick) + (SELECT count(*) FROM content)"
        " + (SELECT count(*) FROM own_check) + (SELECT count(*) FROM own_life)",
        NULL);
    const int64_t n = kw_query_row(&query) ? kw_query_int_at(&query, 0) : -1;
    assert_int_equal(kw_query_end(&query), KW_OK);
    return n;
}

/* A part, a session with a finding, a make-do, and a part in the place of the
 * first: 1, 2 and 3, 4, 5 and 6. */
static void fill(struct season *season)
{
    season_fit(season, 0.0, "fuel filter", 0.3);
    const int64_t session =
        season_session_with(season, 0.1, "fuel line", KW_BEFORE_NEXT_RACE);
    assert_int_equal(session, 2);
    season_watch(season, 0.2, "cable tie on the fuel line", true);
    season_fit(season, 0.25, "fuel filter", 0.3);
}

/* The first hundred one by one, then further apart: a page of the whole book
 * takes some thousands, and each try runs all before it. */
static long next_try(long n)
{
    return n + 1 + n / 50;
}

static void try_until_done(struct season *season, const struct memory_case *c)
{
    enum kw_status status = KW_NO_MEMORY;
    long n = 0;
    for (; status != KW_OK; n = next_try(n)) {
        struct kw_error error = {0};
        const int64_t before = count_rows(season->book);
        memory_fails_after(n);
        status = c->work(season->book, &error);
        memory_holds();
        if (status != KW_OK && status != KW_NO_MEMORY)
            fail_msg("%s, allocation %ld: %s", c->label, n, error.what);
        if (status == KW_OK && c->writes)
            check_true(c->label, count_rows(season->book) > before);
        else
            check_true(c->label, count_rows(season->book) == before);
    }
    /* Else nothing failed, and nothing was proven. */
    check_true(c->label, n > 5);
}

static void test_logbook_memory__all_or_nothing(void **state)
{
    struct season season;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(season_session(&season, 0.3, 600.0), LATER_SESSION);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        try_until_done(&season, &cases[i]);
    season_end(&season);
}

static void test_logbook_memory__book_opens_whole_or_not(void **state)
{
    struct season season;
    enum kw_status status = KW_NO_MEMORY;
    season_begin(&season, *state);
    fill(&season);
    season_end(&season);
    for (long n = 0; status != KW_OK; n = next_try(n)) {
        struct kw_logbook *book = NULL;
        struct kw_error error = {0};
        memory_fails_after(n);
        status = kw_logbook_open(season.path, KW_LOGBOOK_WRITE, &book, &error);
        memory_holds();
        if (status != KW_OK && status != KW_NO_MEMORY)
            fail_msg("allocation %ld: %s", n, error.what);
        assert_int_equal(book != NULL, status == KW_OK);
        kw_logbook_close(book);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_logbook_memory__all_or_nothing),
        IN_SCRATCH(test_logbook_memory__book_opens_whole_or_not),
    };
    memory_of_sqlite();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
