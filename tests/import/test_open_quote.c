/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A quote that opens and is never closed: a session that ended with the power
 * is worth reading, one that lost half its rows is not. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 8192, ROWS = 40 };

static void add(char *text, const char *more)
{
    const size_t n = strlen(text);
    snprintf(text + n, TEXT_SIZE - n, "%s", more);
}

static const char quoted[] = "\"%d.%d\",\"%d\",\"%d\"\n";
static const char plain[] = "%d.%d,%d,%d\n";

/* Notes, a heading, and rows of time, RPM and EGT. */
static void put_log(char *text, const char *head, const char *format)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s\n", head);
    for (int i = 0; i < ROWS; i++)
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, format, i / 10, i % 10,
                              9000 + i, 500 + i);
}

static void test_open_quote__in_the_last_row_costs_that_row(void **state)
{
    static const char *const ends[] = {
        "\"4.0\",\"90",
        "\"4.0\",\"9000\",\"5",
        "\"4.0\",\"9000\",\"5\n",
        "\"end of log\r\n",
    };
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        put_log(text, "Time (s),RPM,EGT (C)", quoted);
        add(text, ends[i]);
        log_from(*state, text, &log);
        check_near(ends[i], (double)log.rows_used, ROWS, 0.0);
        check_near(ends[i], (double)log.rows_rejected, 1.0, 0.0);
        const struct kw_notice *notice =
            log_notice(&log, "the file ends within quotes: row left out");
        assert_non_null(notice);
        check_near(ends[i], (double)notice->line, ROWS + 2, 0.0);
        kw_log_free(&log);
    }
}

static void test_open_quote__in_a_note_is_text(void **state)
{
    static const char *const heads[] = {
        "Comment,\"felt fine\nTime (s),RPM,EGT (C)",
        "Comment,\"felt fine\n\"Time (s)\",\"RPM\",\"EGT (C)\"",
        "Driver,\"Jan\r\nComment,\"felt fine\r\n\nTime (s),RPM,EGT (C)",
        "\"Time,RPM,EGT (C)",
        "Tyre 5\",Ring\nTime (s),RPM,EGT (C)",
    };
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
        for (int q = 0; q < 2; q++) {
            char text[TEXT_SIZE];
            struct kw_log log;
            put_log(text, heads[i], q == 0 ? plain : quoted);
            log_from(*state, text, &log);
            check_near(heads[i], (double)log.rows_used, ROWS, 0.0);
            check_near(heads[i],
                       kw_log_channel(&log, KW_ROLE_RPM, 0)->values[1], 9001.0,
                       0.0);
            kw_log_free(&log);
        }
    }
}

static void test_open_quote__in_a_note_is_told(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    put_log(text, "Ring\nComment,\"felt fine\nTime (s),RPM,EGT (C)", plain);
    log_from(*state, text, &log);
    const struct kw_notice *notice = log_notice(
        &log, "a quote opens here and is never closed: taken as text");
    assert_non_null(notice);
    assert_int_equal(notice->line, 2);
    kw_log_free(&log);
}

/* Headings of several lines are sound. */
static void test_open_quote__closed_on_another_line_is_none(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    put_log(text, "\"Time\n(s)\",\"Engine\nRPM\",\"EGT\n(C)\"", plain);
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    assert_string_equal(kw_log_channel(&log, KW_ROLE_EGT, 0)->unit, "C");
    assert_int_equal(log.notices.n, 0);
    kw_log_free(&log);
}

/* Two lines and more would be lost without a word. */
static void test_open_quote__that_swallows_rows_is_refused(void **state)
{
    static const char *const ends[] = {"4.0,\"9000,500\n4.1,9000,500\n",
                                       "\"# remark\n4.0,9000,500\n",
                                       "\"Time (s)\",\"RPM\",\"EGT\n4,9,5\n"};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        struct kw_error error = {0};
        put_log(text, "Time (s),RPM,EGT (C)", plain);
        add(text, ends[i]);
        log_write(*state, text, strlen(text));
        check_true(ends[i],
                   log_read(*state, NULL, &log, &error) == KW_BAD_INPUT);
        check_near(ends[i], (double)error.line, ROWS + 2, 0.0);
        assert_string_equal(error.what,
                            "a quote opens here and is never closed");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_open_quote__in_the_last_row_costs_that_row),
        IN_SCRATCH(test_open_quote__in_a_note_is_text),
        IN_SCRATCH(test_open_quote__in_a_note_is_told),
        IN_SCRATCH(test_open_quote__closed_on_another_line_is_none),
        IN_SCRATCH(test_open_quote__that_swallows_rows_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
