/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files put behind each other: what is read on below another heading takes a
 * sound engine for a seized one, or misses what it ended with. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 40000, ROWS = 200 };

static void add(char *text, const char *more)
{
    const size_t n = strlen(text);
    snprintf(text + n, TEXT_SIZE - n, "%s", more);
}

/* Rows of four numbers, from row `first` on, in a printf format with time, RPM,
 * EGT and lap. */
static void put_rows(char *text, int first, int n, const char *format)
{
    size_t length = strlen(text);
    for (int i = first; i < first + n; i++)
        length +=
            (size_t)snprintf(text + length, TEXT_SIZE - length, format, i / 10,
                             i % 10, 9000 + i, 500 + i % 50, 1 + i / 100);
}

static const char plain[] = "%d.%d,%d,%d.5,%d\n";
static const char heading[] = "Time (s),RPM,EGT (C),Lap\n";

/* A log, lines between, and as many rows again. */
static void join(char *text, const char *between, const char *format)
{
    text[0] = '\0';
    add(text, heading);
    put_rows(text, 0, ROWS, plain);
    add(text, between);
    put_rows(text, ROWS, ROWS, format);
}

struct refused_case {
    const char *label;
    const char *between;
    const char *format;
    const char *what;
};

static void test_joined_files__other_part_is_refused_with_its_line(void **state)
{
    static const struct refused_case cases[] = {
        {"columns swapped", "Time (s),EGT (C),RPM,Lap\n", plain,
         "another heading stands here, with 'EGT (C)' where the one at the top "
         "has 'RPM'"},
        {"Fahrenheit", "Time (s),RPM,EGT (F),Lap\n", plain,
         "another heading stands here, with 'EGT (F)' where the one at the top "
         "has 'EGT (C)'"},
        {"milliseconds", "Time (ms),RPM,EGT (C),Lap\n", plain,
         "another heading stands here, with 'Time (ms)' where the one at the "
         "top has 'Time (s)'"},
        {"another order, more columns",
         "Time (s),Lap,EGT (C),Speed,Water,RPM\n", "%d.%d,%d,%d.5,80,50,%d\n",
         "another heading stands here, with 'Lap' where the one at the top has "
         "'RPM'"},
        {"one column more", "Time (s),RPM,EGT (C),Lap,Speed\n",
         "%d.%d,%d,%d.5,%d,80\n",
         "another heading stands here, with 5 columns where the one at the top "
         "has 4"},
        {"semicolons", "", "%d.%d;%d;%d.5;%d\n",
         "200 of 400 rows, from this one on, have other marks between their "
         "fields or in their numbers"},
        {"semicolons and decimal commas", "", "%d,%d;%d;%d,5;%d\n",
         "200 of 400 rows, from this one on, have other marks between their "
         "fields or in their numbers"},
    };
    static char text[TEXT_SIZE];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_log log;
        struct kw_error error = {0};
        join(text, cases[i].between, cases[i].format);
        log_write(*state, text, strlen(text));
        check_true(cases[i].label,
                   log_read(*state, NULL, &log, &error) == KW_BAD_INPUT);
        check_near(cases[i].label, (double)error.line, ROWS + 2, 0.0);
        assert_string_equal(error.what, cases[i].what);
    }
}

/* A row of units below the second heading is read as the first one was. */
static void test_joined_files__other_units_row_is_refused(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    text[0] = '\0';
    add(text, "Time,RPM,EGT,Lap\ns,,C,-\n");
    put_rows(text, 0, ROWS, plain);
    add(text, "Time,RPM,EGT,Lap\ns,,F,-\n");
    put_rows(text, ROWS, ROWS, plain);
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_int_equal(error.line, ROWS + 4);
    assert_string_equal(error.what, "another heading stands here, with 'F' "
                                    "where the one at the top has 'EGT'");
}

/* Words that mean what the first heading means are no other one. */
static void test_joined_files__like_parts_are_one_log(void **state)
{
    static const char *const between[] = {
        "Time (s),RPM,EGT (C),Lap\n",
        "time [s],Engine rpm,egt [C],lap\n",
        "Zeit (s),Drehzahl,Abgastemperatur,Runde\n",
        "Time (s),RPM,EGT (C),Lap,\n",
        "Marker,Lap,,\nLap,Speed,,\n",
        "Driver,Jan,7,\n,,,\nTime (s),RPM,EGT (C),Lap\n",
    };
    static char text[TEXT_SIZE];
    for (size_t i = 0; i < sizeof between / sizeof between[0]; i++) {
        struct kw_log log;
        join(text, between[i], plain);
        log_from(*state, text, &log);
        check_near(between[i], (double)log.rows_used, 2 * ROWS, 0.0);
        kw_log_free(&log);
    }
}

/* A list of laps below the readings has numbers, and is none of them. */
static void test_joined_files__list_of_laps_below_is_left_out(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    text[0] = '\0';
    add(text, heading);
    put_rows(text, 0, ROWS, plain);
    add(text, "Lap,Time (s),RPM,Note\n1,47.1,15000,1\n2,47.2,15010,2\n");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    assert_int_equal(log.rows_rejected, 2);
    const struct kw_notice *notice = log_notice(
        &log, "another heading stands here, with 'Lap' where the one at the "
              "top has 'Time (s)': 2 rows below it are left out");
    assert_non_null(notice);
    assert_int_equal(notice->line, ROWS + 2);
    kw_log_free(&log);
}

/* Nor are positions: without RPM they are no part of this log. */
static void test_joined_files__other_table_below_is_left_out(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    join(text, "Time (s),Latitude,Longitude,Satellites\n",
         "%d.%d,51.%d,3.%d,%d\n");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    assert_int_equal(log.rows_rejected, ROWS);
    kw_log_free(&log);
}

/* Below such a list the log may go on. */
static void test_joined_files__first_heading_again_ends_the_list(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    join(text,
         "Lap,Time (s),RPM,Note\n1,47.1,15000,1\nTime (s),RPM,EGT (C),Lap\n",
         plain);
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, 2 * ROWS);
    assert_int_equal(log.rows_rejected, 1);
    kw_log_free(&log);
}

/* A few rows that a person has edited are named as any other bad row. */
static void test_joined_files__few_rows_with_other_marks_are_named(void **state)
{
    static char text[TEXT_SIZE];
    struct kw_log log;
    text[0] = '\0';
    add(text, heading);
    put_rows(text, 0, ROWS, plain);
    put_rows(text, ROWS, 3, "%d.%d;%d;%d.5;%d\n");
    log_from(*state, text, &log);
    assert_int_equal(log.rows_used, ROWS);
    assert_non_null(log_notice(&log, "row has 1 field, expected 4: left out"));
    kw_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_joined_files__other_part_is_refused_with_its_line),
        IN_SCRATCH(test_joined_files__other_units_row_is_refused),
        IN_SCRATCH(test_joined_files__like_parts_are_one_log),
        IN_SCRATCH(test_joined_files__list_of_laps_below_is_left_out),
        IN_SCRATCH(test_joined_files__other_table_below_is_left_out),
        IN_SCRATCH(test_joined_files__first_heading_again_ends_the_list),
        IN_SCRATCH(test_joined_files__few_rows_with_other_marks_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
