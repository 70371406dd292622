/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How words are cut and found, whatever the language: as small firmware and
 * tired people write them. */
#include "support/heading_check.h"

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static const struct heading_case glued[] = {
    {"exhausttemp", "", KW_ROLE_EGT, NULL},
    {"enginespeed", "", KW_ROLE_RPM, NULL},
    {"gpsspeed_kmh", "", KW_ROLE_SPEED, "km/h"},
    {"lapcounter", "", KW_ROLE_LAP, NULL},
    {"lapmarker", "", KW_ROLE_LAP_MARKER, NULL},
    {"topspeed", "", KW_N_ROLES, NULL},
    {"accuracy", "", KW_N_ROLES, NULL},
    {"accumulator [V]", "", KW_ROLE_BATTERY_V, "V"},
};

static const struct heading_case degrees[] = {
    {"T\xC2\xB0"
     "eau",
     "", KW_ROLE_WATER_TEMP, NULL},
    {"T\xC2\xB0 culasse", "", KW_ROLE_HEAD_TEMP, NULL},
    {"N\xC2\xB0tour", "", KW_ROLE_LAP, NULL},
    {"EGT \xC2\xB0"
     "C",
     "", KW_ROLE_EGT, "C"},
    {"EGT \xC2\xB0"
     "Celsius",
     "", KW_ROLE_EGT, "C"},
};

static const struct heading_case short_heat[] = {
    {"T_CYL", "", KW_ROLE_HEAD_TEMP, NULL},
    {"T. candela", "", KW_ROLE_HEAD_TEMP, NULL},
    {"T bougie", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Tmp culasse", "", KW_ROLE_HEAD_TEMP, NULL},
    {"T gaz", "", KW_ROLE_EGT, NULL},
    {"T huile", "", KW_N_ROLES, NULL},
    {"T air", "", KW_N_ROLES, NULL},
};

static const struct heading_case front[] = {
    {"km/h GPS", "", KW_ROLE_SPEED, "km/h"},
    {"U/min Motor", "", KW_ROLE_RPM, "rpm"},
    {"tr/min arbre", "", KW_ROLE_AXLE_RPM, "rpm"},
    {"m/s vertical", "", KW_N_ROLES, NULL},
    {"mm/s damper", "", KW_N_ROLES, NULL},
};

static void test_heading_match__words_written_as_one_are_found(void **state)
{
    (void)state;
    CHECK(glued);
}

static void test_heading_match__degree_parts_words(void **state)
{
    (void)state;
    CHECK(degrees);
}

static void test_heading_match__letter_stands_for_temperature(void **state)
{
    (void)state;
    CHECK(short_heat);
}

static void test_heading_match__unit_in_front_is_read(void **state)
{
    (void)state;
    CHECK(front);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_match__words_written_as_one_are_found),
        cmocka_unit_test(test_heading_match__degree_parts_words),
        cmocka_unit_test(test_heading_match__letter_stands_for_temperature),
        cmocka_unit_test(test_heading_match__unit_in_front_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
