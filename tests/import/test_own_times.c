/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels with times of their own: read as one table, the EGT of a row would
 * be that of another corner, and "EGT Time" a second probe. */
#include "support/check.h"

#include "core/text.h"
#include "support/log_file.h"
#include "support/scratch.h"

#include <stdlib.h>
#include <string.h>

enum { ROWS = 24, TEXT_SIZE = 4096 };

/* RPM each 0.1 s; EGT with a step of its own, 500 and 10 for each second. */
static void write_log(char *text, const char *heading, double step_s)
{
    size_t n = (size_t)snprintf(text, TEXT_SIZE, "%s\n", heading);
    for (int i = 0; i < ROWS; i++) {
        const double at_s = step_s * i;
        n += (size_t)snprintf(text + n, TEXT_SIZE - n, "%.2f,%d,", 0.1 * i,
                              6000 + i);
        n += at_s < 0.1 * ROWS
                 ? (size_t)snprintf(text + n, TEXT_SIZE - n, "%.2f,%.1f\n",
                                    at_s, 500.0 + 10.0 * at_s)
                 : (size_t)snprintf(text + n, TEXT_SIZE - n, ",\n");
    }
}

/* Each reading of EGT stands in the row of its time, and nowhere else. */
static void check_egt(const char *label, const struct kw_log *log, double step)
{
    const struct kw_channel *egt = kw_log_channel(log, KW_ROLE_EGT, 0);
    size_t seen = 0;
    check_true(label, egt != NULL);
    for (size_t i = 0; i < log->rows_used; i++) {
        if (isnan(egt->values[i]))
            continue;
        check_near(label, egt->values[i], 500.0 + 10.0 * log->time_s[i], 0.5);
        seen++;
    }
    check_near(label, (double)seen, ROWS * fmin(0.1 / step, step / 0.1), 1.0);
}

static void test_own_times__readings_go_to_the_row_of_their_time(void **state)
{
    static const struct {
        const char *label;
        const char *heading;
        double step_s;
    } cases[] = {
        {"by name", "RPM Time,RPM,EGT Time,EGT", 0.2},
        {"by name and unit", "RPM Time [s],RPM [rpm],EGT Time [s],EGT [C]",
         0.2},
        {"time in front", "t_rpm,rpm,t_egt,egt", 0.2},
        {"by what it is", "Time RPM,Engine speed,Time EGT,Exhaust temp", 0.2},
        {"in brackets", "Time (RPM),RPM,Time (EGT),EGT", 0.2},
        {"the only temperature", "Time,RPM,Temp Time,Exhaust temp", 0.2},
        {"beside the log's time", "Time,RPM,EGT Time,EGT", 0.2},
        {"faster than RPM", "RPM Time,RPM,EGT Time,EGT", 0.05},
        {"of the same steps", "RPM Time,RPM,EGT Time,EGT", 0.1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        write_log(text, cases[i].heading, cases[i].step_s);
        log_from(*state, text, &log);
        log_check_sound(cases[i].label, &log);
        check_true(cases[i].label, log.rows_used == ROWS);
        check_true(cases[i].label, log.rows_rejected == 0);
        check_true(cases[i].label,
                   kw_log_channel(&log, KW_ROLE_EGT, 1) == NULL);
        check_near(cases[i].label, log.sample_rate_hz, 10.0, 1e-6);
        check_egt(cases[i].label, &log, cases[i].step_s);
        kw_log_free(&log);
    }
}

/* A cell of a clock at so many seconds after midnight, or before. */
static void add_clock(struct kw_text *text, double at_s)
{
    const int hundredths =
        (int)round(100.0 * (at_s < 0.0 ? at_s + 86400 : at_s));
    kw_text_addf(text, "%02d:%02d:%02d.%02d", hundredths / 360000,
                 hundredths / 6000 % 60, hundredths / 100 % 60,
                 hundredths % 100);
}

/* Clocks without a date begin again at midnight, each in a row of its own, and
 * one may begin behind it. */
static void test_own_times__clocks_are_followed_over_midnight(void **state)
{
    static const struct {
        const char *label;
        double rpm_from_s;
        double egt_from_s;
        size_t first;
    } cases[] = {
        {"far from it", 3600.0, 3600.0, 0},
        {"both pass it", -1.2, -1.2, 0},
        {"right after the first row", -0.1, -0.1, 0},
        {"EGT begins after it", -1.2, 0.2, 14},
        {"EGT begins before RPM", 0.2, -0.2, 0},
    };
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        struct kw_text text = {0};
        struct kw_log log;
        kw_text_add(&text, "RPM Time,RPM,EGT Time,EGT\n");
        for (size_t row = 0; row < ROWS; row++) {
            const double egt_s = cases[c].egt_from_s + 0.2 * (double)row;
            add_clock(&text, cases[c].rpm_from_s + 0.1 * (double)row);
            kw_text_add(&text, ",6000,");
            add_clock(&text, egt_s);
            kw_text_addf(&text, ",%.0f\n",
                         500.0 + 10.0 * (egt_s - cases[c].rpm_from_s));
        }
        log_from(*state, text.bytes, &log);
        kw_text_free(&text);
        log_check_sound(cases[c].label, &log);
        const double *egt = kw_log_channel(&log, KW_ROLE_EGT, 0)->values;
        for (size_t row = 0; row < ROWS; row++) {
            const bool has = row >= cases[c].first && row % 2 == 0;
            check_true(cases[c].label, isnan(egt[row]) == !has);
            if (has)
                check_near(cases[c].label, egt[row], 500.0 + (double)row, 0.51);
        }
        kw_log_free(&log);
    }
}

/* The person learns which column was moved, and to which time. */
static void test_own_times__moved_channel_is_told(void **state)
{
    char text[TEXT_SIZE];
    struct kw_log log;
    write_log(text, "RPM Time,RPM,EGT Time,EGT", 0.2);
    log_from(*state, text, &log);
    assert_int_equal(log.notices.n, 1);
    assert_string_equal(log.notices.items[0].text,
                        "column 'EGT' has a time of its own, 'EGT Time': put "
                        "on the time of 'RPM Time'");
    assert_string_equal(log.channels[0].column, "RPM Time");
    assert_string_equal(log.channels[0].why,
                        "the time of 'RPM'; no unit: s by its steps");
    kw_log_free(&log);
}

/* One bad stamp costs its reading and not the rest, nor makes the times a
 * second probe. */
static void test_own_times__damaged_time_costs_one_reading(void **state)
{
    static const size_t damaged[] = {2, 11, ROWS - 1};
    for (size_t i = 0; i < sizeof damaged / sizeof damaged[0]; i++) {
        struct kw_text text = {0};
        struct kw_log log;
        kw_text_add(&text, "RPM Time,RPM,EGT Time,EGT\n");
        for (size_t row = 0; row < ROWS; row++)
            kw_text_addf(&text, "%zu,6000,%zu,%zu\n", row,
                         row == damaged[i] ? 65535 : row, 500 + row);
        log_from(*state, text.bytes, &log);
        kw_text_free(&text);
        assert_null(kw_log_channel(&log, KW_ROLE_EGT, 1));
        const double *egt = kw_log_channel(&log, KW_ROLE_EGT, 0)->values;
        for (size_t row = 0; row < ROWS; row++)
            assert_true(row == damaged[i]
                            ? isnan(egt[row])
                            : fabs(egt[row] - 500.0 - (double)row) < 0.01);
        kw_log_free(&log);
    }
}

/* A rate that is not used is told with the log's time, and not with that of the
 * channel which happens to stand first. */
static void test_own_times__unused_rate_names_the_time_of_the_log(void **state)
{
    static const char text[] =
        "EGT Time,EGT,RPM Time,RPM\n0.0,500,0.0,6000\n0.1,500,0.1,6000\n";
    const struct kw_import_options options = {.rate_hz = 20.0};
    struct kw_log log;
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, &options, &log, NULL), KW_OK);
    assert_non_null(log_notice(
        &log, "--rate is not used: the time stands in column 'RPM Time'"));
    kw_log_free(&log);
}

/* The longer channel loses what lies beyond the log's time, and no row is
 * called a bad one for it. */
static void test_own_times__rows_of_other_channels_are_no_bad_ones(void **state)
{
    static const char text[] = "RPM Time,RPM,EGT Time,EGT\n"
                               "0.0,6000,0.00,500\n0.1,6001,0.05,505\n"
                               "0.2,6002,0.10,510\n,,0.15,515\n,,0.20,520\n";
    struct kw_log log;
    log_from(*state, text, &log);
    log_check_sound("longer", &log);
    assert_int_equal(log.data_rows, 3);
    assert_int_equal(log.notices.n, 1);
    const struct kw_channel *egt = kw_log_channel(&log, KW_ROLE_EGT, 0);
    for (size_t i = 0; i < 3; i++)
        check_near("egt", egt->values[i], 500.0 + 10.0 * (double)i, 1e-9);
    kw_log_free(&log);
}

/* Names that only look like a pair. */
static void test_own_times__other_times_are_left_alone(void **state)
{
    static const struct {
        const char *label;
        const char *heading;
        const char *rows;
        const char *time;
    } cases[] = {
        {"time of a lap", "Time,RPM,Lap,Lap Time", "%d,6000,1,%d\n", "Time"},
        {"second clock", "Time,RPM,GPS Speed,GPS Time",
         "%d,6000,40,12:00:0%d\n", "Time"},
        {"time of one sort", "Session Time,RPM,EGT,Gear", "%d,6000,600,%d\n",
         "Session Time"},
        {"begins again", "Time,RPM,Throttle,Throttle Time",
         "%d,6000,50,%d\n4,6000,50,9\n5,6000,50,0\n", "Time"},
        {"no time at all", "Time,RPM,Throttle,Throttle Time",
         "%d,6000,50,%d\n4,6000,50,0\n", "Time"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[TEXT_SIZE];
        struct kw_log log;
        size_t n =
            (size_t)snprintf(text, sizeof text, "%s\n", cases[i].heading);
        for (int row = 1; row < 4; row++)
            n += (size_t)snprintf(text + n, sizeof text - n, cases[i].rows, row,
                                  row);
        log_from(*state, text, &log);
        assert_string_equal(kw_log_channel(&log, KW_ROLE_TIME, 0)->column,
                            cases[i].time);
        for (size_t k = 0; k < log.notices.n; k++)
            check_true(cases[i].label,
                       strstr(log.notices.items[k].text, "its own") == NULL);
        kw_log_free(&log);
    }
}

static void test_own_times__without_a_time_in_common_is_refused(void **state)
{
    static const char text[] = "RPM Time,RPM,EGT Time,EGT\n"
                               "0.0,6000,100.0,500\n0.1,6000,100.1,500\n";
    struct kw_log log;
    struct kw_error error = {0};
    log_write(*state, text, strlen(text));
    assert_int_equal(log_read(*state, NULL, &log, &error), KW_BAD_INPUT);
    assert_string_equal(error.what, "columns 'RPM Time' and 'EGT Time' have no "
                                    "time in common");
    assert_string_equal(error.todo, "export all channels with one common time");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_own_times__readings_go_to_the_row_of_their_time),
        IN_SCRATCH(test_own_times__clocks_are_followed_over_midnight),
        IN_SCRATCH(test_own_times__moved_channel_is_told),
        IN_SCRATCH(test_own_times__damaged_time_costs_one_reading),
        IN_SCRATCH(test_own_times__unused_rate_names_the_time_of_the_log),
        IN_SCRATCH(test_own_times__rows_of_other_channels_are_no_bad_ones),
        IN_SCRATCH(test_own_times__other_times_are_left_alone),
        IN_SCRATCH(test_own_times__without_a_time_in_common_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
