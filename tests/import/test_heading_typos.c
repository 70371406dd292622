/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headings are typed on phones too: one slip must not cost the racer the log,
 * and must not make a reading of something else. */
#include "support/heading_check.h"

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static const struct heading_case slips[] = {
    {"Drehzal", "", KW_ROLE_RPM, NULL},
    {"Revolusiones", "", KW_ROLE_RPM, NULL},
    {"exaust temp", "", KW_ROLE_EGT, NULL},
    {"Exhuast temp", "", KW_ROLE_EGT, NULL},
    {"Velosidad", "", KW_ROLE_SPEED, NULL},
    {"Vitese (km/h)", "", KW_ROLE_SPEED, "km/h"},
    {"Thottle", "", KW_ROLE_THROTTLE, NULL},
    {"Thottlepos", "", KW_ROLE_THROTTLE, NULL},
    {"Longtitude", "", KW_ROLE_LONGITUDE, NULL},
};

/* Short words, first and last letters, and what spoils or derives. */
static const struct heading_case others[] = {
    {"Altitude", "", KW_N_ROLES, NULL},
    {"Attitude", "", KW_N_ROLES, NULL},
    {"Temp. conector", "", KW_N_ROLES, NULL},
    {"Vitesses", "", KW_N_ROLES, NULL},
    {"Exhaustx", "", KW_N_ROLES, NULL},
    {"Rgime", "", KW_N_ROLES, NULL},
    {"Drehzal max", "", KW_N_ROLES, NULL},
    {"exaust pressure", "", KW_N_ROLES, NULL},
    {"Velosidad viento", "", KW_N_ROLES, NULL},
};

static void test_heading_typos__one_letter_off_is_read(void **state)
{
    (void)state;
    CHECK(slips);
}

static void test_heading_typos__other_words_are_left_alone(void **state)
{
    (void)state;
    CHECK(others);
}

/* A slip next to the real thing is not to be asked about. */
static void test_heading_typos__well_spelt_one_wins(void **state)
{
    const struct kw_heading slip = kw_heading_read("Drehzal", "");
    const struct kw_heading real = kw_heading_read("Drehz.", "");
    (void)state;
    assert_true(slip.lesser && !real.lesser);
    assert_true(slip.score < real.score);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_typos__one_letter_off_is_read),
        cmocka_unit_test(test_heading_typos__other_words_are_left_alone),
        cmocka_unit_test(test_heading_typos__well_spelt_one_wins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
