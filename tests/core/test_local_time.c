/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dates as a person writes them: a session of Sunday must not be filed under
 * Saturday because the machine's zone is another than the log's. */
#include "support/check.h"

#include "core/local_time.h"

#include <stdlib.h>
#include <time.h>

static void set_zone(const char *zone)
{
    assert_int_equal(setenv("TZ", zone, 1), 0);
    tzset();
}

/* Seconds by `date -u -d TEXT +%s` of coreutils; the zone is 2 h east of
 * Greenwich in summer, 1 h in winter, written as POSIX writes it. */
static void test_local_time__dates_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double unix_s;
        bool has_time;
    } cases[] = {
        {"2026-06-14T11:20:00", 1781428800.0, true},
        {"2026-06-14T11:20", 1781428800.0, true},
        {"2026-06-14 11:20", 1781428800.0, true},
        {"2026-06-14T09:20:00Z", 1781428800.0, true},
        {"2026-06-14T09:20Z", 1781428800.0, true},
        {"2026-06-14T05:20:00-04:00", 1781428800.0, true},
        {"2026-06-14T11:20+02:00", 1781428800.0, true},
        {"2026-01-14T10:20:00", 1768382400.0, true},
        {"2026-06-14", 1781388000.0, false},
        {"2024-02-29", 1709161200.0, false},
        {"2026-06-14T24:00", 1781474400.0, true},
        {"2026-06-14T23:59:59", 1781474399.0, true},
    };
    set_zone("XST-1XDT,M3.5.0,M10.5.0");
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double unix_s = 0.0;
        bool has_time = !cases[i].has_time;
        check_true(cases[i].text,
                   kw_local_time_parse(cases[i].text, &unix_s, &has_time));
        check_near(cases[i].text, unix_s, cases[i].unix_s, 0.0);
        check_true(cases[i].text, has_time == cases[i].has_time);
    }
}

static void test_local_time__what_no_calendar_has_is_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {"",
                                        "today",
                                        "2026",
                                        "2026-02-30",
                                        "2026-13-01",
                                        "2025-02-29",
                                        "14.06.2026",
                                        "2026-06-14T",
                                        "2026-06-14T11",
                                        "2026-06-14T25:99:00",
                                        "2026-06-14T25:00",
                                        "2026-06-14T24:01",
                                        "2026-06-14T99:00:00Z",
                                        "2026-06-14T11:20 xm",
                                        "2026-06-14x"};
    double unix_s = 0.0;
    bool has_time = false;
    set_zone("UTC0");
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        check_true(texts[i],
                   !kw_local_time_parse(texts[i], &unix_s, &has_time));
}

static void test_local_time__printing_is_the_way_back(void **state)
{
    (void)state;
    static const char *const zones[] = {"UTC0", "XST-1XDT,M3.5.0,M10.5.0",
                                        "XST+9:30"};
    for (size_t z = 0; z < 3; z++) {
        set_zone(zones[z]);
        for (double s = 1700000000.0; s < 1800000000.0; s += 1234567.0) {
            char text[KW_LOCAL_TIME_SIZE];
            double back = 0.0;
            bool has_time = false;
            kw_local_time_print(text, s, true);
            check_true(text, kw_local_time_parse(text, &back, &has_time));
            check_near(text, back, s, 0.0);
        }
    }
    char text[KW_LOCAL_TIME_SIZE];
    assert_string_equal(kw_local_time_print(text, NAN, true), "?");
    assert_string_equal(kw_local_time_print(text, 1e300, false), "?");
}

/* What goes to another machine must not depend on this one's zone. */
static void test_local_time__utc_is_the_same_everywhere(void **state)
{
    (void)state;
    static const char *const zones[] = {"UTC0", "XST-1XDT,M3.5.0,M10.5.0"};
    char text[KW_LOCAL_TIME_SIZE];
    for (size_t z = 0; z < 2; z++) {
        set_zone(zones[z]);
        assert_string_equal(kw_utc_time_print(text, 1781431200.0),
                            "2026-06-14T10:00:00Z");
        assert_string_equal(kw_utc_time_print(text, 0.0),
                            "1970-01-01T00:00:00Z");
        assert_string_equal(kw_utc_time_print(text, NAN), "?");
    }
}

/* The day on which the clock goes forward has 23 hours, and is one day. */
static void test_local_time__short_day_is_one_day(void **state)
{
    (void)state;
    double noon = 0.0;
    bool has_time = false;
    set_zone("XST-1XDT,M3.5.0,M10.5.0");
    assert_true(kw_local_time_parse("2026-03-29T12:00", &noon, &has_time));
    check_near("hours", kw_local_day_end(noon) - kw_local_day_start(noon),
               23.0 * 3600.0, 0.0);
}

/* A day without a time has none to show: 00:00 would be one. */
static void test_local_time__person_sees_minutes_or_the_day(void **state)
{
    static const struct {
        const char *text;
        const char *shown;
    } cases[] = {{"2026-06-14T11:20:05", "2026-06-14 11:20"},
                 {"2026-06-14T00:01", "2026-06-14 00:01"},
                 {"2026-06-14", "2026-06-14"}};
    char text[KW_LOCAL_TIME_SIZE];
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double unix_s = NAN;
        bool has_time = false;
        assert_true(kw_local_time_parse(cases[i].text, &unix_s, &has_time));
        assert_string_equal(kw_local_time_show(text, unix_s), cases[i].shown);
    }
    assert_string_equal(kw_local_time_show(text, NAN), "?");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_local_time__dates_are_read),
        cmocka_unit_test(test_local_time__what_no_calendar_has_is_refused),
        cmocka_unit_test(test_local_time__person_sees_minutes_or_the_day),
        cmocka_unit_test(test_local_time__printing_is_the_way_back),
        cmocka_unit_test(test_local_time__utc_is_the_same_everywhere),
        cmocka_unit_test(test_local_time__short_day_is_one_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
