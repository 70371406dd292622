/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lives of parts: whose figure counts decides when a part is called over, so a
 * starter value must never stand in the way of the owner's. */
#include "support/check.h"

#include "kartwright/upkeep.h"
#include "logbook/part_lives.h"
#include "support/scratch.h"
#include "support/season.h"

#include <string.h>

/* ---- the starter list ---------------------------------------------------- */

/* The kinds that the list promises to know, by the names that people use. */
static void test_part_lives__every_usual_part_is_on_the_list(void **state)
{
    static const struct {
        const char *word;
        const char *part;
    } cases[] = {
        {"piston", "piston and ring"},
        {"Ring", "piston and ring"},
        {"big end", "big-end bearing"},
        {"reed petals", "reeds"},
        {"CLUTCH", "clutch lining"},
        {"clutch bearing", "clutch bearing"},
        {"spark plug", "plug"},
        {"fuel filter", "fuel line and filter"},
        {"chain", "chain"},
        {"front sprocket", "engine sprocket"},
        {"sprocket", "axle sprocket"},
        {"axle bearing", "axle bearings"},
        {"wheel bearing", "wheel bearings"},
        {"throttle cable", "throttle cable"},
        {"exhaust spring", "exhaust springs"},
        {"exhaust gasket", "exhaust gasket"},
        {"brake pad", "brake pads"},
        {"brake fluid", "brake fluid"},
        {"tire", "tyres"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_part_life *row = kw_part_life_find(cases[i].word);
        if (row == NULL || strcmp(row->part, cases[i].part) != 0)
            fail_msg("'%s' gives '%s', not '%s'", cases[i].word,
                     row == NULL ? "nothing" : row->part, cases[i].part);
    }
    assert_null(kw_part_life_find("gearbox"));
    assert_null(kw_part_life_find(""));
}

static void test_part_lives__every_row_has_a_life_above_nothing(void **state)
{
    size_t n = 0;
    const struct kw_part_life *rows = kw_part_lives(&n);
    (void)state;
    assert_true(n >= 18);
    for (size_t i = 0; i < n; i++) {
        check_true(rows[i].part,
                   !isnan(rows[i].life_h) || !isnan(rows[i].life_days));
        assert_int_equal(
            kw_part_life_check(rows[i].life_h, rows[i].life_days, NULL), KW_OK);
        /* The row must be found under its own name, not another's alias. */
        assert_ptr_equal(kw_part_life_find(rows[i].part), &rows[i]);
    }
    assert_int_equal(kw_part_life_check(0.0, NAN, NULL), KW_BAD_USAGE);
    assert_int_equal(kw_part_life_check(NAN, -1.0, NULL), KW_BAD_USAGE);
}

/* ---- the owner's --------------------------------------------------------- */

static int64_t set_life(struct season *season,
                        double days,
                        const char *part,
                        double life_h)
{
    const struct kw_new_entry entry = {.at_s = season_day(days)};
    const struct kw_new_life life = {part, life_h, NAN};
    struct kw_error error = {0};
    int64_t id = 0;
    if (kw_logbook_set_life(season->book, &entry, &life, &id, &error) != KW_OK)
        fail_msg("life: %s", error.what);
    return id;
}

/* The life of the part as it stands, and whose it is. */
static void expect_life(struct season *season,
                        int64_t part_id,
                        double life_h,
                        enum kw_life_source from)
{
    struct kw_parts parts;
    bool found = false;
    assert_int_equal(kw_logbook_parts(season->book, &parts, NULL), KW_OK);
    for (size_t i = 0; i < parts.n; i++) {
        if (parts.items[i].id != part_id)
            continue;
        found = true;
        check_near("life", parts.items[i].life_h, life_h, 1e-9);
        assert_int_equal(parts.items[i].life_from, from);
    }
    kw_parts_free(&parts);
    assert_true(found);
}

static void test_lives__own_figure_counts_for_what_is_fitted(void **state)
{
    struct season season;
    struct kw_error error = {0};
    season_begin(&season, *state);
    const int64_t listed = season_fit(&season, 0.0, "clutch", NAN);
    const int64_t stated = season_fit(&season, 0.0, "chain", 12.0);
    expect_life(&season, listed, 8.0, KW_LIFE_LIST);
    expect_life(&season, stated, 12.0, KW_LIFE_STATED);
    set_life(&season, 1.0, "Clutch Shoes", 6.0);
    set_life(&season, 1.0, "chain", 5.0);
    expect_life(&season, listed, 6.0, KW_LIFE_OWN);
    expect_life(&season, stated, 12.0, KW_LIFE_STATED);
    /* The last one counts, and taken back, the one before. */
    const int64_t slip = set_life(&season, 2.0, "clutch lining", 60.0);
    expect_life(&season, listed, 60.0, KW_LIFE_OWN);
    const struct kw_new_entry entry = {.text = "slip of the finger"};
    assert_int_equal(kw_logbook_withdraw(season.book, &entry, slip, &error),
                     KW_OK);
    expect_life(&season, listed, 6.0, KW_LIFE_OWN);
    season_end(&season);
}

/* What the list does not know has a life as soon as the owner gives it one. */
static void test_lives__part_of_the_owners_gets_a_life(void **state)
{
    struct season season;
    struct kw_lives lives;
    season_begin(&season, *state);
    const int64_t before = season_fit(&season, 0.0, "water pump belt", NAN);
    expect_life(&season, before, NAN, KW_LIFE_NONE);
    const int64_t id = set_life(&season, 0.5, "Water Pump Belt", 15.0);
    expect_life(&season, before, 15.0, KW_LIFE_OWN);
    assert_int_equal(kw_logbook_lives(season.book, &lives, NULL), KW_OK);
    const struct kw_life *belt = kw_lives_find(&lives, "water pump belt");
    assert_non_null(belt);
    assert_int_equal(belt->id, id);
    assert_true(isnan(belt->usual_h));
    const struct kw_life *chain = kw_lives_find(&lives, "chain");
    assert_int_equal(chain->id, 0);
    check_near("usual", chain->life_h, chain->usual_h, 1e-9);
    kw_lives_free(&lives);
    kw_lives_free(&lives);
    /* A new one gets it at once, and is told so. */
    const struct kw_new_entry entry = {.at_s = season_day(1.0)};
    const struct kw_new_part part = {
        .part = "water pump belt", .life_h = NAN, .life_days = NAN};
    struct kw_fitted fitted;
    assert_int_equal(kw_logbook_fit(season.book, &entry, &part, &fitted, NULL),
                     KW_OK);
    check_near("fitted", fitted.life_h, 15.0, 1e-9);
    assert_int_equal(fitted.life_from, KW_LIFE_OWN);
    season_end(&season);
}

/* Due follows the owner's figure, and says whose it is. */
static void test_lives__due_follows_the_own_figure(void **state)
{
    struct season season;
    season_begin(&season, *state);
    const int64_t lining = season_fit(&season, 0.0, "clutch lining", NAN);
    season_session(&season, 1.0, 3.8 * 3600.0);
    season_close(&season, 1.5, lining, "second look");
    struct kw_dues dues = season_due(&season, 2.0);
    assert_null(due_of(&dues, lining));
    kw_dues_free(&dues);
    set_life(&season, 1.5, "clutch lining", 4.0);
    dues = season_due(&season, 2.0);
    const struct kw_due *due = due_of(&dues, lining);
    assert_non_null(due);
    assert_string_equal(due->why, "3.8 of 4.0 h");
    assert_int_equal(due->life_from, KW_LIFE_OWN);
    assert_true(due->to_buy);
    kw_dues_free(&dues);
    season_end(&season);
}

static void test_lives__no_life_is_refused(void **state)
{
    static const struct {
        const char *part;
        double life_h;
    } cases[] = {{"chain", NAN}, {"chain", 0.0}, {"chain", -3.0}, {" ", 8.0}};
    struct season season;
    season_begin(&season, *state);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_new_entry entry = {.at_s = season_day(0.0)};
        const struct kw_new_life life = {cases[i].part, cases[i].life_h, NAN};
        int64_t id = 0;
        assert_int_equal(
            kw_logbook_set_life(season.book, &entry, &life, &id, NULL),
            KW_BAD_USAGE);
    }
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_part_lives__every_usual_part_is_on_the_list),
        cmocka_unit_test(test_part_lives__every_row_has_a_life_above_nothing),
        IN_SCRATCH(test_lives__own_figure_counts_for_what_is_fitted),
        IN_SCRATCH(test_lives__part_of_the_owners_gets_a_life),
        IN_SCRATCH(test_lives__due_follows_the_own_figure),
        IN_SCRATCH(test_lives__no_life_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
