/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a time column counts: taken wrongly, ten minutes are seven thousandths of
 * a second, and every lap and drop-out is gone without a word. */
#include "import/time_form.h"

#include "support/check.h"

#include <string.h>

enum { ROWS = 3000 };

/* A column that starts at `first` and adds `step`.
 *
 * stated   unit in the heading, NULL for none.
 * took_s   from the first row to the last. */
struct form_case {
    const char *label;
    const char *stated;
    double first;
    double step;
    const char *unit;
    double took_s;
    bool of_day;
    bool on_wall;
};

static const struct form_case forms[] = {
    {"seconds", NULL, 0.0, 0.04, "s", 119.96, false, false},
    {"seconds since 1970", NULL, 1781438400.0, 0.1, "s", 299.9, false, false},
    {"once a second", NULL, 0.0, 1.0, "s", 2999.0, false, false},
    {"1 kHz", NULL, 0.0, 0.001, "s", 2.999, false, false},
    {"milliseconds", NULL, 0.0, 40.0, "ms", 119.96, false, false},
    {"microseconds", NULL, 0.0, 40000.0, "us", 119.96, false, false},
    {"nanoseconds", NULL, 0.0, 4e7, "ns", 119.96, false, false},
    {"milliseconds since 1970", NULL, 1781438400e3, 40.0, "ms", 119.96, false,
     false},
    {"at 1 kHz", NULL, 1781438400e3, 1.0, "ms", 2.999, false, false},
    {"microseconds since 1970", NULL, 1781438400e6, 40000.0, "us", 119.96,
     false, false},
    {"nanoseconds since 1970", NULL, 1781438400e9, 4e7, "ns", 119.96, false,
     false},
    {"at 1 kHz", NULL, 1781438400e9, 1e6, "ns", 2.999, false, false},
    {"microseconds, after half an hour", NULL, 1.8e9, 40000.0, "us", 119.96,
     false, false},
    {"days and date", NULL, 46187.585659722, 0.04 / 86400.0, "days", 119.96,
     false, true},
    {"fraction of a day", NULL, 0.5856, 0.1 / 86400.0, "days", 299.9, true,
     true},
    {"day at 1 Hz", NULL, 0.25, 1.0 / 86400.0, "days", 2999.0, true, true},
    {"hundredths", "1/100s", 0.0, 4.0, "1/100 s", 119.96, false, false},
    {"tenths", "1/10s", 0.0, 1.0, "1/10 s", 299.9, false, false},
    {"stated minutes", "min", 0.0, 0.1 / 60.0, "min", 299.9, false, false},
    {"stated hours", "h", 14.0, 0.1 / 3600.0, "h", 299.9, false, false},
    {"stated seconds stay", "s", 0.5, 1e-5, "s", 0.02999, false, false},
};

static void test_time_form__is_told_by_unit_step_and_size(void **state)
{
    (void)state;
    static double values[ROWS];
    static double scratch[ROWS];
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        const struct form_case *c = &forms[i];
        const struct kw_unit *stated =
            c->stated != NULL ? kw_unit_find(KW_QUANTITY_TIME, c->stated)
                              : NULL;
        for (size_t k = 0; k < ROWS; k++)
            values[k] = c->first + c->step * (double)k;
        /* One damaged stamp is that row's fault. */
        if (c->stated == NULL)
            values[ROWS / 2] = 77.0;
        const struct kw_time_form form =
            kw_time_form_of(stated, values, ROWS, scratch);
        if (strcmp(form.unit->name, c->unit) != 0)
            fail_msg("%s: got %s", c->label, form.unit->name);
        check_near(c->label,
                   kw_time_seconds(&form, values[ROWS - 1]) -
                       kw_time_seconds(&form, values[0]),
                   c->took_s, 1e-5 * c->took_s);
        check_true(c->label, form.of_day == c->of_day);
        check_true(c->label, form.on_wall == c->on_wall);
    }
}

/* Excel's 46187 is 2026-06-14, and 1781395200 is its midnight (GNU date). */
static void test_time_form__spreadsheet_day_is_a_date(void **state)
{
    (void)state;
    const double values[] = {46187.0, 46187.00001, 46187.00002};
    double scratch[3];
    const struct kw_time_form form = kw_time_form_of(NULL, values, 3, scratch);
    const double first_s = kw_time_seconds(&form, values[0]);
    check_near("midnight", first_s, 1781395200.0, 1e-3);
    check_near("start", kw_start_of_epoch(first_s, false), 1781395200.0, 1e-3);
}

/* 14:03:59.96 is followed by 14:04:00.00, which as numbers leaps by 40. */
static void test_time_form__packed_clock_is_unpacked(void **state)
{
    (void)state;
    static double values[ROWS];
    static double scratch[ROWS];
    for (size_t i = 0; i < ROWS; i++) {
        const double at_s = 50601.0 + 0.04 * (double)i;
        const double hours = floor(at_s / 3600.0);
        const double minutes = floor(at_s / 60.0) - 60.0 * hours;
        values[i] = 10000.0 * hours + 100.0 * minutes + fmod(at_s, 60.0);
    }
    const struct kw_time_form form =
        kw_time_form_of(NULL, values, ROWS, scratch);
    assert_string_equal(form.unit->name, "hhmmss");
    assert_true(form.of_day);
    for (size_t i = 0; i < ROWS; i++)
        check_near("seconds", kw_time_seconds(&form, values[i]),
                   50601.0 + 0.04 * (double)i, 1e-6);
}

static void test_time_form__clock_that_stands_still_is_left(void **state)
{
    (void)state;
    const double values[] = {5.0, 5.0, 5.0};
    double scratch[3];
    assert_string_equal(kw_time_form_of(NULL, values, 3, scratch).unit->name,
                        "s");
    assert_string_equal(kw_time_form_of(NULL, values, 0, scratch).unit->name,
                        "s");
}

/* Whole seconds at 20 rows each: 43,200 rows are 36 minutes, not half a day.
 */
static void test_time_form__coarse_clock_of_a_long_log_is_seconds(void **state)
{
    (void)state;
    enum { RATE = 20, LONG = 40 * 60 * RATE };
    static double values[LONG];
    static double scratch[LONG];
    for (size_t i = 0; i < LONG; i++)
        values[i] = (double)(i / RATE);
    assert_string_equal(kw_time_form_of(NULL, values, LONG, scratch).unit->name,
                        "s");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_time_form__is_told_by_unit_step_and_size),
        cmocka_unit_test(test_time_form__spreadsheet_day_is_a_date),
        cmocka_unit_test(test_time_form__packed_clock_is_unpacked),
        cmocka_unit_test(test_time_form__clock_that_stands_still_is_left),
        cmocka_unit_test(test_time_form__coarse_clock_of_a_long_log_is_seconds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
