/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is due: a part past its life is named, a finding that comes back is told
 * as back, and nothing is shown that was dealt with. */
#include "support/check.h"

#include "support/scratch.h"
#include "support/season.h"

#include <string.h>

static const double HOUR_S = 3600.0;

static const char FUEL[] = "fuel line, filter and tank vent";

static void check_says(const struct kw_due *due, const char *words)
{
    assert_non_null(due);
    if (strstr(due->why, words) == NULL)
        fail_msg("'%s' does not say '%s'", due->why, words);
}

/* The contract's own example, and what lies on either side of each border. */
static void test_due__part_is_named_as_its_life_runs_out(void **state)
{
    static const struct {
        double ran_h;
        bool due;
        enum kw_urgency urgency;
        const char *why;
    } cases[] = {
        {5.9, false, KW_WATCH, ""},
        {6.1, true, KW_WATCH, "6.1 of 8.0 h"},
        {7.1, true, KW_WATCH, "7.1 of 8.0 h"},
        {7.6, true, KW_BEFORE_NEXT_RACE, "7.6 of 8.0 h"},
        {7.99, true, KW_BEFORE_NEXT_RACE, "7.9 of 8.0 h"},
        {8.0, true, KW_BEFORE_NEXT_RUN, "8.0 of 8.0 h"},
        {9.5, true, KW_BEFORE_NEXT_RUN, "9.5 of 8.0 h"},
    };
    struct season season;
    season_begin(&season, *state);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const double days = 10.0 * (double)i;
        const int64_t lining = season_fit(&season, days, "clutch lining", 8.0);
        season_session(&season, days + 1.0, cases[i].ran_h * HOUR_S);
        season_close(&season, days + 2.0, lining, "second look done");
        struct kw_dues dues = season_due(&season, days + 2.0);
        const struct kw_due *due = due_of(&dues, lining);
        check_true(cases[i].why, (due != NULL) == cases[i].due);
        if (due != NULL) {
            assert_string_equal(due->what, "clutch lining");
            assert_string_equal(due->why, cases[i].why);
            assert_int_equal(due->urgency, cases[i].urgency);
            assert_int_equal(due->source, KW_DUE_LIFE);
        }
        kw_dues_free(&dues);
    }
    season_end(&season);
}

/* Brake fluid ages in its bottle too. */
static void test_due__days_count_without_running(void **state)
{
    struct season season;
    struct kw_fitted fitted;
    season_begin(&season, *state);
    const struct kw_new_entry entry = {.at_s = season_day(0.0)};
    const struct kw_new_part fluid = {
        .part = "brake fluid", .life_h = NAN, .life_days = NAN};
    assert_int_equal(kw_logbook_fit(season.book, &entry, &fluid, &fitted, NULL),
                     KW_OK);
    struct kw_dues dues = season_due(&season, 100.0);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    dues = season_due(&season, 366.0);
    assert_int_equal(dues.n, 1);
    assert_string_equal(dues.items[0].why, "366 of 365 days");
    kw_dues_free(&dues);
    season_end(&season);
}

static void test_due__most_pressing_comes_first(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_watch(&season, 0.0, "hairline at the seat stay", false);
    const int64_t worn = season_fit(&season, 0.0, "chain", 0.2);
    const int64_t tie =
        season_watch(&season, 0.0, "cable tie on the fuel line", true);
    season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RUN);
    season_close(&season, 1.5, worn, "looked at");
    struct kw_dues dues = season_due(&season, 2.0);
    assert_int_equal(dues.n, 4);
    assert_string_equal(dues.items[0].what, FUEL);
    assert_int_equal(dues.items[1].id, worn);
    assert_int_equal(dues.items[2].id, tie);
    assert_string_equal(dues.items[3].what, "hairline at the seat stay");
    for (size_t i = 1; i < dues.n; i++)
        assert_true(dues.items[i - 1].urgency >= dues.items[i].urgency);
    kw_dues_free(&dues);
    season_end(&season);
}

static void test_due__closed_items_are_gone(void **state)
{
    struct season season;
    struct kw_error error = {0};
    int64_t id = 0;
    season_begin(&season, *state);
    const int64_t watch = season_watch(&season, 0.0, "hairline", false);
    season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RACE);
    season_session_with(&season, 2.0, FUEL, KW_BEFORE_NEXT_RACE);
    struct kw_dues dues = season_due(&season, 3.0);
    /* One story, however often it was found. */
    assert_int_equal(dues.n, 2);
    check_says(&dues.items[0], "Found in 2 sessions");
    const int64_t finding = dues.items[0].id;
    kw_dues_free(&dues);
    season_close(&season, 3.0, watch, "welded");
    season_close(&season, 3.0, finding, "filter replaced");
    dues = season_due(&season, 3.0);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    const struct kw_new_entry entry = {.at_s = season_day(4.0)};
    assert_int_equal(
        kw_logbook_close_item(season.book, &entry, watch, &id, &error),
        KW_BAD_INPUT);
    assert_non_null(strstr(error.what, "closed already"));
    season_end(&season);
}

/* "Fuel restriction again, 2 sessions after the filter was replaced." The book
 * is often filled after the season: what was written later counts as later,
 * even when the closing was dated by the day of writing. */
static void test_due__closed_finding_that_returns_is_back(void **state)
{
    static const double closed_on[] = {1.5, 400.0};
    for (size_t i = 0; i < 2; i++) {
        struct season season;
        season_begin(&season, *state);
        const int64_t session =
            season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RACE);
        season_close(&season, closed_on[i], session + 1, "filter replaced");
        season_session(&season, 2.0, 600.0);
        season_session_with(&season, 3.0, FUEL, KW_BEFORE_NEXT_RACE);
        struct kw_dues dues = season_due(&season, 4.0);
        assert_int_equal(dues.n, 1);
        check_says(&dues.items[0],
                   "Back, 2 sessions after it was closed (filter replaced)");
        kw_dues_free(&dues);
        season_end(&season);
        assert_int_equal(remove(season.path), 0);
    }
}

/* A log of the day before the closing brings nothing back. */
static void test_due__late_log_from_before_is_not_back(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t session =
        season_session_with(&season, 2.0, FUEL, KW_BEFORE_NEXT_RACE);
    season_close(&season, 2.5, session + 1, "filter replaced");
    season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RACE);
    struct kw_dues dues = season_due(&season, 3.0);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_end(&season);
}

static void test_due__finding_is_gone_after_the_part_was_replaced(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RUN);
    const int64_t plug = season_fit(&season, 1.5, "plug", 99.0);
    const int64_t filter = season_fit(&season, 1.5, "fuel filter", 99.0);
    season_session_on_stand(&season, 1.6);
    struct kw_dues before = season_due(&season, 1.7);
    assert_null(strstr(before.items[0].why, "Gone"));
    assert_int_equal(before.items[0].urgency, KW_BEFORE_NEXT_RUN);
    kw_dues_free(&before);
    season_session(&season, 2.0, 600.0);
    season_session(&season, 3.0, 600.0);
    season_close(&season, 3.5, plug, "");
    season_close(&season, 3.5, filter, "");
    struct kw_dues dues = season_due(&season, 4.0);
    assert_int_equal(dues.n, 1);
    check_says(&dues.items[0],
               "Gone: not found in the 2 sessions since the fuel filter");
    assert_int_equal(dues.items[0].urgency, KW_WATCH);
    kw_dues_free(&dues);
    /* And back again: the new filter was not the cure. */
    season_session_with(&season, 5.0, FUEL, KW_BEFORE_NEXT_RUN);
    dues = season_due(&season, 6.0);
    assert_int_equal(dues.n, 1);
    check_says(&dues.items[0], "Again, 3 sessions after the fuel filter");
    assert_int_equal(dues.items[0].urgency, KW_BEFORE_NEXT_RUN);
    kw_dues_free(&dues);
    season_end(&season);
}

/* The other kart's clean session says nothing about this one. */
static void test_due__karts_have_findings_of_their_own(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season.kart = "Number 7";
    season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RUN);
    season.kart = "Number 8";
    season_session(&season, 2.0, 600.0);
    struct kw_dues dues = season_due(&season, 3.0);
    assert_int_equal(dues.n, 1);
    assert_string_equal(dues.items[0].kart, "Number 7");
    assert_null(strstr(dues.items[0].why, "Not found"));
    kw_dues_free(&dues);
    season_end(&season);
}

/* What was taken apart settles: due for a look after its first run, once. */
static void test_due__new_part_wants_a_second_look(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t chain = season_fit(&season, 0.0, "chain", 99.0);
    struct kw_dues dues = season_due(&season, 0.5);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_session(&season, 1.0, 600.0);
    dues = season_due(&season, 1.5);
    assert_int_equal(dues.n, 1);
    assert_string_equal(dues.items[0].what, "second look: chain");
    assert_string_equal(dues.items[0].looks_at, "chain");
    kw_dues_free(&dues);
    season_close(&season, 2.0, chain, "tension good");
    dues = season_due(&season, 2.5);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_end(&season);
}

/* A used part that made room for nothing was on the kart all along; one that
 * took another's place was put in with a spanner. */
static void test_due__used_part_that_was_put_in_wants_a_look(void **state)
{
    struct season season;
    struct kw_fitted fitted;
    season_begin(&season, *state);
    const struct kw_new_entry first = {.at_s = season_day(0.0)};
    const struct kw_new_entry later = {.at_s = season_day(2.0)};
    const struct kw_new_part used = {.part = "chain",
                                     .life_h = 99.0,
                                     .life_days = NAN,
                                     .hours_so_far = 2.5,
                                     .registered = true};
    assert_int_equal(kw_logbook_fit(season.book, &first, &used, &fitted, NULL),
                     KW_OK);
    season_session(&season, 1.0, 600.0);
    struct kw_dues dues = season_due(&season, 1.5);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    assert_int_equal(kw_logbook_fit(season.book, &later, &used, &fitted, NULL),
                     KW_OK);
    season_session(&season, 3.0, 600.0);
    dues = season_due(&season, 3.5);
    assert_int_equal(dues.n, 1);
    assert_int_equal(dues.items[0].id, fitted.id);
    assert_string_equal(dues.items[0].what, "second look: chain");
    kw_dues_free(&dues);
    season_end(&season);
}

/* The clutch was open and nothing new went in: after its first run all the
 * same. */
static void test_due__what_was_put_back_wants_a_second_look(void **state)
{
    struct season season;
    struct kw_error error = {0};
    int64_t id = 0;
    season_begin(&season, *state);
    const struct kw_new_entry entry = {.at_s = season_day(1.0),
                                       .text = "clutch"};
    const struct kw_new_watch watch = {.after_run = true};
    season_session(&season, 0.5, 600.0);
    assert_int_equal(kw_logbook_watch(season.book, &entry, &watch, &id, &error),
                     KW_OK);
    struct kw_dues dues = season_due(&season, 1.5);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_session(&season, 2.0, 600.0);
    season_session(&season, 2.1, 600.0);
    dues = season_due(&season, 2.5);
    assert_int_equal(dues.n, 1);
    assert_string_equal(dues.items[0].what, "second look: clutch");
    assert_int_equal(dues.items[0].urgency, KW_BEFORE_NEXT_RACE);
    assert_int_equal(dues.items[0].source, KW_DUE_WATCH);
    check_says(&dues.items[0], "2 sessions since");
    assert_string_equal(dues.items[0].looks_at, "clutch");
    kw_dues_free(&dues);
    season_close(&season, 2.6, id, "all tight");
    dues = season_due(&season, 2.7);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_end(&season);
}

/* Running on does not make a make-do less pressing, and neither does a part of
 * another name; the likely proper part is pointed at, and closing is left to
 * the person. */
static void test_due__make_do_presses_until_it_is_closed(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t tie =
        season_watch(&season, 0.0, "cable tie on the fuel line", true);
    for (int day = 1; day <= 5; day++)
        season_session(&season, day, 600.0);
    season_close(&season, 5.2, season_fit(&season, 5.1, "plug", 99.0), "");
    struct kw_dues dues = season_due(&season, 90.0);
    assert_int_equal(dues.n, 1);
    assert_int_equal(dues.items[0].urgency, KW_BEFORE_NEXT_RACE);
    assert_true(dues.items[0].to_buy);
    assert_non_null(strstr(dues.items[0].clears, "put the proper part in"));
    kw_dues_free(&dues);
    season_close(&season, 6.1, season_fit(&season, 6.0, "fuel line", 99.0), "");
    dues = season_due(&season, 90.0);
    assert_int_equal(dues.n, 1);
    assert_int_equal(dues.items[0].urgency, KW_BEFORE_NEXT_RACE);
    assert_non_null(
        strstr(dues.items[0].clears, "the fuel line was fitted since"));
    kw_dues_free(&dues);
    season_close(&season, 7.0, tie, "proper clamp");
    dues = season_due(&season, 90.0);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_end(&season);
}

/* A make-do about a part goes with the part. */
static void test_due__make_do_of_a_part_ends_when_it_comes_off(void **state)
{
    struct season season;
    int64_t id = 0;
    season_begin(&season, *state);
    const int64_t line = season_fit(&season, 0.0, "fuel line", 99.0);
    const struct kw_new_entry entry = {.at_s = season_day(0.5),
                                       .text = "cable tie"};
    const struct kw_new_watch watch = {.part_id = line, .make_do = true};
    assert_int_equal(kw_logbook_watch(season.book, &entry, &watch, &id, NULL),
                     KW_OK);
    struct kw_dues dues = season_due(&season, 1.0);
    assert_int_equal(due_of(&dues, id)->urgency, KW_BEFORE_NEXT_RACE);
    kw_dues_free(&dues);
    season_remove(&season, 1.5, line);
    dues = season_due(&season, 2.0);
    assert_int_equal(due_of(&dues, id)->urgency, KW_WATCH);
    assert_false(due_of(&dues, id)->to_buy);
    check_says(due_of(&dues, id), "which has come off since");
    kw_dues_free(&dues);
    season_end(&season);
}

static void test_due__withdrawn_session_takes_its_findings_along(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const struct kw_new_entry entry = {.text = "wrong file"};
    const int64_t session =
        season_session_with(&season, 1.0, FUEL, KW_BEFORE_NEXT_RUN);
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, session, NULL),
                     KW_OK);
    struct kw_dues dues = season_due(&season, 2.0);
    assert_int_equal(dues.n, 0);
    kw_dues_free(&dues);
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_due__part_is_named_as_its_life_runs_out),
        IN_SCRATCH(test_due__days_count_without_running),
        IN_SCRATCH(test_due__most_pressing_comes_first),
        IN_SCRATCH(test_due__closed_items_are_gone),
        IN_SCRATCH(test_due__closed_finding_that_returns_is_back),
        IN_SCRATCH(test_due__late_log_from_before_is_not_back),
        IN_SCRATCH(test_due__finding_is_gone_after_the_part_was_replaced),
        IN_SCRATCH(test_due__karts_have_findings_of_their_own),
        IN_SCRATCH(test_due__new_part_wants_a_second_look),
        IN_SCRATCH(test_due__used_part_that_was_put_in_wants_a_look),
        IN_SCRATCH(test_due__what_was_put_back_wants_a_second_look),
        IN_SCRATCH(test_due__make_do_presses_until_it_is_closed),
        IN_SCRATCH(test_due__make_do_of_a_part_ends_when_it_comes_off),
        IN_SCRATCH(test_due__withdrawn_session_takes_its_findings_along),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
