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
    {"high", 2850, 2100, 10, 1},
    {"low", 1700, 2100, 10, 0},
    {"high, but for a moment only", 2850, 2100, 1.5, 0},
    {"nobody said how high", 2850, NAN, 10, 0},
};

/* A loose clamp lets air in past the carburettor and melts a piston; an idle
 * that nobody stated proves nothing. */
static void test_air_leak__idle_against_the_profile(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct foot script[] = {
            {cases[k].standing_s, STAND}, {30, PULL}, {31, COAST}};
        struct drive_options options = drive_defaults();
        options.idle_rpm = cases[k].idle_rpm;
        struct drive_script drive;
        drive_new(&options, script, 3, &drive);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_air_leak__idle_against_the_profile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
