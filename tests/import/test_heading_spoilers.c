/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns of other things, whose headings share a word with a reading: taken
 * for it they would make a verdict out of a setting or a pump. */
#include "support/heading_check.h"

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static const struct heading_case other_turning[] = {
    {"Schaltdrehzahl", "", KW_N_ROLES, NULL},
    {"RPM cambio", "", KW_N_ROLES, NULL},
    {"RPM de troca", "", KW_N_ROLES, NULL},
    {"Regime passage rapport", "", KW_N_ROLES, NULL},
    {"Regime ralenti", "", KW_N_ROLES, NULL},
    {"Idle RPM", "", KW_N_ROLES, NULL},
    {"RPM marcha lenta", "", KW_N_ROLES, NULL},
    {"RPM_PUMP", "", KW_N_ROLES, NULL},
    {"Clutch RPM", "", KW_N_ROLES, NULL},
    {"Kupplungsglocke U/min", "", KW_N_ROLES, NULL},
    {"RPM embrague", "", KW_N_ROLES, NULL},
    {"Giri frizione", "", KW_N_ROLES, NULL},
    {"Fan RPM", "", KW_N_ROLES, NULL},
    {"Tachostand", "", KW_N_ROLES, NULL},
};

static const struct heading_case other_speed[] = {
    {"Velocit\xC3\xA0 ventola", "", KW_N_ROLES, NULL},
    {"Velocidad ventilador", "", KW_N_ROLES, NULL},
    {"Vitesse engagee", "", KW_N_ROLES, NULL},
    {"Kolbengeschwindigkeit", "", KW_N_ROLES, NULL},
    {"Velocit\xC3\xA0 angolare", "", KW_N_ROLES, NULL},
    {"Winkelgeschwindigkeit", "", KW_N_ROLES, NULL},
};

static const struct heading_case other_heat[] = {
    {"Auspuffl\xC3\xA4nge", "", KW_N_ROLES, NULL},
    {"Exhaust position", "", KW_N_ROLES, NULL},
    {"Contrapresion escape", "", KW_N_ROLES, NULL},
    {"Longitud escape", "", KW_N_ROLES, NULL},
    {"Longueur pot", "", KW_N_ROLES, NULL},
    {"Wasserstand", "", KW_N_ROLES, NULL},
    {"Caudal de agua", "", KW_N_ROLES, NULL},
    {"Debit eau", "", KW_N_ROLES, NULL},
    {"Water pump", "", KW_N_ROLES, NULL},
    {"Asphalttemperatur", "", KW_N_ROLES, NULL},
};

static const struct heading_case others[] = {
    {"EGT probe OK", "", KW_N_ROLES, NULL},
    {"Throttle closed", "", KW_N_ROLES, NULL},
    {"Throttle switch", "", KW_N_ROLES, NULL},
    {"Phone battery", "", KW_N_ROLES, NULL},
    {"Handy Akku", "", KW_N_ROLES, NULL},
    {"I_batt", "", KW_N_ROLES, NULL},
    {"Battery current", "", KW_N_ROLES, NULL},
    {"Sensor voltage", "", KW_N_ROLES, NULL},
    {"Tempo settore 1", "", KW_N_ROLES, NULL},
    {"Reaction time", "", KW_N_ROLES, NULL},
    {"Longueur du tour", "", KW_N_ROLES, NULL},
    {"Rundendistanz", "", KW_N_ROLES, NULL},
    {"Pedale frizione", "", KW_N_ROLES, NULL},
};

/* Near to them, and meant. */
static const struct heading_case kept[] = {
    {"Phone GPS speed", "", KW_ROLE_SPEED, NULL},
    {"Giro corrente", "", KW_ROLE_LAP, NULL},
    {"Current lap", "", KW_ROLE_LAP, NULL},
    {"Tiempo en marcha", "", KW_ROLE_TIME, NULL},
    {"Giri al minuto", "", KW_ROLE_RPM, NULL},
    {"EGT calibrated", "", KW_ROLE_EGT, NULL},
    {"Time offset [s]", "", KW_ROLE_TIME, "s"},
    {"Battery sensor [V]", "", KW_ROLE_BATTERY_V, "V"},
    {"Longitudinal speed [m/s]", "", KW_ROLE_SPEED, "m/s"},
    {"Longitudinal [g]", "", KW_ROLE_ACCEL_LONG, "g"},
};

static void test_heading_spoilers__other_turning_is_no_engine(void **state)
{
    (void)state;
    CHECK(other_turning);
}

static void test_heading_spoilers__other_speed_is_none_of_the_kart(void **state)
{
    (void)state;
    CHECK(other_speed);
}

static void test_heading_spoilers__exhaust_has_more_than_heat(void **state)
{
    (void)state;
    CHECK(other_heat);
}

static void test_heading_spoilers__states_and_others_are_no_readings(
    void **state)
{
    (void)state;
    CHECK(others);
}

static void test_heading_spoilers__plain_ones_are_kept(void **state)
{
    (void)state;
    CHECK(kept);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_spoilers__other_turning_is_no_engine),
        cmocka_unit_test(
            test_heading_spoilers__other_speed_is_none_of_the_kart),
        cmocka_unit_test(test_heading_spoilers__exhaust_has_more_than_heat),
        cmocka_unit_test(
            test_heading_spoilers__states_and_others_are_no_readings),
        cmocka_unit_test(test_heading_spoilers__plain_ones_are_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
