/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hold.h"

#include "support/check.h"

#include <math.h>
#include <stdlib.h>

enum { N = 60, EVERY = 5 };

static struct kw_session clock_at_50_hz(void)
{
    struct kw_session session = {.n_samples = N, .rate_hz = 50.0};
    session.time_s = calloc(N, sizeof *session.time_s);
    assert_non_null(session.time_s);
    for (size_t i = 0; i < N; i++)
        session.time_s[i] = (double)i / 50.0;
    return session;
}

/* A 10 Hz speed in a 50 Hz log: braking must look like braking, not like five
 * standing readings and a leap. */
static void test_hold__staircase_becomes_its_line(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double values[N];
    for (size_t i = 0; i < N; i++)
        values[i] = (double)(i - i % EVERY);
    assert_int_equal(kw_join_updates(&session, values, NULL), KW_OK);
    for (size_t i = 0; i <= N - EVERY; i++)
        check_near("line", values[i], (double)i, 1e-9);
    kw_session_free(&session);
}

/* Fresh readings are nobody's to change. */
static void test_hold__fresh_readings_stay(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double values[N];
    for (size_t i = 0; i < N; i++)
        values[i] = (double)(i * 7 % 13);
    assert_int_equal(kw_join_updates(&session, values, NULL), KW_OK);
    for (size_t i = 0; i < N; i++)
        check_near("fresh", values[i], (double)(i * 7 % 13), 0.0);
    kw_session_free(&session);
}

/* Standing, then off: the kart does not creep all the while. */
static void test_hold__steady_value_stays_until_it_changes(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double values[N];
    for (size_t i = 0; i < N; i++)
        values[i] = i < 30 ? 0.0 : (double)(i - i % EVERY - 25);
    assert_int_equal(kw_join_updates(&session, values, NULL), KW_OK);
    for (size_t i = 0; i <= 25; i++)
        check_near("stands", values[i], 0.0, 1e-9);
    for (size_t i = 26; i <= N - EVERY; i++)
        check_near("drives", values[i], (double)(i - 25), 1e-9);
    kw_session_free(&session);
}

/* Nothing is made up where nothing was read. */
static void test_hold__missing_reading_ends_the_line(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double values[N];
    for (size_t i = 0; i < N; i++)
        values[i] = (double)(i - i % EVERY);
    values[32] = NAN;
    assert_int_equal(kw_join_updates(&session, values, NULL), KW_OK);
    assert_true(isnan(values[32]));
    check_near("before", values[31], 30.0, 1e-9);
    check_near("after", values[34], 32.0, 2.1);
    for (size_t i = 0; i < N; i++)
        values[i] = NAN;
    assert_int_equal(kw_join_updates(&session, values, NULL), KW_OK);
    assert_true(isnan(values[0]));
    kw_session_free(&session);
}

/* EGT ten times a second in a 50 Hz log, the rows between left blank: a line
 * joins the readings, but not across one that was set aside or a hole. */
static void test_hold__blank_rows_are_joined(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double raw[N];
    double values[N];
    for (size_t i = 0; i < N; i++)
        raw[i] = values[i] = i % EVERY == 0 ? (double)i : NAN;
    values[20] = NAN;
    raw[40] = values[40] = raw[45] = values[45] = NAN;
    assert_int_equal(kw_join_blanks(&session, raw, values, NULL), KW_OK);
    for (size_t i = 0; i <= 55; i++) {
        const bool known = i <= 15 || (i >= 25 && i <= 35) || i >= 50;
        if (known)
            check_near("joined", values[i], (double)i, 1e-9);
        else
            check_true("not joined", isnan(values[i]));
    }
    kw_session_free(&session);
}

/* A reading missed now and then is no slow channel: it stays missing. */
static void test_hold__missed_readings_stay_missing(void **state)
{
    (void)state;
    struct kw_session session = clock_at_50_hz();
    double values[N];
    for (size_t i = 0; i < N; i++)
        values[i] = i % 7 == 3 ? NAN : (double)i;
    assert_int_equal(kw_join_blanks(&session, values, values, NULL), KW_OK);
    for (size_t i = 0; i < N; i++)
        check_true("missing", isnan(values[i]) == (i % 7 == 3));
    kw_session_free(&session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hold__staircase_becomes_its_line),
        cmocka_unit_test(test_hold__fresh_readings_stay),
        cmocka_unit_test(test_hold__steady_value_stays_until_it_changes),
        cmocka_unit_test(test_hold__missing_reading_ends_the_line),
        cmocka_unit_test(test_hold__blank_rows_are_joined),
        cmocka_unit_test(test_hold__missed_readings_stay_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
