/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/drive_script.h"

struct idle_case {
    const char *label;
    double idle_rpm;
    double stated_rpm;
    double standing_s;
    size_t expected;
};

static const struct idle_case cases[] = {
    {"as stated", 2100, 2100, 10, 0},
    {"a little high", 2250, 2100, 10, 0},
    {"as an owner rounds it", 2400, 2100, 10, 0},
    {"a quarter high", 2600, 2100, 10, 1},
    {"high", 2850, 2100, 10, 1},
    {"low", 1700, 2100, 10, 0},
    {"high, but for a moment only", 2850, 2100, 1.5, 0},
    {"far above any idle", 3950, 2100, 10, 0},
    {"nobody said how high", 2850, NAN, 10, 0},
};

/* Stands, starts, and rolls to the end. */
static void drive_idling(double idle_rpm,
                         double standing_s,
                         struct drive_script *out)
{
    const struct foot script[] = {{standing_s, STAND}, {30, PULL}, {31, COAST}};
    struct drive_options options = drive_defaults();
    options.idle_rpm = idle_rpm;
    drive_new(&options, script, 3, out);
}

/* A loose clamp lets air in past the carburettor and melts a piston; an idle
 * that nobody stated proves nothing. */
static void test_air_leak__idle_against_the_profile(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct drive_script drive;
        drive_idling(cases[k].idle_rpm, cases[k].standing_s, &drive);
        drive.profile.idle_rpm = cases[k].stated_rpm;
        struct kw_events found = {0};
        assert_int_equal(kw_find_air_leak(&drive.scene, &found, NULL), KW_OK);
        check_near(cases[k].label, (double)found.n, (double)cases[k].expected,
                   0.0);
        if (found.n > 0)
            check_true(cases[k].label,
                       found.items[0].severity == KW_BEFORE_NEXT_RACE);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

struct near_case {
    const char *label;
    double idle_rpm;
    bool starts_known;
    size_t expected;
};

/* The clutch takes hold at 4,200 and holds 5,000. */
static const struct near_case near_cases[] = {
    {"no start was seen: the clutch may slip at that", 3900, false, 0},
    {"the clutch was seen to hold far above that", 3900, true, 1},
    {"above where the clutch takes hold", 4300, true, 0},
};

/* A leak may raise the idle to just below the clutch: what the clutch holds at
 * a start tells the two apart. */
static void test_air_leak__idle_near_the_clutch(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof near_cases / sizeof near_cases[0]; k++) {
        struct drive_script drive;
        drive_idling(near_cases[k].idle_rpm, 10, &drive);
        drive.profile.idle_rpm = 2700;
        drive.profile.clutch_rpm = 4200;
        const struct kw_event start = {
            .kind = KW_CLUTCH_ENGAGEMENT,
            .start_s = 10,
            .end_s = 12,
            .detail.engagement = {.start_rpm = 4200, .hold_rpm = 5000}};
        if (near_cases[k].starts_known)
            assert_int_equal(kw_events_add(&drive.before, &start, NULL), KW_OK);
        struct kw_events found = {0};
        assert_int_equal(kw_find_air_leak(&drive.scene, &found, NULL), KW_OK);
        check_near(near_cases[k].label, (double)found.n,
                   (double)near_cases[k].expected, 0.0);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

struct reference_case {
    const char *label;
    double idle_rpm;
    double reference_rpm;
    double stated_rpm;
    double clutch_rpm;
    size_t expected;
};

static const struct reference_case reference_cases[] = {
    {"as on the good day", 2100, 2100, NAN, 4200, 0},
    {"higher than on the good day", 2700, 2100, NAN, 4200, 1},
    {"a kart without a clutch, for all we know", 2700, 2100, NAN, NAN, 0},
    {"the profile is out of date", 2700, 2650, 2100, 4200, 0},
    {"higher than both say", 3300, 2650, 2100, 4200, 1},
};

/* A good day shows how the engine idles where no owner wrote it down. */
static void test_air_leak__idle_against_a_reference(void **state)
{
    (void)state;
    const size_t n = sizeof reference_cases / sizeof reference_cases[0];
    for (size_t k = 0; k < n; k++) {
        const struct reference_case *c = &reference_cases[k];
        struct drive_script drive, good_day;
        drive_idling(c->idle_rpm, 10, &drive);
        drive_idling(c->reference_rpm, 10, &good_day);
        drive.profile.idle_rpm = c->stated_rpm;
        drive.profile.clutch_rpm = c->clutch_rpm;
        drive.scene.reference = &good_day.session;
        struct kw_events found = {0};
        assert_int_equal(kw_find_air_leak(&drive.scene, &found, NULL), KW_OK);
        check_near(c->label, (double)found.n, (double)c->expected, 0.0);
        kw_events_free(&found);
        drive_free(&drive);
        drive_free(&good_day);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_air_leak__idle_against_the_profile),
        cmocka_unit_test(test_air_leak__idle_near_the_clutch),
        cmocka_unit_test(test_air_leak__idle_against_a_reference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
