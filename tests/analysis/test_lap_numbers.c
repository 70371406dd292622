/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_numbers.h"
#include "support/check.h"

#include <string.h>

enum { LAPS = 4, EACH = 10, N = LAPS * EACH };

/* The logger's numbers of an out lap, two flying ones and an in lap; the third
 * is the fastest.
 *
 * told  NULL for nothing. */
static const struct number_case {
    const char *label;
    double numbers[LAPS];
    enum kw_lap_method method;
    const char *told;
} cases[] = {
    {"as here", {1, 2, 3, 4}, KW_LAPS_BY_COLUMN, NULL},
    {"from 0",
     {0, 1, 2, 3},
     KW_LAPS_BY_COLUMN,
     "the logger's lap 2 is lap 3 here"},
    {"a log that was cut",
     {5, 6, 7, 8},
     KW_LAPS_BY_COLUMN,
     "the logger's lap 7 is lap 3 here"},
    {"one is missing", {1, 2, 4, 5}, KW_LAPS_BY_COLUMN, NULL},
    {"blank", {NAN, NAN, NAN, NAN}, KW_LAPS_BY_COLUMN, NULL},
    {"not by the column", {5, 6, 7, 8}, KW_LAPS_BY_SPEED, NULL},
};

/* A driver who looks up lap 5 on the logger's display must find the lap that
 * the review means. */
static void test_lap_numbers__difference_is_told(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct number_case *c = &cases[i];
        double time_s[N];
        double numbers[N];
        struct kw_lap laps[LAPS];
        for (size_t k = 0; k < N; k++) {
            time_s[k] = (double)k;
            numbers[k] = c->numbers[k / EACH];
        }
        for (size_t k = 0; k < LAPS; k++)
            laps[k] = (struct kw_lap){.number = k + 1,
                                      .kind = k == 0          ? KW_LAP_OUT
                                              : k == LAPS - 1 ? KW_LAP_IN
                                                              : KW_LAP_FLYING,
                                      .start_s = (double)(k * EACH),
                                      .end_s = (double)((k + 1) * EACH) -
                                               (k == 2 ? 0.5 : 0.0)};
        struct kw_review review = {
            .session = {.n_samples = N,
                        .rate_hz = 1.0,
                        .time_s = time_s,
                        .lap_number = numbers},
            .laps = {.method = c->method, .items = laps, .n = LAPS}};
        const struct kw_notices *notices = &review.session.notices;
        assert_int_equal(kw_tell_lap_numbers(&review, NULL), KW_OK);
        check_true(c->label, notices->n == (c->told == NULL ? 0u : 1u));
        if (c->told != NULL && notices->n == 1)
            check_true(c->label,
                       strstr(notices->items[0].text, c->told) != NULL);
        kw_notices_free(&review.session.notices);
    }
}

/* No laps, no column: nothing, and no crash. */
static void test_lap_numbers__needs_laps_and_a_column(void **state)
{
    (void)state;
    struct kw_lap lap = {.number = 1};
    struct kw_review review = {.laps = {.method = KW_LAPS_BY_COLUMN}};
    assert_int_equal(kw_tell_lap_numbers(&review, NULL), KW_OK);
    review.laps.items = &lap;
    review.laps.n = 1;
    assert_int_equal(kw_tell_lap_numbers(&review, NULL), KW_OK);
    assert_int_equal(review.session.notices.n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_numbers__difference_is_told),
        cmocka_unit_test(test_lap_numbers__needs_laps_and_a_column),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
