/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hours of parts: an engine is opened up, or not, because of this number. It
 * must follow every late log, corrected date and withdrawn entry, and agree
 * with a sum that the sqlite3 shell does in its own words. */
#include "support/check.h"

#include "support/other_program.h"
#include "support/scratch.h"
#include "support/season.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const double HOUR_S = 3600.0;

/* Seconds as hours are off by rounding only. */
static const double ROUNDING_H = 1e-9;

static void check_hours(struct season *season,
                        const char *label,
                        int64_t part,
                        double hours)
{
    check_near(label, season_hours(season, part), hours, ROUNDING_H);
}

static void test_parts__sessions_between_fit_and_removal_count(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session(&season, -1.0, HOUR_S);
    const int64_t chain = season_fit(&season, 0.0, "chain", 10.0);
    season_session(&season, 0.0, 0.5 * HOUR_S);
    season_session(&season, 1.0, 0.25 * HOUR_S);
    check_hours(&season, "two sessions", chain, 0.75);
    season_remove(&season, 2.0, chain);
    season_session(&season, 3.0, HOUR_S);
    check_hours(&season, "off the kart", chain, 0.75);
    season_end(&season);
}

/* A slip in a date must not leave a part that never ran. */
static void test_parts__none_comes_off_before_it_went_on(void **state)
{
    struct season season;
    struct kw_error error = {0};
    int64_t id = 0;
    season_begin(&season, *state);
    const int64_t chain = season_fit(&season, 2.0, "chain", 10.0);
    const struct kw_new_entry early = {.at_s = season_day(1.0)};
    assert_int_equal(kw_logbook_remove(season.book, &early, chain, &id, &error),
                     KW_BAD_INPUT);
    assert_string_equal(error.what, "part 1 was fitted after that date");
    season_session(&season, 3.0, HOUR_S);
    check_hours(&season, "still on", chain, 1.0);
    season_end(&season);
}

/* The evening's log is often added a week later. */
static void test_parts__late_log_goes_to_the_part_of_its_day(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t old = season_fit(&season, 0.0, "clutch lining", 8.0);
    const int64_t new = season_fit(&season, 10.0, "clutch lining", 8.0);
    season_session(&season, 5.0, HOUR_S);
    season_session(&season, 12.0, 2.0 * HOUR_S);
    check_hours(&season, "old", old, 1.0);
    check_hours(&season, "new", new, 2.0);
    season_end(&season);
}

static void test_parts__corrected_fitting_date_moves_hours(void **state)
{
    struct season season;
    struct kw_error error = {0};
    season_begin(&season, *state);
    season_session(&season, 1.0, HOUR_S);
    const int64_t plug = season_fit(&season, 2.0, "plug", 5.0);
    check_hours(&season, "fitted after", plug, 0.0);
    const struct kw_new_entry earlier = {.at_s = season_day(0.0)};
    assert_int_equal(kw_logbook_correct(season.book, &earlier, plug, &error),
                     KW_OK);
    check_hours(&season, "fitted before", plug, 1.0);
    const struct kw_new_entry later = {.at_s = season_day(3.0)};
    assert_int_equal(kw_logbook_correct(season.book, &later, plug, &error),
                     KW_OK);
    check_hours(&season, "the last correction counts", plug, 0.0);
    season_end(&season);
}

static void test_parts__withdrawn_entries_count_no_more(void **state)
{
    struct season season;
    struct kw_error error = {0};
    const struct kw_new_entry entry = {.text = "wrong kart"};
    season_begin(&season, *state);
    const int64_t chain = season_fit(&season, 0.0, "chain", 10.0);
    const int64_t wrong = season_session(&season, 1.0, HOUR_S);
    const int64_t removal = season_remove(&season, 2.0, chain);
    season_session(&season, 3.0, 2.0 * HOUR_S);
    check_hours(&season, "before", chain, 1.0);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, wrong, &error),
                     KW_OK);
    check_hours(&season, "session withdrawn", chain, 0.0);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, chain, &error),
                     KW_BAD_INPUT);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, removal, &error),
                     KW_OK);
    check_hours(&season, "removal withdrawn", chain, 2.0);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, chain, &error),
                     KW_OK);
    struct kw_parts parts;
    assert_int_equal(kw_logbook_parts(season.book, &parts, &error), KW_OK);
    assert_int_equal(parts.n, 0);
    kw_parts_free(&parts);
    season_end(&season);
}

/* Fitting the same part again is how most people replace it: no session may go
 * to both or to neither. */
static void test_parts__fitting_again_replaces(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t first = season_fit(&season, 0.0, "Chain", 10.0);
    season_session(&season, 1.0, HOUR_S);
    const int64_t second = season_fit(&season, 2.0, "chain", 10.0);
    season_session(&season, 2.0, 0.5 * HOUR_S);
    season_session(&season, 3.0, 0.5 * HOUR_S);
    check_hours(&season, "first", first, 1.0);
    check_hours(&season, "second", second, 1.0);
    season_end(&season);
}

/* A season that is written down backwards, as one who starts the book in autumn
 * does. */
static void test_parts__one_filed_late_ends_at_the_next(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t third = season_fit(&season, 6.0, "chain", 10.0);
    const int64_t first = season_fit(&season, 0.0, "chain", 10.0);
    const int64_t second = season_fit(&season, 3.0, "Chain", 10.0);
    for (double day = 1.0; day < 9.0; day += 1.0)
        season_session(&season, day, HOUR_S);
    check_hours(&season, "first", first, 2.0);
    check_hours(&season, "second", second, 3.0);
    check_hours(&season, "third", third, 3.0);
    season_end(&season);
}

/* A fitting with a wrong date or on the wrong kart must leave its forerunner's
 * hours as if it had been filed right. */
static void test_parts__what_came_off_goes_with_the_fitting(void **state)
{
    struct season season;
    struct kw_error error = {0};
    int64_t part = 0;
    season_begin(&season, *state);
    const int64_t old = season_fit(&season, 0.0, "chain", 10.0);
    const int64_t new = season_fit(&season, 4.0, "chain", 10.0);
    season_session(&season, 5.0, HOUR_S);
    season_session(&season, 7.0, HOUR_S);
    assert_int_equal(kw_logbook_part_replaced(season.book, new, &part, &error),
                     KW_OK);
    assert_int_equal(part, old);
    struct kw_new_entry entry = {.at_s = season_day(6.0)};
    assert_int_equal(kw_logbook_correct(season.book, &entry, new, &error),
                     KW_OK);
    check_hours(&season, "old until the new date", old, 1.0);
    check_hours(&season, "new from it", new, 1.0);
    entry.at_s = season_day(-1.0);
    assert_int_equal(kw_logbook_correct(season.book, &entry, new, &error),
                     KW_BAD_INPUT);
    assert_string_equal(error.what,
                        "part 1 would come off before it was fitted");
    check_hours(&season, "as it was", old, 1.0);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, new, &error),
                     KW_OK);
    check_hours(&season, "on again", old, 2.0);
    season_end(&season);
}

/* Two wheels have two bearings: a name keeps them apart. */
static void test_parts__named_parts_do_not_replace_each_other(void **state)
{
    struct season season;
    struct kw_fitted fitted;
    season_begin(&season, *state);
    struct kw_new_part tyre = {
        .part = "tyres", .life_h = NAN, .life_days = NAN};
    const struct kw_new_entry entry = {.at_s = season_day(0.0)};
    tyre.name = "front";
    assert_int_equal(kw_logbook_fit(season.book, &entry, &tyre, &fitted, NULL),
                     KW_OK);
    const int64_t front = fitted.id;
    tyre.name = "rear";
    assert_int_equal(kw_logbook_fit(season.book, &entry, &tyre, &fitted, NULL),
                     KW_OK);
    assert_int_equal(fitted.replaced_id, 0);
    assert_int_equal(fitted.life_from, KW_LIFE_LIST);
    season_session(&season, 1.0, HOUR_S);
    check_hours(&season, "front", front, 1.0);
    check_hours(&season, "rear", fitted.id, 1.0);
    season_end(&season);
}

/* "Fitted today" counts the run of this morning, but not what its forerunner
 * ran this morning. */
static void test_parts__lead_reaches_back_to_the_forerunner_only(void **state)
{
    struct season season;
    struct kw_fitted fitted;
    season_begin(&season, *state);
    const struct kw_new_entry entry = {.at_s = season_day(1.0)};
    const struct kw_new_part reeds = {.part = "reeds",
                                      .life_h = NAN,
                                      .life_days = NAN,
                                      .lead_s = 0.5 * DAY_S};
    season_session(&season, 0.75, HOUR_S);
    assert_int_equal(kw_logbook_fit(season.book, &entry, &reeds, &fitted, NULL),
                     KW_OK);
    check_hours(&season, "this morning", fitted.id, 1.0);
    const int64_t old = season_fit(&season, 0.0, "plug", 5.0);
    season_remove(&season, 0.9, old);
    struct kw_new_part plug = reeds;
    plug.part = "plug";
    assert_int_equal(kw_logbook_fit(season.book, &entry, &plug, &fitted, NULL),
                     KW_OK);
    check_hours(&season, "new plug", fitted.id, 0.0);
    check_hours(&season, "old plug", old, 1.0);
    season_end(&season);
}

static void test_parts__karts_are_kept_apart(void **state)
{
    struct season season;
    season_begin(&season, *state);
    /* Before any kart has a name there is one kart, and it gets the first. */
    const int64_t chain = season_fit(&season, 0.0, "chain", 10.0);
    season.kart = "Number 7";
    season_session(&season, 1.0, HOUR_S);
    season.kart = "Number 8";
    const int64_t other = season_fit(&season, 0.0, "chain", 10.0);
    season_session(&season, 2.0, 2.0 * HOUR_S);
    check_hours(&season, "number 7", chain, 1.0);
    check_hours(&season, "number 8", other, 2.0);
    struct kw_parts engines;
    assert_int_equal(kw_logbook_engines(season.book, &engines, NULL), KW_OK);
    assert_int_equal(engines.n, 2);
    assert_string_equal(engines.items[0].kart, "Number 7");
    check_near("engine 7", kw_part_hours(&engines.items[0]), 1.0, ROUNDING_H);
    check_near("engine 8", kw_part_hours(&engines.items[1]), 2.0, ROUNDING_H);
    kw_parts_free(&engines);
    season_end(&season);
}

static void test_parts__same_log_is_counted_once(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t chain = season_fit(&season, 0.0, "chain", 10.0);
    const int64_t first = season_session(&season, 1.0, HOUR_S);
    char verdict[] = "";
    struct kw_review review = {.running = {.seconds = HOUR_S},
                               .verdict_text = verdict};
    struct kw_new_session again = {.review = &review, .log_name = "copy.csv"};
    const struct kw_new_entry entry = {.at_s = season_day(1.5)};
    struct kw_added added;
    memcpy(again.log_sha256, &season.n_logs, sizeof season.n_logs);
    assert_int_equal(
        kw_logbook_add_session(season.book, &entry, &again, &added, NULL),
        KW_OK);
    assert_true(added.already);
    assert_int_equal(added.id, first);
    check_hours(&season, "once", chain, 1.0);
    /* Withdrawn, it may be added anew: under the right kart, say. */
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, first, NULL),
                     KW_OK);
    assert_int_equal(
        kw_logbook_add_session(season.book, &entry, &again, &added, NULL),
        KW_OK);
    assert_false(added.already);
    check_hours(&season, "once again", chain, 1.0);
    season_end(&season);
}

/* ---- against the sqlite3 shell ------------------------------------------- */

/* Written from the contract alone: no view of ours, a join for each step. */
static const char independent_sql[] =
    "WITH gone AS (SELECT entry_id FROM withdrawal),"
    " dates AS (SELECT id, ifnull((SELECT at_s FROM correction WHERE id ="
    "  (SELECT max(id) FROM correction WHERE entry_id = entry.id)), at_s) AS d"
    "  FROM entry WHERE id NOT IN gone),"
    " off AS (SELECT fit_id, min(d) AS d FROM removal"
    "  JOIN dates ON dates.id = removal.entry_id GROUP BY fit_id)"
    " SELECT f.entry_id || ':' || round(f.hours_so_far + ifnull("
    "  (SELECT sum(s.running_s) FROM session s JOIN dates a"
    "   ON a.id = s.entry_id WHERE a.d >= b.d AND a.d <"
    "   ifnull((SELECT d FROM off WHERE off.fit_id = f.entry_id), 9e99)), 0)"
    "  / 3600.0, 6) FROM fit f JOIN dates b ON b.id = f.entry_id ORDER BY 1;";

/* A season by dice: parts on and off, logs in any order, dates corrected,
 * entries withdrawn. */
static void roll_a_season(struct season *season, unsigned seed)
{
    static const char *const kinds[] = {"chain", "plug", "reeds", "tyres"};
    unsigned random = seed;
    for (int i = 0; i < 120; i++) {
        random = random * 1103515245U + 12345U;
        const unsigned dice = random >> 16;
        const double days = (double)(dice % 977) / 10.0;
        const struct kw_new_entry entry = {.at_s = season_day(days)};
        if (dice % 7 == 0)
            season_fit(season, days, kinds[dice / 7 % 4], NAN);
        else if (dice % 7 == 1)
            /* Most numbers are no such thing: a refusal changes nothing. */
            (void)kw_logbook_correct(season->book, &entry, dice % 60 + 1, NULL);
        else if (dice % 11 == 2)
            (void)kw_logbook_withdraw(season->book, &entry, dice % 60 + 1,
                                      NULL);
        else
            season_session(season, days, 300.0 + dice % 900);
    }
}

static void test_parts__hours_agree_with_the_sqlite3_shell(void **state)
{
    for (unsigned seed = 1; seed <= 5; seed++) {
        struct season season;
        struct kw_parts parts;
        char answer[4096];
        season_begin(&season, *state);
        char *const words[] = {"sqlite3", season.path, (char *)independent_sql,
                               NULL};
        roll_a_season(&season, seed);
        if (!ask_program(words, answer, sizeof answer)) {
            season_end(&season);
            skip();
        }
        assert_int_equal(kw_logbook_parts(season.book, &parts, NULL), KW_OK);
        assert_true(parts.n > 5);
        for (size_t i = 0; i < parts.n; i++) {
            char start[32];
            snprintf(start, sizeof start, "%d:", (int)parts.items[i].id);
            const char *found = strstr(answer, start);
            while (found != NULL && found != answer && found[-1] != '\n')
                found = strstr(found + 1, start);
            assert_non_null(found);
            check_near(start, kw_part_hours(&parts.items[i]),
                       strtod(found + strlen(start), NULL), 1e-6);
        }
        kw_parts_free(&parts);
        season_end(&season);
        assert_int_equal(unlink(season.path), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_parts__sessions_between_fit_and_removal_count),
        IN_SCRATCH(test_parts__none_comes_off_before_it_went_on),
        IN_SCRATCH(test_parts__late_log_goes_to_the_part_of_its_day),
        IN_SCRATCH(test_parts__corrected_fitting_date_moves_hours),
        IN_SCRATCH(test_parts__withdrawn_entries_count_no_more),
        IN_SCRATCH(test_parts__fitting_again_replaces),
        IN_SCRATCH(test_parts__one_filed_late_ends_at_the_next),
        IN_SCRATCH(test_parts__what_came_off_goes_with_the_fitting),
        IN_SCRATCH(test_parts__named_parts_do_not_replace_each_other),
        IN_SCRATCH(test_parts__lead_reaches_back_to_the_forerunner_only),
        IN_SCRATCH(test_parts__karts_are_kept_apart),
        IN_SCRATCH(test_parts__same_log_is_counted_once),
        IN_SCRATCH(test_parts__hours_agree_with_the_sqlite3_shell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
