/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that end before the heading does: an accident of a few, or the habit of
 * the file. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <math.h>
#include <string.h>

enum { ROWS = 200, TEXT_SIZE = 16384 };

/* Which rows of the log end early. */
typedef bool ends_early(int row);

static bool none(int row)
{
    return row < 0;
}

static bool every_one(int row)
{
    return row >= 0;
}

static bool three_of_four(int row)
{
    return row % 4 != 0;
}

static bool one_block(int row)
{
    return row >= 64 && row < 80;
}

static bool ten_together(int row)
{
    return row >= 64 && row < 74;
}

static bool first_one(int row)
{
    return row == 0;
}

static bool first_twenty(int row)
{
    return row < 20;
}

static bool here_and_there(int row)
{
    return row % 12 == 5;
}

/* A row at 20 Hz, its fields behind EGT blank or not there. */
static size_t add_row(char *at, size_t size, int row, ends_early *early)
{
    return (size_t)snprintf(at, size, "%.2f,%d,%d%s\n", 0.05 * row,
                            9000 + 10 * (row % 50), 600 + row % 9,
                            early(row) ? "" : ",,");
}

static size_t write_rows(char *text, ends_early *early)
{
    size_t n =
        (size_t)snprintf(text, TEXT_SIZE, "Time (s),RPM,EGT,Speed,Note\n");
    for (int row = 0; row < ROWS; row++)
        n += add_row(text + n, TEXT_SIZE - n, row, early);
    return n;
}

/* kept  200 rows with all their EGT and nothing of the speed, else without
 *       those that end early. */
static const struct early_case {
    const char *label;
    ends_early *early;
    size_t used;
    const char *notice;
} early_cases[] = {
    {"no row", none, ROWS, NULL},
    {"every row", every_one, ROWS,
     "200 rows end before the heading does: the fields that are not there are "
     "taken as missing"},
    {"all but every fourth", three_of_four, ROWS,
     "150 rows end before the heading does: the fields that are not there are "
     "taken as missing"},
    {"a block of 16", one_block, ROWS,
     "16 rows end before the heading does: the fields that are not there are "
     "taken as missing"},
    {"the first 20", first_twenty, ROWS,
     "20 rows end before the heading does: the fields that are not there are "
     "taken as missing"},
    {"a block of ten, which may be an accident", ten_together, ROWS - 10,
     "row has 3 fields, expected 5: left out"},
    {"the first row", first_one, ROWS - 1,
     "row has 3 fields, expected 5: left out"},
    {"odd rows", here_and_there, ROWS - 17,
     "row has 3 fields, expected 5: left out"},
};

static void test_short_rows__habit_of_the_file_is_no_fault(void **state)
{
    for (size_t i = 0; i < sizeof early_cases / sizeof early_cases[0]; i++) {
        const struct early_case *c = &early_cases[i];
        char text[TEXT_SIZE];
        struct kw_log log;
        write_rows(text, c->early);
        log_from(*state, text, &log);
        log_check_sound(c->label, &log);
        const struct kw_channel *egt = kw_log_channel(&log, KW_ROLE_EGT, 0);
        const struct kw_channel *speed = kw_log_channel(&log, KW_ROLE_SPEED, 0);
        check_true(c->label, log.rows_used == c->used);
        check_true(c->label, log.rows_rejected == ROWS - c->used);
        check_true(c->label, egt != NULL && egt->missing == 0);
        check_true(c->label, speed != NULL && speed->missing == c->used);
        check_true(c->label,
                   c->notice == NULL || log_notice(&log, c->notice) != NULL);
        check_true(c->label,
                   (c->used < ROWS) ==
                       (log_notice(&log, "row has 3 fields, expected 5: left "
                                         "out") != NULL));
        kw_log_free(&log);
    }
}

/* What stood in the row before must not be taken for the reading. */
static void test_short_rows__fields_that_are_not_there_are_missing(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    size_t n = (size_t)snprintf(text, sizeof text, "Time (s),RPM,EGT,Speed\n");
    for (int row = 0; row < ROWS; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%.2f,9000,600%s\n",
                              0.05 * row, row % 2 == 0 ? ",72" : "");
    log_from(*state, text, &log);
    const struct kw_channel *speed = kw_log_channel(&log, KW_ROLE_SPEED, 0);
    assert_int_equal(log.rows_used, ROWS);
    for (size_t i = 0; i < log.rows_used; i++) {
        if (i % 2 == 0)
            check_near("speed", speed->values[i], 20.0, 1e-9);
        else
            assert_true(isnan(speed->values[i]));
    }
    kw_log_free(&log);
}

/* A row that ends before RPM, and a last line that was cut. */
static void test_short_rows__what_has_no_rpm_or_was_cut_is_left_out(
    void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    const size_t n = write_rows(text, three_of_four);
    snprintf(text + n, sizeof text - n, "10.00\n10.05,9000,60");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    assert_int_equal(log.rows_rejected, 2);
    const struct kw_notice *cut =
        log_notice(&log, "row has 3 fields, expected 5: left out");
    assert_non_null(cut);
    assert_int_equal(cut->line, ROWS + 3);
    assert_non_null(log_notice(&log, "row has 1 field, expected 5: left out"));
    kw_log_free(&log);
}

/* A review of the few rows that happen to be whole would mislead. */
static void test_short_rows__mostly_unreadable_log_is_refused(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    size_t n = (size_t)snprintf(text, sizeof text, "Time (s),EGT,RPM\n");
    for (int row = 0; row < 60; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%.2f,600%s\n",
                              0.05 * row, row % 3 == 2 ? ",9000" : "");
    log_write(*state, text, n);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what, "40 of 60 rows have another number of "
                                    "fields than the heading");
    assert_string_equal(error.todo,
                        "compare the rows with the heading: the same number "
                        "of fields, a time in each");
    assert_int_equal(error.line, 2);
}

/* Rows of more fields below the last one that fits are another table. */
static void test_short_rows__another_table_below_is_left_out(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    size_t n = (size_t)snprintf(text, sizeof text, "Time (s),RPM,EGT\n");
    for (int row = 0; row < 100; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%.2f,9000,600%s\n",
                              0.05 * (row % 40), row < 40 ? "" : ",1");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, 40);
    assert_int_equal(log.rows_rejected, 60);
    kw_log_free(&log);
}

/* Blank headings behind the last one are no columns. */
static void test_short_rows__blank_headings_at_the_end_mean_nothing(
    void **state)
{
    struct kw_log log;
    log_from(*state,
             "Time (s),RPM,EGT,,,\n0.0,6000,600\n0.1,6010,601\n"
             "0.2,6020,602,\n",
             &log);
    assert_int_equal(log.rows_used, 3);
    assert_int_equal(log.rows_rejected, 0);
    kw_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_short_rows__habit_of_the_file_is_no_fault),
        IN_SCRATCH(test_short_rows__fields_that_are_not_there_are_missing),
        IN_SCRATCH(test_short_rows__what_has_no_rpm_or_was_cut_is_left_out),
        IN_SCRATCH(test_short_rows__mostly_unreadable_log_is_refused),
        IN_SCRATCH(test_short_rows__another_table_below_is_left_out),
        IN_SCRATCH(test_short_rows__blank_headings_at_the_end_mean_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
