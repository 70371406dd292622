/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends: a clutch that wears is told, and days that merely differ are not. */
#include "support/check.h"

#include "kartwright/season.h"
#include "support/norris.h"
#include "support/scratch.h"
#include "support/season.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

static struct kw_trend made_trend(const struct pair *points, size_t n)
{
    struct kw_trend trend = {.n = n, .capacity = n};
    trend.points = calloc(n + 1, sizeof *trend.points);
    assert_non_null(trend.points);
    for (size_t i = 0; i < n; i++) {
        trend.points[i].hours = points[i].x;
        trend.points[i].value = points[i].y;
    }
    return trend;
}

/* Slope and its standard error as NIST certifies them: B1 and its standard
 * deviation, to 10 digits. */
static void test_trend__slope_agrees_with_nist(void **state)
{
    (void)state;
    struct kw_trend trend = made_trend(norris, N_NORRIS);
    kw_trend_judge(&trend);
    check_near("B1", trend.slope_per_h, 1.00211681802045, 1e-10);
    check_near("its deviation", trend.slope_error, 0.429796848199937e-3, 1e-13);
    assert_int_equal(trend.verdict, KW_TREND_RISING);
    free(trend.points);
}

/* t = 2.228 with 10 degrees of freedom leaves 5 % outside (Student's table, any
 * textbook): p must be what the table says. 12 points, a residual pattern that
 * is even, and the slope that gives this t. */
static void test_trend__p_agrees_with_student(void **state)
{
    (void)state;
    struct pair points[12];
    for (size_t i = 0; i < 12; i++) {
        points[i].x = (double)i;
        points[i].y = i % 4 == 0 || i % 4 == 3 ? 1.0 : -1.0;
    }
    struct kw_trend flat = made_trend(points, 12);
    kw_trend_judge(&flat);
    const double lift = 2.228139 * flat.slope_error - flat.slope_per_h;
    for (size_t i = 0; i < 12; i++)
        flat.points[i].value += lift * flat.points[i].hours;
    kw_trend_judge(&flat);
    check_near("p", flat.p, 0.05, 1e-6);
    assert_int_equal(flat.verdict, KW_TREND_NONE);
    free(flat.points);
}

static void test_trend__edges_are_not_judged(void **state)
{
    (void)state;
    static const struct pair same_hour[] = {{1, 1}, {1, 2}, {1, 3},
                                            {1, 4}, {1, 5}, {1, 6}};
    static const struct pair still[] = {{1, 5}, {2, 5}, {3, 5},
                                        {4, 5}, {5, 5}, {6, 5}};
    static const struct {
        const char *label;
        const struct pair *points;
        size_t n;
        enum kw_trend_verdict verdict;
    } cases[] = {
        {"none", still, 0, KW_TREND_TOO_FEW},
        {"one", still, 1, KW_TREND_TOO_FEW},
        {"two", still, 2, KW_TREND_TOO_FEW},
        {"five", norris, 5, KW_TREND_TOO_FEW},
        {"no time passes", same_hour, 6, KW_TREND_TOO_FEW},
        {"nothing moves", still, 6, KW_TREND_NONE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_trend trend = made_trend(cases[i].points, cases[i].n);
        kw_trend_judge(&trend);
        check_true(cases[i].label, trend.verdict == cases[i].verdict);
        free(trend.points);
    }
}

/* Days that merely differ: of 1,000 made-up seasons without a trend, about one
 * in a hundred may be told as one, by the meaning of p. */
static void test_trend__chance_alone_is_rarely_told(void **state)
{
    (void)state;
    unsigned random = 7;
    size_t told = 0;
    for (int season = 0; season < 1000; season++) {
        struct pair points[10];
        for (size_t i = 0; i < 10; i++) {
            double sum = 0.0;
            for (int k = 0; k < 12; k++) {
                random = random * 1103515245U + 12345U;
                sum += (double)(random >> 8 & 0xFFFF) / 65536.0;
            }
            points[i].x = (double)i;
            points[i].y = sum;
        }
        struct kw_trend trend = made_trend(points, 10);
        kw_trend_judge(&trend);
        told += trend.verdict != KW_TREND_NONE;
        free(trend.points);
    }
    /* 10 expected; three standard deviations of a binomial either way. */
    assert_in_range(told, 1, 20);
}

/* From the front door: drop-outs are a rate per hour, hours are the engine's.
 */
static void test_trend__sessions_become_points(void **state)
{
    struct season season;
    struct kw_trends trends;
    struct kw_error error = {0};
    season_begin(&season, *state);
    for (int i = 0; i < 7; i++)
        season_session(&season, (double)i, 1800.0);
    assert_int_equal(
        kw_logbook_trends(season.book, "dropouts_per_h", &trends, &error),
        KW_OK);
    assert_int_equal(trends.n, 1);
    assert_int_equal(trends.items[0].n, 7);
    check_near("hours", trends.items[0].points[6].hours, 3.5, 1e-12);
    check_near("value", trends.items[0].points[6].value, 0.0, 0.0);
    assert_int_equal(trends.items[0].verdict, KW_TREND_NONE);
    kw_trends_free(&trends);
    assert_int_equal(kw_logbook_trends(season.book, "luck", &trends, &error),
                     KW_BAD_USAGE);
    season_end(&season);
}

/* A cold morning makes the same jet lean and hot. Were that taken for wear, an
 * engine would be opened for the weather. The density of standard air changes
 * nothing; air of 0.9 of it makes sqrt(1 / 0.9) - 1 = 5.409 % richer, which is
 * 54.1 C at 10 C a percent. */
static void test_trend__air_is_taken_out_of_egt(void **state)
{
    /* Dry, at 15 C: density goes with pressure. 101325 Pa is ISO 2533's. */
    const struct kw_air standard = {15.0, 101325.0, 0.0};
    const struct kw_air thin = {15.0, 0.9 * 101325.0, 0.0};
    struct season season;
    struct kw_trends trends;
    season_begin(&season, *state);
    season_session_at_heat(&season, 0.0, 600.0, &standard);
    season_session_at_heat(&season, 1.0, 600.0, NULL);
    season_session_at_heat(&season, 2.0, 546.0, &thin);
    assert_int_equal(
        kw_logbook_trends(season.book, "egt_top_air_c", &trends, NULL), KW_OK);
    assert_int_equal(trends.n, 1);
    assert_string_equal(trends.items[0].measure, "egt_top_air_c");
    assert_int_equal(trends.items[0].n, 2);
    /* 400 ppm of carbon dioxide and rounding of 1.225: within 1 C. */
    check_near("standard", trends.items[0].points[0].value, 600.0, 1.0);
    check_near("thin", trends.items[0].points[1].value, 600.1, 1.0);
    kw_trends_free(&trends);
    /* As read, every session counts, and nothing is added. */
    assert_int_equal(kw_logbook_trends(season.book, "egt_top_c", &trends, NULL),
                     KW_OK);
    assert_int_equal(trends.n, 1);
    assert_int_equal(trends.items[0].n, 3);
    check_near("as read", trends.items[0].points[2].value, 546.0, 1e-9);
    check_near("no air", trends.items[0].points[1].air_density_kg_m3, NAN, 0);
    kw_trends_free(&trends);
    season_end(&season);
}

/* With every measure asked for both are there, kart by kart: the second kart's
 * corrected trend must not be filed under the first. */
static void test_trend__karts_stay_apart(void **state)
{
    static const char *const wanted[][2] = {
        {"Number 7", "dropouts_per_h"}, {"Number 7", "egt_top_air_c"},
        {"Number 7", "egt_top_c"},      {"Number 7", "rpm_top"},
        {"Number 8", "dropouts_per_h"}, {"Number 8", "egt_top_air_c"},
        {"Number 8", "egt_top_c"},      {"Number 8", "rpm_top"}};
    const struct kw_air air = {15.0, 101325.0, 0.0};
    struct season season;
    struct kw_trends trends;
    season_begin(&season, *state);
    for (int i = 0; i < 4; i++) {
        season.kart = i % 2 == 0 ? "Number 7" : "Number 8";
        season_session_at_heat(&season, (double)i, 600.0, &air);
    }
    assert_int_equal(kw_logbook_trends(season.book, NULL, &trends, NULL),
                     KW_OK);
    assert_int_equal(trends.n, sizeof wanted / sizeof wanted[0]);
    for (size_t i = 0; i < trends.n; i++) {
        assert_string_equal(trends.items[i].kart, wanted[i][0]);
        assert_string_equal(trends.items[i].measure, wanted[i][1]);
        assert_int_equal(trends.items[i].n, 2);
    }
    kw_trends_free(&trends);
    season_end(&season);
}

/* Where a part is marked in the plot: at the hours of its own kart's engine. */
static void test_trend__fitting_stands_at_engine_hours(void **state)
{
    struct season season;
    struct kw_parts parts;
    season_begin(&season, *state);
    season.kart = "Number 7";
    season_fit(&season, 0.0, "chain", NAN);
    season_session(&season, 1.0, 1800.0);
    season_session(&season, 3.0, 3600.0);
    season_fit(&season, 2.0, "reeds", NAN);
    season.kart = "Number 8";
    season_session(&season, 1.5, 9000.0);
    assert_int_equal(kw_logbook_parts(season.book, &parts, NULL), KW_OK);
    assert_int_equal(parts.n, 2);
    check_near("chain", parts.items[0].engine_hours, 0.0, 0.0);
    check_near("reeds", parts.items[1].engine_hours, 0.5, 1e-12);
    kw_parts_free(&parts);
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_trend__slope_agrees_with_nist),
        cmocka_unit_test(test_trend__p_agrees_with_student),
        cmocka_unit_test(test_trend__edges_are_not_judged),
        cmocka_unit_test(test_trend__chance_alone_is_rarely_told),
        IN_SCRATCH(test_trend__sessions_become_points),
        IN_SCRATCH(test_trend__air_is_taken_out_of_egt),
        IN_SCRATCH(test_trend__karts_stay_apart),
        IN_SCRATCH(test_trend__fitting_stands_at_engine_hours),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
