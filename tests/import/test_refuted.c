/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A heading that we misread must not hide the column that is meant: what its
 * numbers speak against is left out, and told. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

enum { ROWS = 60, TEXT_SIZE = 8192 };

/* Rows of time, two columns of which one is odd, and RPM. */
struct odd {
    double first;
    double step;
    double swing; /* up and down from row to row */
};

static double odd_value(const struct odd *odd, int row)
{
    return odd->first + odd->step * row + (row % 2 == 0 ? 1 : -1) * odd->swing;
}

/* heading  of the odd column; its role is that of `plain`, which is meant.
 * notice   NULL where the odd one is the better one. */
static const struct refuted_case {
    const char *heading;
    struct odd odd;
    const char *columns; /* the others: "TIME,RPM,EGT" */
    enum kw_role role;
    const char *plain;
    const char *notice;
} cases[] = {
    {"Motordrehzahl RPM",
     {13800, 0, 0},
     "Time,Revs,EGT",
     KW_ROLE_RPM,
     "Revs",
     "column 'Motordrehzahl RPM' is left out: could be rpm, but it never "
     "changes"},
    {"Engine RPM",
     {0, 0, 800},
     "Time,Revs,EGT",
     KW_ROLE_RPM,
     "Revs",
     "column 'Engine RPM' is left out: could be rpm, but it goes below 0"},
    {"Engine RPM",
     {9000, 0, 800},
     "Time,Revs,EGT",
     KW_ROLE_RPM,
     "Engine RPM",
     "column 'Revs' is left out: could be rpm too, but 'Engine RPM' fits "
     "better"},
    /* an engine at rest */
    {"Engine RPM",
     {0, 0, 0},
     "Time,Revs,EGT",
     KW_ROLE_RPM,
     "Engine RPM",
     "column 'Revs' is left out: could be rpm too, but 'Engine RPM' fits "
     "better"},
    {"Session time",
     {600, -0.05, 0},
     "Time,Revs,EGT",
     KW_ROLE_TIME,
     "Time",
     "column 'Session time' is left out: could be time, but it goes back again "
     "and again"},
    {"Session time",
     {7, 0, 0},
     "Time,Revs,EGT",
     KW_ROLE_TIME,
     "Time",
     "column 'Session time' is left out: could be time, but it never changes"},
    {"Abgas",
     {0, 0, 3},
     "Time,Revs,EGT",
     KW_ROLE_EGT,
     "EGT",
     "column 'Abgas' is left out: could be egt, but it lies around 0"},
};

static void write_odd(char *text,
                      const char *heading,
                      const struct odd *odd,
                      const char *columns)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s,%s\n", heading, columns);
    for (int row = 0; row < ROWS; row++)
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%.2f,%.2f,%d,%d\n",
                              odd_value(odd, row), 0.05 * row, 9000 + 10 * row,
                              500 + row);
}

static void test_refuted__what_the_numbers_deny_is_left_out(void **state)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct refuted_case *c = &cases[i];
        char text[TEXT_SIZE];
        struct kw_log log;
        write_odd(text, c->heading, &c->odd, c->columns);
        log_from(*state, text, &log);
        assert_string_equal(kw_log_channel(&log, c->role, 0)->column, c->plain);
        if (log_notice(&log, c->notice) == NULL)
            fail_msg("%s: %s", c->heading,
                     log.notices.n > 0 ? log.notices.items[0].text : "");
        kw_log_free(&log);
    }
}

/* A second probe that is cold, or cut off, is told where probes are judged. */
static void test_refuted__cold_probe_is_kept(void **state)
{
    static const struct odd cold = {12, 0, 0.5};
    char text[TEXT_SIZE];
    struct kw_log log;
    write_odd(text, "Abgas", &cold, "Time,Revs,EGT");
    log_from(*state, text, &log);
    assert_non_null(kw_log_channel(&log, KW_ROLE_EGT, 1));
    kw_log_free(&log);
}

/* Alone it is no reason to say "sort the table". */
static void test_refuted__gap_alone_is_no_time(void **state)
{
    static const struct odd gap = {0, 0, 0.3};
    char text[TEXT_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    write_odd(text, "Ecart temps [s]", &gap, "Aika,Revs,EGT");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what,
                        "no time column ('Ecart temps [s]': could be time, but "
                        "it goes back again and again)");
}

/* The shortest time, and no time in minutes. */
static void test_refuted__lowest_time_is_no_time(void **state)
{
    static const struct odd least = {47.2, 0, 0};
    const struct kw_import_options options = {.rate_hz = 20.0};
    char text[TEXT_SIZE];
    struct kw_log log;
    write_odd(text, "Tempo min", &least, "Aika,Revs,EGT");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    assert_int_equal(log.rows_used, ROWS);
    kw_log_free(&log);
}

/* A table with the newest row first is to be sorted, whatever its clocks. */
static void test_refuted__time_alone_is_sorted(void **state)
{
    static const struct odd back = {600, -0.05, 0};
    char text[TEXT_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    write_odd(text, "Time", &back, "Aika,Revs,EGT");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.todo, "sort the table by time, oldest row first");
}

/* The person knows better: it is the table that is to be sorted. */
static void test_refuted__stated_column_stays(void **state)
{
    static const struct odd back = {600, -0.05, 0};
    char heading[] = "Time left [s]";
    const struct kw_column_choice choice = {KW_ROLE_TIME, heading};
    const struct kw_import_options options = {.choices = &choice,
                                              .n_choices = 1};
    char text[TEXT_SIZE];
    struct kw_log log;
    struct kw_error error = {0};
    write_odd(text, heading, &back, "Time,Revs,EGT");
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.todo, "sort the table by time, oldest row first");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_refuted__what_the_numbers_deny_is_left_out),
        IN_SCRATCH(test_refuted__cold_probe_is_kept),
        IN_SCRATCH(test_refuted__gap_alone_is_no_time),
        IN_SCRATCH(test_refuted__lowest_time_is_no_time),
        IN_SCRATCH(test_refuted__time_alone_is_sorted),
        IN_SCRATCH(test_refuted__stated_column_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
