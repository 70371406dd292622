/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The round of checks: open after each race day, closed by a tick alone. A
 * check that passes for done though nobody looked is worse than no list. */
#include "support/check.h"

#include "kartwright/upkeep.h"
#include "logbook/check_list.h"
#include "support/scratch.h"
#include "support/season.h"

#include <string.h>

/* The kart's round as the book stands. */
static struct kw_rounds read_rounds(struct season *season)
{
    struct kw_rounds rounds;
    struct kw_error error = {0};
    if (kw_logbook_rounds(season->book, &rounds, &error) != KW_OK)
        fail_msg("rounds: %s", error.what);
    return rounds;
}

static const struct kw_check *check_of(const struct kw_round *round,
                                       const char *item)
{
    for (size_t i = 0; i < round->n; i++) {
        if (strcmp(round->items[i].item, item) == 0)
            return &round->items[i];
    }
    fail_msg("the round has no '%s'", item);
    return NULL;
}

static void expect_state(struct season *season,
                         const char *item,
                         enum kw_check_state state)
{
    struct kw_rounds rounds = read_rounds(season);
    const struct kw_check *check = check_of(&rounds.items[0], item);
    if (check->state != state)
        fail_msg("%s is %s, not %s", item, kw_check_state_name(check->state),
                 kw_check_state_name(state));
    kw_rounds_free(&rounds);
}

static int64_t tick(struct season *season,
                    double days,
                    const char *item,
                    enum kw_check_state outcome)
{
    const struct kw_new_entry entry = {.at_s = season_day(days),
                                       .kart = season->kart};
    const struct kw_new_tick what = {&item, 1, outcome};
    struct kw_error error = {0};
    int64_t id = 0;
    if (kw_logbook_tick(season->book, &entry, &what, &id, &error) != KW_OK)
        fail_msg("tick: %s", error.what);
    return id;
}

/* ---- the list ------------------------------------------------------------ */

/* Each row can be ticked by each of its words, and says all that it has to. */
static void test_check_list__every_row_is_whole_and_found(void **state)
{
    size_t n = 0;
    const struct kw_check_row *rows = kw_check_list(&n);
    (void)state;
    assert_true(n >= 17);
    for (size_t i = 0; i < n; i++) {
        assert_ptr_equal(kw_check_list_find(rows[i].name), &rows[i]);
        check_true(rows[i].name, strchr(rows[i].name, ' ') == NULL);
        check_true(rows[i].name, strlen(rows[i].name) <= 11);
        check_true(rows[i].name, strlen(rows[i].what) <= 60);
        check_true(rows[i].name, rows[i].why[0] != '\0');
        check_true(rows[i].name, rows[i].how[0] != '\0');
        check_true(rows[i].name, rows[i].caution[0] != '\0');
        /* No word may lead to another row first. */
        char word[64];
        for (const char *at = rows[i].aliases; *at != '\0';) {
            const size_t length = strcspn(at, "|");
            snprintf(word, sizeof word, "%.*s", (int)length, at);
            if (kw_check_list_find(word) != &rows[i])
                fail_msg("'%s' does not lead to '%s'", word, rows[i].name);
            at += length + (at[length] == '|');
        }
    }
    assert_ptr_equal(kw_check_list_find("TIRES"), kw_check_list_find("tyres"));
    assert_null(kw_check_list_find("gearbox"));
}

/* ---- the round ----------------------------------------------------------- */

static void test_round__is_not_due_before_the_first_session(void **state)
{
    struct season season;
    season_begin(&season, *state);
    struct kw_rounds rounds = read_rounds(&season);
    assert_int_equal(rounds.n, 1);
    assert_true(isnan(rounds.items[0].last_s));
    assert_true(rounds.items[0].n >= 17);
    kw_rounds_free(&rounds);
    kw_rounds_free(&rounds);
    season_end(&season);
}

/* What was looked at before the season shows as looked at, until the kart has
 * been driven. */
static void test_round__tick_before_the_first_session_is_kept(void **state)
{
    struct season season;
    season_begin(&season, *state);
    tick(&season, 0.0, "chain", KW_CHECK_DONE);
    tick(&season, 0.0, "reeds", KW_CHECK_SKIPPED);
    expect_state(&season, "chain", KW_CHECK_DONE);
    expect_state(&season, "reeds", KW_CHECK_SKIPPED);
    expect_state(&season, "brake", KW_CHECK_OPEN);
    season_session(&season, 7.0, 600.0);
    expect_state(&season, "chain", KW_CHECK_OPEN);
    season_end(&season);
}

static void test_round__each_race_day_opens_it_again(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    expect_state(&season, "chain", KW_CHECK_OPEN);
    tick(&season, 0.3, "chain", KW_CHECK_DONE);
    tick(&season, 0.3, "reeds", KW_CHECK_SKIPPED);
    expect_state(&season, "chain", KW_CHECK_DONE);
    expect_state(&season, "reeds", KW_CHECK_SKIPPED);
    expect_state(&season, "brake", KW_CHECK_OPEN);
    season_session(&season, 7.0, 600.0);
    expect_state(&season, "chain", KW_CHECK_OPEN);
    expect_state(&season, "reeds", KW_CHECK_OPEN);
    season_end(&season);
}

/* Looked at in the morning, raced at noon: the tick is not for this round. */
static void test_round__tick_before_the_last_session_counts_not(void **state)
{
    struct season season;
    season_begin(&season, *state);
    tick(&season, -0.1, "chain", KW_CHECK_DONE);
    season_session(&season, 0.0, 600.0);
    expect_state(&season, "chain", KW_CHECK_OPEN);
    /* Added on the evening, it was driven after the last tick all the same. */
    tick(&season, 1.0, "chain", KW_CHECK_DONE);
    expect_state(&season, "chain", KW_CHECK_DONE);
    season_session(&season, 1.1, 600.0);
    expect_state(&season, "chain", KW_CHECK_OPEN);
    season_end(&season);
}

/* A log of an earlier day that is added late opens nothing. */
static void test_round__late_log_of_an_earlier_day_opens_nothing(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 5.0, 600.0);
    tick(&season, 5.3, "chain", KW_CHECK_DONE);
    season_session(&season, 2.0, 600.0);
    expect_state(&season, "chain", KW_CHECK_DONE);
    season_end(&season);
}

static void test_round__counts_race_days_not_sessions(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    tick(&season, 0.3, "chain", KW_CHECK_DONE);
    season_session(&season, 7.0, 600.0);
    season_session(&season, 7.1, 600.0);
    season_session(&season, 14.0, 600.0);
    season_session(&season, 14.05, 600.0);
    season_session(&season, 14.1, 600.0);
    struct kw_rounds rounds = read_rounds(&season);
    assert_int_equal(rounds.items[0].n_sessions, 3);
    assert_int_equal(check_of(&rounds.items[0], "chain")->n_days, 2);
    check_near("last tick", check_of(&rounds.items[0], "chain")->last_done_s,
               season_day(0.3), 1e-9);
    assert_int_equal(check_of(&rounds.items[0], "brake")->n_days, 3);
    assert_true(isnan(check_of(&rounds.items[0], "brake")->last_done_s));
    kw_rounds_free(&rounds);
    season_end(&season);
}

/* A four-stroke has no reeds: said once, and taken back by a tick. */
static void test_round__never_stays_until_it_is_ticked(void **state)
{
    struct season season;
    season_begin(&season, *state);
    tick(&season, -1.0, "reeds", KW_CHECK_NEVER);
    expect_state(&season, "reeds", KW_CHECK_NEVER);
    season_session(&season, 0.0, 600.0);
    season_session(&season, 7.0, 600.0);
    expect_state(&season, "reeds", KW_CHECK_NEVER);
    tick(&season, 7.1, "reeds", KW_CHECK_SKIPPED);
    expect_state(&season, "reeds", KW_CHECK_NEVER);
    tick(&season, 7.2, "reeds", KW_CHECK_DONE);
    expect_state(&season, "reeds", KW_CHECK_DONE);
    season_session(&season, 14.0, 600.0);
    expect_state(&season, "reeds", KW_CHECK_OPEN);
    season_end(&season);
}

static void test_round__own_check_is_in_until_withdrawn(void **state)
{
    struct season season;
    struct kw_error error = {0};
    int64_t id = 0;
    char item[32];
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    const struct kw_new_entry entry = {.at_s = season_day(0.2),
                                       .text = "water pump belt: no cracks"};
    assert_int_equal(kw_logbook_new_check(season.book, &entry, &id, &error),
                     KW_OK);
    snprintf(item, sizeof item, "%d", (int)id);
    expect_state(&season, item, KW_CHECK_OPEN);
    tick(&season, 0.3, item, KW_CHECK_DONE);
    expect_state(&season, item, KW_CHECK_DONE);
    struct kw_rounds rounds = read_rounds(&season);
    assert_string_equal(check_of(&rounds.items[0], item)->what, entry.text);
    const size_t n = rounds.items[0].n;
    kw_rounds_free(&rounds);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, id, &error),
                     KW_OK);
    rounds = read_rounds(&season);
    assert_int_equal(rounds.items[0].n, n - 1);
    kw_rounds_free(&rounds);
    const char *const items[] = {item};
    const struct kw_new_tick late = {items, 1, KW_CHECK_DONE};
    assert_int_equal(kw_logbook_tick(season.book, &entry, &late, &id, &error),
                     KW_BAD_USAGE);
    season_end(&season);
}

/* All or none, and no entry left behind. */
static void test_round__unknown_item_ticks_nothing(void **state)
{
    static const char *const items[] = {"chain", "gearbox"};
    const struct kw_new_entry entry = {.at_s = season_day(1.0)};
    const struct kw_new_tick what = {items, 2, KW_CHECK_DONE};
    struct season season;
    struct kw_error error = {0};
    struct kw_entries entries;
    int64_t id = 0;
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    assert_int_equal(kw_logbook_tick(season.book, &entry, &what, &id, &error),
                     KW_BAD_USAGE);
    assert_non_null(strstr(error.what, "gearbox"));
    expect_state(&season, "chain", KW_CHECK_OPEN);
    assert_int_equal(kw_logbook_entries(season.book, &entries, NULL), KW_OK);
    assert_int_equal(entries.n, 1);
    kw_entries_free(&entries);
    season_end(&season);
}

static void test_round__withdrawn_tick_opens_the_check(void **state)
{
    struct season season;
    const struct kw_new_entry entry = {.text = "was the other kart"};
    season_begin(&season, *state);
    season_session(&season, 0.0, 600.0);
    const int64_t id = tick(&season, 0.3, "Brakes", KW_CHECK_DONE);
    expect_state(&season, "brake", KW_CHECK_DONE);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, id, NULL), KW_OK);
    expect_state(&season, "brake", KW_CHECK_OPEN);
    season_end(&season);
}

static void test_round__karts_have_rounds_of_their_own(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season.kart = "Number 7";
    season_session(&season, 0.0, 600.0);
    season.kart = "Number 8";
    season_session(&season, 0.1, 600.0);
    tick(&season, 0.3, "chain", KW_CHECK_DONE);
    struct kw_rounds rounds = read_rounds(&season);
    assert_int_equal(rounds.n, 2);
    assert_string_equal(rounds.items[0].kart, "Number 7");
    assert_int_equal(check_of(&rounds.items[0], "chain")->state, KW_CHECK_OPEN);
    assert_int_equal(check_of(&rounds.items[1], "chain")->state, KW_CHECK_DONE);
    assert_int_equal(rounds.items[1].n_done, 1);
    assert_int_equal(rounds.items[1].n_open, rounds.items[1].n - 1);
    kw_rounds_free(&rounds);
    season_end(&season);
}

/* A slip in the name must not tick a round that nobody will ever see. */
static void test_round__kart_that_is_not_known_is_refused(void **state)
{
    static const char *const item = "chain";
    const struct kw_new_tick what = {&item, 1, KW_CHECK_DONE};
    const struct {
        const char *kart;
        enum kw_status expected;
    } rows[] = {{"Number 7", KW_OK},
                {"Number 8", KW_OK},
                {"Number 9", KW_BAD_USAGE},
                {"number 7", KW_BAD_USAGE},
                {NULL, KW_OK}};
    struct season season;
    season_begin(&season, *state);
    season.kart = "Number 7";
    season_session(&season, 0.0, 600.0);
    /* Known by what was fitted to it, before it ever ran. */
    season.kart = "Number 8";
    season_fit(&season, 0.1, "chain", NAN);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct kw_new_entry entry = {.at_s = season_day(0.3),
                                           .kart = rows[i].kart};
        struct kw_error error = {0};
        int64_t id = 0;
        assert_int_equal(
            kw_logbook_tick(season.book, &entry, &what, &id, &error),
            rows[i].expected);
        if (rows[i].expected != KW_OK)
            assert_string_equal(error.todo, "it knows Number 7, Number 8");
    }
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_check_list__every_row_is_whole_and_found),
        IN_SCRATCH(test_round__is_not_due_before_the_first_session),
        IN_SCRATCH(test_round__tick_before_the_first_session_is_kept),
        IN_SCRATCH(test_round__each_race_day_opens_it_again),
        IN_SCRATCH(test_round__tick_before_the_last_session_counts_not),
        IN_SCRATCH(test_round__late_log_of_an_earlier_day_opens_nothing),
        IN_SCRATCH(test_round__counts_race_days_not_sessions),
        IN_SCRATCH(test_round__never_stays_until_it_is_ticked),
        IN_SCRATCH(test_round__own_check_is_in_until_withdrawn),
        IN_SCRATCH(test_round__unknown_item_ticks_nothing),
        IN_SCRATCH(test_round__withdrawn_tick_opens_the_check),
        IN_SCRATCH(test_round__karts_have_rounds_of_their_own),
        IN_SCRATCH(test_round__kart_that_is_not_known_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
