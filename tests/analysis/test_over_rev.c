/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/over_rev.h"
#include "support/check.h"

#include <string.h>

enum { N = 100, AT = 40 };

static const double LIMIT_RPM = 15000.0;

/* What stands in a session that else turns 14,000, and what it is told as.
 *
 * readings  from sample AT on, 0 ends them.
 * dropout   a drop-out was found there.
 * times     how often the limit was passed. */
static const struct over_case {
    const char *label;
    double rate_hz;
    double readings[12];
    bool dropout;
    size_t times;
    double highest_rpm;
} cases[] = {
    {"below", 20.0, {14900.0, 14990.0, 14900.0}, false, 0, 0.0},
    {"passed", 20.0, {15200.0, 15600.0, 15400.0}, false, 1, 15600.0},
    {"twice",
     20.0,
     {15200.0, 15600.0, 14000.0, 15300.0, 15400.0},
     false,
     2,
     15600.0},
    {"one reading", 20.0, {15600.0}, false, 0, 0.0},
    {"two at 100 Hz", 100.0, {15600.0, 15600.0}, false, 0, 0.0},
    {"a limiter that plays", 20.0, {15020.0, 15100.0, 15060.0}, false, 0, 0.0},
    {"doubled", 20.0, {28000.0, 28100.0, 28000.0}, false, 0, 0.0},
    {"doubled in a bend",
     20.0,
     {8000.0, 16000.0, 16100.0, 16000.0, 8000.0},
     false,
     0,
     0.0},
    {"a loose wire", 20.0, {15200.0, 15600.0, 15400.0}, true, 0, 0.0},
    {"one of a slow sensor",
     20.0,
     {15600.0, 15600.0, 15600.0, 15600.0},
     false,
     0,
     0.0},
    {"a chain that broke",
     20.0,
     {15000.0, 16800.0, 18500.0, 17000.0},
     false,
     1,
     18500.0},
    {"slow logger", 2.0, {15600.0, 15700.0}, false, 1, 15700.0},
    {"a blank beside", 20.0, {NAN, 15600.0, 15700.0, NAN}, false, 1, 15700.0},
};

/* The owner's limit passed is told, and a glitch never raises it: a racer who
 * sees an over-rev that never was trusts no other line. */
static void test_over_rev__engine_is_told_and_signal_is_not(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct over_case *c = &cases[i];
        double rpm[N];
        double time_s[N];
        for (size_t k = 0; k < N; k++) {
            rpm[k] = 14000.0;
            time_s[k] = (double)k / c->rate_hz;
        }
        for (size_t k = 0;
             k < 12 && (isnan(c->readings[k]) || c->readings[k] > 0.0); k++)
            rpm[AT + k] = c->readings[k];
        struct kw_event dropout = {
            .kind = KW_DROPOUT, .start_s = time_s[AT], .end_s = time_s[AT + 2]};
        struct kw_review review = {
            .session = {.n_samples = N,
                        .rate_hz = c->rate_hz,
                        .rpm = rpm,
                        .time_s = time_s},
            .events = {.items = &dropout, .n = c->dropout ? 1 : 0}};
        const struct kw_profile profile = {.max_rpm = LIMIT_RPM};
        assert_int_equal(kw_find_over_rev(&review, &profile, NULL), KW_OK);
        check_true(c->label, review.over_rev.times == c->times);
        check_near(c->label, review.over_rev.highest_rpm, c->highest_rpm, 0.1);
        check_true(c->label,
                   review.session.notices.n == (c->times > 0 ? 1u : 0u));
        kw_notices_free(&review.session.notices);
    }
}

/* When and how high, for the plot and for the engine builder. */
static void test_over_rev__says_when_and_how_high(void **state)
{
    (void)state;
    double rpm[] = {14900.0, 15400.0, 15600.0, 14900.0, 15300.0, 15200.0};
    double time_s[] = {0.0, 0.1, 0.2, 0.3, 0.4, 0.5};
    struct kw_lap lap = {.number = 3, .end_s = 1.0};
    struct kw_review review = {.session = {.n_samples = 6,
                                           .rate_hz = 10.0,
                                           .rpm = rpm,
                                           .time_s = time_s},
                               .laps = {.items = &lap, .n = 1}};
    const struct kw_profile profile = {.max_rpm = LIMIT_RPM};
    assert_int_equal(kw_find_over_rev(&review, &profile, NULL), KW_OK);
    assert_int_equal(review.session.notices.n, 1);
    assert_non_null(strstr(
        review.session.notices.items[0].text,
        "RPM above the 15,000 of the profile (max_rpm) 2 times, for 0.4 s in "
        "all: up to 15,600, at 0.2 s, lap 3."));
    kw_notices_free(&review.session.notices);
}

/* No limit, no samples: nothing, and no crash. */
static void test_over_rev__needs_a_limit(void **state)
{
    (void)state;
    double rpm[] = {20000.0, 20000.0};
    double time_s[] = {0.0, 1.0};
    struct kw_review review = {
        .session = {
            .n_samples = 2, .rate_hz = 1.0, .rpm = rpm, .time_s = time_s}};
    const struct kw_profile unstated = {.max_rpm = NAN};
    const struct kw_profile stated = {.max_rpm = LIMIT_RPM};
    assert_int_equal(kw_find_over_rev(&review, &unstated, NULL), KW_OK);
    assert_int_equal(review.over_rev.times, 0);
    review.session.n_samples = 0;
    assert_int_equal(kw_find_over_rev(&review, &stated, NULL), KW_OK);
    assert_int_equal(review.over_rev.times, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_over_rev__engine_is_told_and_signal_is_not),
        cmocka_unit_test(test_over_rev__says_when_and_how_high),
        cmocka_unit_test(test_over_rev__needs_a_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
