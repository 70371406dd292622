/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One clock from time stamps that logs get wrong. */
#include "support/check.h"

#include "import/time_axis.h"

#include <string.h>

enum { ROWS = 80 };

/* Stamps, and what became of them. */
struct run {
    double stamp_s[ROWS];
    enum kw_stamp fate[ROWS];
    uint32_t line[ROWS];
    struct kw_notices notices;
    double first_s;
};

/* Rows at 10 Hz from start_s on. */
static void fill(struct run *run, double start_s)
{
    memset(run, 0, sizeof *run);
    for (size_t i = 0; i < ROWS; i++) {
        run->stamp_s[i] = start_s + 0.1 * (double)i;
        run->line[i] = (uint32_t)i + 2;
    }
}

static void follow(struct run *run, bool midnight)
{
    struct kw_time_axis axis = {.stamp_s = run->stamp_s,
                                .fate = run->fate,
                                .line = run->line,
                                .n = ROWS,
                                .midnight = midnight};
    assert_int_equal(kw_time_axis_follow(&axis, &run->notices, NULL), KW_OK);
    run->first_s = axis.first_s;
}

static size_t count(const struct run *run, enum kw_stamp fate)
{
    size_t n = 0;
    for (size_t i = 0; i < ROWS; i++)
        n += run->fate[i] == fate;
    return n;
}

/* Every row is kept and 0.1 s after the one before. */
static void check_even(const char *label, const struct run *run)
{
    check_true(label, count(run, KW_STAMP_KEPT) == ROWS);
    for (size_t i = 0; i < ROWS; i++)
        check_near(label, run->stamp_s[i], 0.1 * (double)i, 1e-6);
}

static void test_time_axis__good_clock_is_left_alone(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 43200.0);
    follow(&run, true);
    check_even("plain", &run);
    check_near("first", run.first_s, 43200.0, 0.0);
    assert_int_equal(run.notices.n, 0);
}

/* Each row is where the logger put it, to the last bit: a hair more or less
 * would move rows in and out of windows, and findings with them. */
static void test_time_axis__start_of_the_session_leaves_no_hair(void **state)
{
    (void)state;
    static const double starts_s[] = {0.0, 7.3, 8123.4, 86200.0, 1779451230.7};
    for (size_t k = 0; k < sizeof starts_s / sizeof starts_s[0]; k++) {
        struct run run;
        fill(&run, starts_s[k]);
        follow(&run, false);
        assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS);
        for (size_t i = 0; i < ROWS; i++)
            check_near("row", run.stamp_s[i], (double)i / 10.0, 0.0);
    }
}

/* A race into the night is one session. */
static void test_time_axis__midnight_goes_on(void **state)
{
    (void)state;
    static const size_t passings[] = {1, 5, 40, 74};
    for (size_t k = 0; k < sizeof passings / sizeof passings[0]; k++) {
        struct run run;
        fill(&run, 86400.0 - 0.1 * (double)passings[k]);
        for (size_t i = passings[k]; i < ROWS; i++)
            run.stamp_s[i] -= 86400.0;
        follow(&run, true);
        check_even("midnight", &run);
        assert_int_equal(run.notices.n, 0);
    }
}

/* Summer time ends, or a second file was appended: the log goes on, and the
 * person is told where. */
static void test_time_axis__clock_set_back_goes_on_with_a_notice(void **state)
{
    (void)state;
    static const double back_s[] = {3600.0, 6.0, 7200.0};
    for (size_t k = 0; k < sizeof back_s / sizeof back_s[0]; k++) {
        struct run run;
        fill(&run, 10800.0);
        for (size_t i = 30; i < ROWS; i++)
            run.stamp_s[i] -= back_s[k];
        follow(&run, true);
        check_even("set back", &run);
        assert_int_equal(run.notices.n, 1);
        assert_int_equal(run.notices.items[0].line, 32);
        assert_string_equal(run.notices.items[0].text,
                            "the clock goes back here: it is taken to go on "
                            "from where it was");
        kw_notices_free(&run.notices);
    }
}

/* Two runs in one file, each from 0: the person may not know of it. */
static void test_time_axis__clock_that_begins_again_asks_for_two_runs(
    void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] *= 3.0;
    for (size_t i = 40; i < ROWS; i++)
        run.stamp_s[i] -= 12.0;
    follow(&run, false);
    assert_int_equal(run.notices.n, 1);
    assert_int_equal(run.notices.items[0].line, 42);
    assert_string_equal(run.notices.items[0].text,
                        "the time begins again here: it is taken to go on from "
                        "where it was. Two runs in one file?");
    kw_notices_free(&run.notices);
}

/* Seconds that begin again each minute: named where it begins, then counted. */
static void test_time_axis__clock_that_often_begins_again_is_counted(
    void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] = (double)(i % 10);
    follow(&run, false);
    assert_int_equal(run.notices.n, 4);
    assert_int_equal(run.notices.items[3].line, 0);
    assert_string_equal(run.notices.items[3].text,
                        "in all 7 times the time goes back, and is taken to go "
                        "on from where it was");
    kw_notices_free(&run.notices);
}

/* One wild stamp must not cost the rest of the session. */
static void test_time_axis__row_far_ahead_is_left_out_alone(void **state)
{
    (void)state;
    static const size_t rows[] = {0, 1, 40, 78, 79};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct run run;
        fill(&run, 0.0);
        run.stamp_s[rows[k]] += 9999.0;
        follow(&run, false);
        assert_int_equal(run.fate[rows[k]], KW_STAMP_FAR_AHEAD);
        assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS - 1);
        check_near("span", run.stamp_s[ROWS - 1],
                   0.1 * (double)(ROWS - (rows[k] % 79 == 0 ? 2 : 1)), 1e-9);
        assert_int_equal(run.notices.n, 0);
    }
}

/* A number that no clock shows would ask for all the memory there is. */
static void test_time_axis__row_days_off_is_left_out_alone(void **state)
{
    (void)state;
    static const size_t rows[] = {0, 1, 40, 78, 79};
    static const double off_s[] = {99999.0, -99999.0, 1e18, -1e18, 1e308};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        for (size_t j = 0; j < sizeof off_s / sizeof off_s[0]; j++) {
            struct run run;
            fill(&run, 0.0);
            run.stamp_s[rows[k]] += off_s[j];
            follow(&run, false);
            assert_int_equal(run.fate[rows[k]], KW_STAMP_DAYS_OFF);
            assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS - 1);
            check_near("span", run.stamp_s[ROWS - 1],
                       0.1 * (double)(ROWS - (rows[k] % 79 == 0 ? 2 : 1)),
                       1e-9);
            assert_int_equal(run.notices.n, 0);
        }
    }
}

/* Several together are no clock either, and what lies between them counts. */
static void test_time_axis__few_rows_days_off_are_left_out(void **state)
{
    (void)state;
    static const size_t rows[] = {0, 1, 3, 4, 20, 21, 22, 40, 42, 77, 79};
    enum { N_BAD = sizeof rows / sizeof rows[0] };
    struct run run;
    fill(&run, 500.0);
    for (size_t k = 0; k < N_BAD; k++)
        run.stamp_s[rows[k]] = 1e18 + 1e6 * (double)k;
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_DAYS_OFF), N_BAD);
    assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS - N_BAD);
    check_near("first", run.first_s, 500.2, 1e-9);
    check_near("last", run.stamp_s[78], 7.6, 1e-9);
}

/* A logger writes its maker's date until the receiver has set it; the date of
 * the session is that of the rows that are right, which are most. */
static void test_time_axis__clock_that_leaps_by_days_goes_on(void **state)
{
    (void)state;
    static const double from_s[] = {0.0, 2e9};
    for (size_t k = 0; k < sizeof from_s / sizeof from_s[0]; k++) {
        struct run run;
        fill(&run, from_s[k]);
        for (size_t i = 30; i < ROWS; i++)
            run.stamp_s[i] = 1781431200.0 + 0.1 * (double)i;
        follow(&run, false);
        check_even("leap", &run);
        check_near("date", run.first_s, 1781431200.0, 1e-6);
        assert_int_equal(run.notices.n, 1);
        assert_int_equal(run.notices.items[0].line, 32);
        kw_notices_free(&run.notices);
    }
}

/* A column that was read in the wrong unit must not make a session of days. */
static void test_time_axis__rows_a_day_after_the_first_are_left_out(
    void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] = 3600.0 * (double)i;
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_KEPT), 25);
    assert_int_equal(run.fate[24], KW_STAMP_KEPT);
    assert_int_equal(run.fate[25], KW_STAMP_TOO_LATE);
}

static void test_time_axis__gap_is_kept_as_it_is(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 40; i < ROWS; i++)
        run.stamp_s[i] += 600.0;
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS);
    check_near("gap", run.stamp_s[40] - run.stamp_s[39], 600.1, 1e-9);
}

static void test_time_axis__repeated_and_backward_rows_are_left_out(
    void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    run.stamp_s[10] = run.stamp_s[9];
    run.stamp_s[20] = run.stamp_s[17];
    run.stamp_s[30] = 0.0;
    follow(&run, false);
    assert_int_equal(run.fate[10], KW_STAMP_REPEATED);
    assert_int_equal(run.fate[20], KW_STAMP_BACKWARD);
    assert_int_equal(run.fate[30], KW_STAMP_BACKWARD);
    assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS - 3);
}

/* A position receiver without a fix may stand at 0:00 for a while. */
static void test_time_axis__clock_that_lost_its_time_is_left_out(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 43200.0);
    for (size_t i = 30; i < 45; i++)
        run.stamp_s[i] = 0.0;
    follow(&run, true);
    assert_int_equal(count(&run, KW_STAMP_BACKWARD), 15);
    check_near("after", run.stamp_s[ROWS - 1], 7.9, 1e-6);
}

/* Whole seconds at ten rows a second: no row is wrong, the clock is coarse. The
 * log begins and ends within a second. */
static void test_time_axis__coarse_clock_is_spread_evenly(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] = (double)((i + 3) / 10);
    follow(&run, true);
    check_even("coarse", &run);
    assert_int_equal(run.notices.n, 1);
    kw_notices_free(&run.notices);
}

/* One decimal at 15 rows a second: stamps come once and twice by turns. */
static void test_time_axis__runs_of_one_and_two_are_spread(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] = floor((double)i / 1.5 + 1e-9) / 10.0;
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS);
    for (size_t i = 1; i < ROWS; i++)
        assert_true(run.stamp_s[i] - run.stamp_s[i - 1] > 0.03);
    assert_int_equal(run.notices.n, 1);
    kw_notices_free(&run.notices);
}

/* 25 rows a second under a clock of tenths stand in runs of two and three; the
 * usual step is what every filter takes its width from. */
static void test_time_axis__uneven_runs_are_spread_at_one_step(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        run.stamp_s[i] = floor(0.4 * (double)i + 0.5 + 1e-9) / 10.0;
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_KEPT), ROWS);
    size_t even = 0;
    for (size_t i = 1; i < ROWS; i++)
        even += fabs(run.stamp_s[i] - run.stamp_s[i - 1] - 0.04) < 0.002;
    assert_in_range(even, 9 * ROWS / 10, ROWS);
    check_near("last", run.stamp_s[ROWS - 1] - run.stamp_s[0],
               0.04 * (ROWS - 1), 0.05);
    kw_notices_free(&run.notices);
}

/* Some rows that repeat are faults of these rows. */
static void test_time_axis__some_repeats_are_no_coarse_clock(void **state)
{
    (void)state;
    struct run run;
    fill(&run, 0.0);
    for (size_t i = 20; i < 70; i++)
        run.stamp_s[i] = run.stamp_s[20];
    follow(&run, false);
    assert_int_equal(count(&run, KW_STAMP_REPEATED), 49);
    assert_int_equal(run.notices.n, 0);
}

static void test_time_axis__nothing_and_one_row_are_fine(void **state)
{
    (void)state;
    double stamp_s[1] = {5.0};
    enum kw_stamp fate[1] = {KW_STAMP_REPEATED};
    const uint32_t line[1] = {2};
    struct kw_notices notices = {0};
    struct kw_time_axis axis = {.stamp_s = stamp_s, .fate = fate, .line = line};
    assert_int_equal(kw_time_axis_follow(&axis, &notices, NULL), KW_OK);
    axis.n = 1;
    assert_int_equal(kw_time_axis_follow(&axis, &notices, NULL), KW_OK);
    assert_int_equal(fate[0], KW_STAMP_KEPT);
    check_near("one", stamp_s[0], 0.0, 0.0);
    check_near("first", axis.first_s, 5.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_time_axis__good_clock_is_left_alone),
        cmocka_unit_test(test_time_axis__start_of_the_session_leaves_no_hair),
        cmocka_unit_test(test_time_axis__midnight_goes_on),
        cmocka_unit_test(test_time_axis__clock_set_back_goes_on_with_a_notice),
        cmocka_unit_test(
            test_time_axis__clock_that_begins_again_asks_for_two_runs),
        cmocka_unit_test(
            test_time_axis__clock_that_often_begins_again_is_counted),
        cmocka_unit_test(test_time_axis__row_far_ahead_is_left_out_alone),
        cmocka_unit_test(test_time_axis__row_days_off_is_left_out_alone),
        cmocka_unit_test(test_time_axis__few_rows_days_off_are_left_out),
        cmocka_unit_test(test_time_axis__clock_that_leaps_by_days_goes_on),
        cmocka_unit_test(
            test_time_axis__rows_a_day_after_the_first_are_left_out),
        cmocka_unit_test(test_time_axis__gap_is_kept_as_it_is),
        cmocka_unit_test(
            test_time_axis__repeated_and_backward_rows_are_left_out),
        cmocka_unit_test(test_time_axis__clock_that_lost_its_time_is_left_out),
        cmocka_unit_test(test_time_axis__coarse_clock_is_spread_evenly),
        cmocka_unit_test(test_time_axis__runs_of_one_and_two_are_spread),
        cmocka_unit_test(test_time_axis__uneven_runs_are_spread_at_one_step),
        cmocka_unit_test(test_time_axis__some_repeats_are_no_coarse_clock),
        cmocka_unit_test(test_time_axis__nothing_and_one_row_are_fine),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
