/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Since when: the racer looks up what was changed on the kart about then, so
 * that a wrong session sends him to the wrong part. */
#include "support/check.h"

#include "kartwright/season.h"
#include "logbook/trend_since.h"

#include <gsl/gsl_errno.h>

enum { MOST_SESSIONS = 40, N_SEASONS = 400 };

/* A season of half-hour sessions; values as they come. */
struct made {
    struct kw_trend_point points[MOST_SESSIONS];
    struct kw_trend trend;
};

static void make(struct made *made, const double *values, size_t n)
{
    made->trend =
        (struct kw_trend){.decimals = 2, .points = made->points, .n = n};
    for (size_t i = 0; i < n; i++)
        made->points[i] = (struct kw_trend_point){
            .id = (int64_t)i + 1, .hours = 0.5 * (double)i, .value = values[i]};
    kw_trend_judge(&made->trend);
}

/* Nearly normal, of variance 1. */
static double stray(unsigned *random)
{
    double sum = -6.0;
    for (int k = 0; k < 12; k++) {
        *random = *random * 1103515245U + 12345U;
        sum += (double)(*random >> 8 & 0xFFFF) / 65536.0;
    }
    return sum;
}

static void test_trend_since__small_seasons_by_hand(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        size_t n;
        size_t since;
        double values[16];
    } cases[] = {
        {"step up", 10, 5, {1, 1.1, 0.9, 1, 1.1, 3, 3.1, 2.9, 3, 3.1}},
        {"step down", 10, 5, {3, 3.1, 2.9, 3, 3.1, 1, 1.1, 0.9, 1, 1.1}},
        {"step, level first", 8, 4, {5, 5, 5, 5, 9, 9, 9, 9}},
        {"few sessions", 6, 2, {1, 1.1, 2, 3, 3.1, 3.6}},
        {"too few", 5, 0, {1, 1.1, 3, 3.1, 2.9}},
        {"nothing moves", 8, 0, {5, 5, 5, 5, 5, 5, 5, 5}},
        {"no trend", 8, 0, {1, 3, 1, 3, 1, 3, 1, 3}},
        {"one is missing", 8, 0, {1, 1, NAN, 1, 3, 3, 3, 3}},
        /* One odd day is no change; the step comes later. */
        {"odd day before it",
         16,
         10,
         {1, 1.1, 0.9, 4, 1, 1.1, 0.9, 1, 1.1, 0.9, 4, 4.1, 3.9, 4, 4.1, 4}},
        {"creep",
         12,
         5,
         {1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.1}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct made made;
        make(&made, cases[i].values, cases[i].n);
        if (made.trend.since != cases[i].since)
            fail_msg("%s (p %g): since %zu, expected %zu", cases[i].label,
                     made.trend.p, made.trend.since, cases[i].since);
    }
}

/* A hump that is over by the end has left nothing that lasts "since" then,
 * whatever the slope is. */
static void test_trend_since__what_came_back_is_not_told(void **state)
{
    (void)state;
    struct made made;
    double values[22];
    for (size_t i = 0; i < 22; i++)
        values[i] = (i < 6 || i >= 16 ? 1.0 : 3.0) + (i % 2 == 0 ? 0.05 : 0.0);
    make(&made, values, 22);
    made.trend.verdict = KW_TREND_RISING;
    assert_int_equal(kw_trend_find_since(&made.trend), 0);
    /* As long as it lasts it is told. */
    made.trend.n = 16;
    assert_int_equal(kw_trend_find_since(&made.trend), 6);
}

/* One odd day, be it ever so odd, is no new level. */
static void test_trend_since__one_odd_session_is_not_told(void **state)
{
    (void)state;
    struct made made;
    double values[16];
    for (size_t i = 0; i < 16; i++)
        values[i] = i % 2 == 0 ? 1.0 : 1.02 + 0.01 * (double)i;
    values[15] = 20.0;
    make(&made, values, 16);
    made.trend.verdict = KW_TREND_RISING;
    assert_int_equal(kw_trend_find_since(&made.trend), 0);
}

/* Seasons that are made up: among those whose rise is told at all, how many
 * name the right session, give or take two. */
static void test_trend_since__a_step_is_found_where_it_was(void **state)
{
    (void)state;
    static const struct {
        size_t n;
        size_t at;
        double step_sd;
        size_t least_percent;
    } cases[] = {
        {8, 4, 3.0, 95},   {10, 7, 4.0, 85},  {15, 7, 3.0, 90},
        {20, 6, 3.0, 90},  {20, 14, 3.0, 80}, {20, 14, 4.0, 90},
        {40, 25, 3.0, 85}, {20, 10, 2.0, 75},
    };
    unsigned random = 28;
    size_t all_told = 0;
    size_t all_right = 0;
    size_t all_near = 0;
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        size_t told = 0;
        size_t right = 0;
        for (int season = 0; season < N_SEASONS; season++) {
            double values[MOST_SESSIONS];
            struct made made;
            for (size_t i = 0; i < cases[c].n; i++)
                values[i] = 20.0 + stray(&random) +
                            (i < cases[c].at ? 0.0 : cases[c].step_sd);
            make(&made, values, cases[c].n);
            if (made.trend.since == 0)
                continue;
            const size_t since = made.trend.since;
            told++;
            right += since + 2 >= cases[c].at && since <= cases[c].at + 2;
            all_near += since + 1 >= cases[c].at && since <= cases[c].at + 1;
        }
        if (told == 0 || 100 * right < cases[c].least_percent * told)
            fail_msg("row %zu: %zu of %zu", c, right, told);
        all_told += told;
        all_right += right;
    }
    /* 94 and 87 % as this was written. */
    assert_true(100 * all_right >= 90 * all_told);
    assert_true(100 * all_near >= 80 * all_told);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_trend_since__small_seasons_by_hand),
        cmocka_unit_test(test_trend_since__what_came_back_is_not_told),
        cmocka_unit_test(test_trend_since__one_odd_session_is_not_told),
        cmocka_unit_test(test_trend_since__a_step_is_found_where_it_was),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
