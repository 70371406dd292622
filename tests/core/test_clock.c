/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times of day and dates. Days since 1970 are those that `date -u +%s` of GNU
 * coreutils prints, divided by 86400. */
#include "support/check.h"

#include "core/clock.h"

#include <string.h>

struct clock_case {
    const char *text;
    bool good;
    bool dated;
    double seconds;
};

static const double NOON_14_JUNE_2026 = 1781438400.0;

static const struct clock_case clock_cases[] = {
    {"12:00:00", true, false, 43200.0},
    {"00:00:00", true, false, 0.0},
    {"23:59:59.999", true, false, 86399.999},
    {"12:00:00,25", true, false, 43200.25},
    {"12:00:00:250", true, false, 43200.25},
    {"1:02:03.5", true, false, 3723.5},
    {"02:03.5", true, false, 123.5},
    {"75:03.25", true, false, 4503.25},
    {"1:30:00 PM", true, false, 48600.0},
    {"12:00:01 am", true, false, 1.0},
    {"12:00:01 p.m.", true, false, 43201.0},
    {"2026-06-14T12:00:00", true, true, NOON_14_JUNE_2026},
    {"2026-06-14 12:00:00", true, true, NOON_14_JUNE_2026},
    {"2026-06-14t12:00:00Z", true, true, NOON_14_JUNE_2026},
    {"2026-06-14T14:00:00.5+02:00", true, true, NOON_14_JUNE_2026 + 0.5},
    {"2026-06-14T14:00:00+0200", true, true, NOON_14_JUNE_2026},
    {"2026-06-14T07:00:00-05", true, true, NOON_14_JUNE_2026},
    {"2026/06/14 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14.06.2026 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14.06.26 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14/06/2026 12:00:00,000", true, true, NOON_14_JUNE_2026},
    {"14/06/2026, 12:00:00", true, true, NOON_14_JUNE_2026},
    {"06/14/2026 12:00:00 PM", true, true, NOON_14_JUNE_2026},
    {"14-06-2026  12:00", true, true, NOON_14_JUNE_2026},
    {"14-Jun-2026 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14-jun-26 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14 June 2026, 12:00:00", true, true, NOON_14_JUNE_2026},
    {"14-Giu-2026 12:00:00", true, true, NOON_14_JUNE_2026},
    {"12:00:01 p. m.", true, false, 43201.0},
    {"12:00:01 a.\xC2\xA0m.", true, false, 1.0},
    {"'12:00:00", true, false, 43200.0},
    {"2026-06-14T12:00Z", true, true, NOON_14_JUNE_2026},
    {"", false, false, 0},
    {"12", false, false, 0},
    {"12.5", false, false, 0},
    {"12:", false, false, 0},
    {"12:61:00", false, false, 0},
    {"12:00:61", false, false, 0},
    {"12:00:00.", false, false, 0},
    {"12:00:00x", false, false, 0},
    {"14-Jui-2026 12:00:00", false, false, 0},
    {"14-Ju-2026 12:00:00", false, false, 0},
    {"14-Jun 2026 12:00:00", false, false, 0},
    {"32-Jun-2026 12:00:00", false, false, 0},
    {"2026-13-14T12:00:00", false, false, 0},
    {"2026-06-32T12:00:00", false, false, 0},
    {"1826-06-14T12:00:00", false, false, 0},
    {"2026-06-14T", false, false, 0},
    {"2026-06-14", false, false, 0},
    {"2026-06-14T12:00:00+", false, false, 0},
    {"-1:00:00", false, false, 0},
};

/* A stamp that is read wrongly moves every finding on the track. */
static void test_clock__every_form_gives_its_seconds(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof clock_cases / sizeof clock_cases[0]; i++) {
        const struct clock_case *c = &clock_cases[i];
        struct kw_clock got = {0};
        const bool good = kw_clock_parse(c->text, strlen(c->text), &got);
        check_true(c->text, good == c->good);
        if (!good)
            continue;
        check_true(c->text, got.has_date == c->dated);
        check_near(c->text, got.seconds, c->seconds, 1e-6);
    }
}

/* Without a zone the wall clock is meant, and who files the log has to ask
 * where it hung; with one the moment is known. */
static void test_clock__zone_is_told_from_none(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool zone;
    } cases[] = {
        {"2026-06-14T12:00:00", false},   {"2026-06-14T12:00:00Z", true},
        {"2026-06-14 12:00:00 ", false},  {"2026-06-14 12:00:00 +02", true},
        {"2026-06-14T12:00-05:00", true}, {"12:00:00", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_clock got = {.has_zone = !cases[i].zone};
        check_true(cases[i].text,
                   kw_clock_parse(cases[i].text, strlen(cases[i].text), &got));
        check_true(cases[i].text, got.has_zone == cases[i].zone);
    }
}

/* Leap years: 2000 had a 29 February, 2100 will not. */
static void test_clock__dates_are_days_since_1970(void **state)
{
    (void)state;
    static const struct clock_case cases[] = {
        {"1970-01-01", true, true, 0.0},
        {"2000-02-29", true, true, 951782400.0},
        {"2000-03-01", true, true, 951868800.0},
        {"01.03.2100", true, true, 4107542400.0},
        {"31/12/2026", true, true, 1798675200.0},
        {"12/31/2026", true, true, 1798675200.0},
        {"2026-06", false, true, 0},
        {"2026-06-14x", false, true, 0},
        {"20260614", false, true, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double seconds = NAN;
        const bool good =
            kw_date_parse(cases[i].text, strlen(cases[i].text), &seconds);
        check_true(cases[i].text, good == cases[i].good);
        if (good)
            check_near(cases[i].text, seconds, cases[i].seconds, 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clock__every_form_gives_its_seconds),
        cmocka_unit_test(test_clock__zone_is_told_from_none),
        cmocka_unit_test(test_clock__dates_are_days_since_1970),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
