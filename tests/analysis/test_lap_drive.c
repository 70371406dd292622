/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_drive.h"

#include "support/check.h"

/* A lap more or less is the first thing that a racer sees. Out of the pits and
 * back into them is a whole number of laps, and what the clutch slipped and the
 * kart coasted is missing from it. */
static void test_lap_drive__passings_are_whole_laps(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double turns;
        double out_and_in;
        double passings;
    } cases[] = {
        {"whole laps", 8.0, 1.0, 8.0},
        {"a long start with a slipping clutch", 6.88, 1.0, 7.0},
        {"some way more between the pits' way out and in", 8.06, 1.0, 8.0},
        {"out lap and in lap nearly whole", 8.6, 1.6, 8.0},
        {"nothing", 0.0, 1.0, 0.0},
        {"turned round by noise", -0.6, 1.0, 0.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_near(
            cases[i].label,
            (double)kw_likely_passings(cases[i].turns, cases[i].out_and_in),
            cases[i].passings, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_drive__passings_are_whole_laps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
