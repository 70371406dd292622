/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers that no kart gives: left out, or refused, with what to do. */
#include "support/check.h"

#include "support/log_file.h"
#include "support/scratch.h"

#include <string.h>

enum { ROWS = 120, TEXT_SIZE = 16384 };

/* A log whose third column climbs and falls between two numbers.
 *
 * spikes  how many of the rows read a hundred times as much. */
struct climb {
    const char *heading;
    double low;
    double high;
    int spikes;
};

static void write_climb(char *text, const struct climb *c)
{
    size_t n =
        (size_t)snprintf(text, TEXT_SIZE, "Time (s),Lap,%s\n", c->heading);
    for (int row = 0; row < ROWS; row++) {
        const int up = row % 40 < 20 ? row % 40 : 40 - row % 40;
        const double value = c->low + (c->high - c->low) * up / 20.0;
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%.2f,1,%.2f%s\n",
                              0.05 * row,
                              row < c->spikes ? 100.0 * value : value,
                              strchr(c->heading, ',') != NULL ? ",9000" : "");
    }
}

/* role    of the column; it is there where `notice` is NULL. */
static const struct sense_case {
    struct climb column;
    enum kw_role role;
    const char *notice;
} sense_cases[] = {
    {{"Speed,RPM", 0, 110, 0}, KW_ROLE_SPEED, NULL},
    {{"Speed,RPM", 40, 110, 5}, KW_ROLE_SPEED, NULL},
    {{"Speed [mm/s],RPM", 0, 30000, 0}, KW_ROLE_SPEED, NULL},
    {{"Speed,RPM", 0, 3000, 0},
     KW_ROLE_SPEED,
     "column 'Speed' is left out: 2,850 km/h is no speed of a kart. If it is "
     "in another unit, write that in its heading"},
    {{"EGT,RPM", 300, 650, 0}, KW_ROLE_EGT, NULL},
    {{"EGT (0.1 C),RPM", 3000, 6500, 0}, KW_ROLE_EGT, NULL},
    {{"EGT,RPM", 3000, 6500, 0},
     KW_ROLE_EGT,
     "column 'EGT' is left out: 4,750 F is no temperature of an exhaust. If it "
     "is in another unit, write that in its heading"},
    /* 61.2 minutes are none */
    {{"Latitude,RPM", 5107.1, 5107.2, 0}, KW_ROLE_LATITUDE, NULL},
    {{"Latitude [deg],RPM", 91.1, 91.2, 0},
     KW_ROLE_LATITUDE,
     "column 'Latitude [deg]' is left out: 91 deg is no latitude. If it is in "
     "another unit, write that in its heading"},
    {{"Longitude [deg],RPM", 91.1, 91.2, 0}, KW_ROLE_LONGITUDE, NULL},
    {{"Latitude,RPM", 5161.2, 5161.3, 0},
     KW_ROLE_LATITUDE,
     "column 'Latitude' is left out: 5,161 deg is no latitude. If it is in "
     "another unit, write that in its heading"},
    {{"Battery,RPM", 11, 14, 0}, KW_ROLE_BATTERY_V, NULL},
    {{"Battery,RPM", 95, 97, 0},
     KW_ROLE_BATTERY_V,
     "column 'Battery' is left out: 96 V is no voltage of a battery. If it is "
     "in another unit, write that in its heading"},
    /* an open probe */
    {{"EGT,RPM", 4095, 4095, 0}, KW_ROLE_EGT, NULL},
};

static void test_sense__what_no_kart_gives_is_left_out(void **state)
{
    for (size_t i = 0; i < sizeof sense_cases / sizeof sense_cases[0]; i++) {
        const struct sense_case *c = &sense_cases[i];
        char text[TEXT_SIZE];
        struct kw_log log;
        write_climb(text, &c->column);
        log_from(*state, text, &log);
        const bool there = kw_log_channel(&log, c->role, 0) != NULL;
        if (there != (c->notice == NULL) ||
            (c->notice != NULL && log_notice(&log, c->notice) == NULL))
            fail_msg("%s: %s", c->column.heading,
                     log.notices.n > 0 ? log.notices.items[0].text : "");
        kw_log_free(&log);
    }
}

/* A lap column whose number changes with each of five laps.
 *
 * notice  NULL for one that is kept. */
static const struct lap_case {
    const char *heading;
    double first;
    double step;
    const char *notice;
} lap_cases[] = {
    {"Lap", 1, 1, NULL},
    {"Lap", 5, -1, NULL},
    {"Lap", 3, 0, NULL},
    {"Total laps", 1, 1, NULL},
    {"Last lap", 0, 1, NULL},
    {"Last lap", 48.2, 0.1,
     "column 'Last lap' is left out: its numbers are not whole, as those of "
     "laps are"},
    {"Laps remaining", 5, -1,
     "column 'Laps remaining' is left out: it counts down, which the number of "
     "a lap does not"},
    {"Runden gesamt", 12, 0,
     "column 'Runden gesamt' is left out: it never changes, which the number "
     "of a lap does"},
};

static void test_sense__what_numbers_no_laps_is_left_out(void **state)
{
    for (size_t i = 0; i < sizeof lap_cases / sizeof lap_cases[0]; i++) {
        const struct lap_case *c = &lap_cases[i];
        char text[TEXT_SIZE];
        struct kw_log log;
        size_t n = (size_t)snprintf(text, sizeof text, "Time (s),RPM,%s\n",
                                    c->heading);
        for (int row = 0; row < ROWS; row++)
            n += (size_t)snprintf(text + n, sizeof text - n, "%.2f,9000,%.1f\n",
                                  0.05 * row,
                                  c->first + c->step * (row * 5 / ROWS));
        log_from(*state, text, &log);
        const bool there = kw_log_channel(&log, KW_ROLE_LAP, 0) != NULL;
        if (there != (c->notice == NULL) ||
            (c->notice != NULL && log_notice(&log, c->notice) == NULL))
            fail_msg("%s: %s", c->heading,
                     log.notices.n > 0 ? log.notices.items[0].text : "");
        kw_log_free(&log);
    }
}

/* what  NULL for a log that is read. */
static const struct rpm_case {
    struct climb column;
    const char *what;
} rpm_cases[] = {
    {{"RPM", 2000, 15000, 0}, NULL},
    {{"RPM", 2000, 15000, 5}, NULL},
    {{"RPM", 2, 15, 0}, NULL},
    {{"Engine speed [1/s]", 30, 250, 0}, NULL},
    {{"RPM", 20, 150, 0},
     "column 'RPM': 150 rpm is no speed of an engine, and it never passes it"},
    {{"RPM", 20000, 150000, 0},
     "column 'RPM': 117,500 rpm is no speed of an engine"},
};

static void test_sense__rpm_of_no_engine_is_refused(void **state)
{
    for (size_t i = 0; i < sizeof rpm_cases / sizeof rpm_cases[0]; i++) {
        const struct rpm_case *c = &rpm_cases[i];
        char text[TEXT_SIZE];
        struct kw_log log = {0};
        struct kw_error error = {0};
        write_climb(text, &c->column);
        log_write(*state, text, strlen(text));
        const enum kw_status status = log_read(*state, NULL, &log, &error);
        if (c->what == NULL)
            check_true(c->column.heading, status == KW_OK);
        else
            assert_string_equal(error.what, c->what);
        kw_log_free(&log);
    }
}

/* Hexadecimal numbers, of which some look like plain ones. */
static void test_sense__rpm_that_is_mostly_no_number_is_refused(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log = {0};
    struct kw_error error = {0};
    size_t n = (size_t)snprintf(text, sizeof text, "Time (s),RPM,EGT\n");
    for (int row = 0; row < ROWS; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%.2f,%s,600\n",
                              0.05 * row, row % 3 == 0 ? "2030" : "3A98");
    log_write(*state, text, n);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(
        error.what, "80 of 120 rows have something else than a number for RPM");
}

/* Milliseconds under a heading that says seconds. */
static void test_sense__log_of_days_is_refused(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log = {0};
    struct kw_error error = {0};
    size_t n = (size_t)snprintf(text, sizeof text, "Time (s),RPM,EGT\n");
    for (int row = 0; row < ROWS; row++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%d,9000,600\n",
                              5000 * row);
    log_write(*state, text, n);
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what,
                        "102 of 120 rows are more than a day after the first");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_sense__what_no_kart_gives_is_left_out),
        IN_SCRATCH(test_sense__what_numbers_no_laps_is_left_out),
        IN_SCRATCH(test_sense__rpm_of_no_engine_is_refused),
        IN_SCRATCH(test_sense__rpm_that_is_mostly_no_number_is_refused),
        IN_SCRATCH(test_sense__log_of_days_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
