/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Following findings up: after an evening with the fuel filter the next log
 * must say whether that was the cure, and not say so of what nobody touched. */
#include "support/check.h"

#include "support/scratch.h"
#include "support/season.h"

#include <string.h>

static const char FUEL[] = "fuel line, filter and tank vent";

/* The session's lines, joined; fails when they are not as expected. */
static void expect_follow_up(struct season *season,
                             int64_t session,
                             const char *expected)
{
    struct kw_notices lines = {0};
    struct kw_error error = {0};
    char got[512] = "";
    if (kw_logbook_follow_up(season->book, session, &lines, &error) != KW_OK)
        fail_msg("follow up: %s", error.what);
    for (size_t i = 0; i < lines.n; i++) {
        const size_t n = strlen(got);
        snprintf(got + n, sizeof got - n, "%s|", lines.items[i].text);
    }
    kw_notices_free(&lines);
    assert_string_equal(got, expected);
}

static int64_t found(struct season *season, double days)
{
    return season_session_with(season, days, FUEL, KW_BEFORE_NEXT_RACE);
}

static void test_follow_up__first_finding_has_no_past(void **state)
{
    struct season season;
    season_begin(&season, *state);
    expect_follow_up(&season, found(&season, 1.0), "");
    /* Nobody did anything about it. */
    expect_follow_up(&season, found(&season, 2.0), "");
    expect_follow_up(&season, season_session(&season, 3.0, 600.0), "");
    season_end(&season);
}

static void test_follow_up__closed_finding_is_gone_then_back(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t first = found(&season, 1.0);
    season_close(&season, 1.5, first + 1, "filter replaced");
    const int64_t clean = season_session(&season, 2.0, 600.0);
    expect_follow_up(&season, clean,
                     "fuel line, filter and tank vent: gone, not found in the "
                     "session since it was closed (filter replaced)|");
    const int64_t back = found(&season, 3.0);
    expect_follow_up(&season, back,
                     "fuel line, filter and tank vent: back, 2 sessions after "
                     "it was closed (filter replaced)|");
    /* What came later does not change what that day said. */
    expect_follow_up(&season, clean,
                     "fuel line, filter and tank vent: gone, not found in the "
                     "session since it was closed (filter replaced)|");
    season_end(&season);
}

static void test_follow_up__part_that_was_fitted_is_named(void **state)
{
    struct season season;
    season_begin(&season, *state);
    found(&season, 1.0);
    season_fit(&season, 1.1, "plug", 9.0);
    season_fit(&season, 1.2, "fuel filter", 9.0);
    season_session(&season, 2.0, 600.0);
    expect_follow_up(&season, season_session(&season, 3.0, 600.0),
                     "fuel line, filter and tank vent: gone, not found in the "
                     "2 sessions since the fuel filter was fitted "
                     "(2026-06-15)|");
    expect_follow_up(&season, found(&season, 4.0),
                     "fuel line, filter and tank vent: again, 3 sessions after "
                     "the fuel filter was fitted (2026-06-15)|");
    season_end(&season);
}

/* A cure of last month is no news. */
static void test_follow_up__is_told_for_three_sessions(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t first = found(&season, 1.0);
    season_close(&season, 1.5, first + 1, "");
    for (int day = 2; day <= 6; day++) {
        struct kw_notices lines = {0};
        const int64_t id = season_session(&season, day, 600.0);
        assert_int_equal(kw_logbook_follow_up(season.book, id, &lines, NULL),
                         KW_OK);
        assert_int_equal(lines.n, day <= 4 ? 1 : 0);
        kw_notices_free(&lines);
    }
    season_end(&season);
}

/* Warmed up on the stand after the repair: that the fault did not show there
 * says nothing. */
static void test_follow_up__session_on_the_stand_is_no_cure(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t first = found(&season, 1.0);
    season_close(&season, 1.5, first + 1, "filter replaced");
    expect_follow_up(&season, season_session_on_stand(&season, 2.0), "");
    expect_follow_up(&season, season_session(&season, 3.0, 600.0),
                     "fuel line, filter and tank vent: gone, not found in the "
                     "session since it was closed (filter replaced)|");
    season_end(&season);
}

static void test_follow_up__other_kart_says_nothing(void **state)
{
    struct season season;
    season_begin(&season, *state);
    season.kart = "Number 7";
    const int64_t first = found(&season, 1.0);
    season_close(&season, 1.5, first + 1, "");
    season.kart = "Number 8";
    expect_follow_up(&season, season_session(&season, 2.0, 600.0), "");
    expect_follow_up(&season, found(&season, 3.0), "");
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_follow_up__first_finding_has_no_past),
        IN_SCRATCH(test_follow_up__closed_finding_is_gone_then_back),
        IN_SCRATCH(test_follow_up__part_that_was_fitted_is_named),
        IN_SCRATCH(test_follow_up__is_told_for_three_sessions),
        IN_SCRATCH(test_follow_up__session_on_the_stand_is_no_cure),
        IN_SCRATCH(test_follow_up__other_kart_says_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
