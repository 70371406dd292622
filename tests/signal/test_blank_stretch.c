/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Nothing stands out" must not stand over two minutes in which there was
 * nothing to look at. */
#include "signal/blank_stretch.h"

#include "support/check.h"

enum { N = 400 };

/* A reading each tenth of a second, blank from and to (not including) a row. */
struct blank_case {
    const char *label;
    size_t from[2];
    size_t to[2];
    const char *notice;
};

static const struct blank_case cases[] = {
    {"none", {0, 0}, {0, 0}, NULL},
    {"a moment", {100, 0}, {140, 0}, NULL},
    {"in the middle",
     {100, 0},
     {201, 0},
     "RPM: no readings for 10 s, from 10.0 s to 20.0 s: nothing could be "
     "judged "
     "there"},
    {"from the start",
     {0, 0},
     {61, 0},
     "RPM: no readings for 6 s, from 0.0 s to 6.0 s: nothing could be judged "
     "there"},
    {"to the end",
     {300, 0},
     {N, 0},
     "RPM: no readings for 10 s, from 30.0 s to the end: nothing could be "
     "judged there"},
    {"twice",
     {100, 300},
     {201, N},
     "RPM: no readings for 20 s in 2 stretches, the first from 10.0 s to 20.0 "
     "s: nothing could be judged there"},
};

static void check(const struct blank_case *c)
{
    static double time_s[N];
    static double rpm[N];
    struct kw_session session = {.time_s = time_s, .n_samples = N};
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.1 * (double)i;
        rpm[i] = 9000.0;
    }
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = c->from[k]; i < c->to[k]; i++)
            rpm[i] = NAN;
    }
    assert_int_equal(kw_tell_blank_stretches(&session, rpm, "RPM", NULL),
                     KW_OK);
    if (c->notice == NULL) {
        check_near(c->label, (double)session.notices.n, 0.0, 0.0);
    } else {
        check_near(c->label, (double)session.notices.n, 1.0, 0.0);
        assert_string_equal(session.notices.items[0].text, c->notice);
    }
    kw_notices_free(&session.notices);
}

static void test_blank_stretch__is_told_with_its_times(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check(&cases[i]);
}

/* Rows that are not there are a gap, and told as one. */
static void test_blank_stretch__gap_between_rows_is_none(void **state)
{
    (void)state;
    double time_s[] = {0.0, 0.1, 0.2, 60.0, 60.1, 60.2};
    double rpm[] = {9000.0, NAN, NAN, NAN, NAN, 9000.0};
    struct kw_session session = {.time_s = time_s, .n_samples = 6};
    assert_int_equal(kw_tell_blank_stretches(&session, rpm, "RPM", NULL),
                     KW_OK);
    assert_int_equal(session.notices.n, 0);
}

/* A logger that writes every five seconds may lose some in a row. */
static void test_blank_stretch__few_rows_of_a_slow_logger_are_none(void **state)
{
    (void)state;
    double time_s[] = {0.0, 5.0, 10.0, 15.0, 20.0};
    double rpm[] = {9000.0, NAN, NAN, NAN, 9000.0};
    struct kw_session session = {.time_s = time_s, .n_samples = 5};
    assert_int_equal(kw_tell_blank_stretches(&session, rpm, "RPM", NULL),
                     KW_OK);
    assert_int_equal(session.notices.n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_blank_stretch__is_told_with_its_times),
        cmocka_unit_test(test_blank_stretch__gap_between_rows_is_none),
        cmocka_unit_test(
            test_blank_stretch__few_rows_of_a_slow_logger_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
