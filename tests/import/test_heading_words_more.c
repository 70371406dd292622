/* SPDX-License-Identifier: GPL-3.0-or-later */
/* More ways to write what test_heading_words.c holds: short forms of small
 * firmware, and how a beginner says it, in six languages. */
#include "support/heading_check.h"

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static const struct heading_case clocks[] = {
    {"Tpo. (seg)", "", KW_ROLE_TIME, "s"},
    {"Horario", "", KW_ROLE_TIME, NULL},
    {"Cronometro", "", KW_ROLE_TIME, NULL},
    {"Reloj", "", KW_ROLE_TIME, NULL},
    {"Orologio", "", KW_ROLE_TIME, NULL},
    {"Horloge", "", KW_ROLE_TIME, NULL},
    {"Echtzeit", "", KW_ROLE_TIME, NULL},
    {"Ortszeit", "", KW_ROLE_TIME, NULL},
    {"gpstime", "", KW_ROLE_TIME, NULL},
    {"uptime", "", KW_ROLE_TIME, NULL},
    {"Transcurrido", "", KW_ROLE_TIME, NULL},
};

static const struct heading_case turning[] = {
    {"Tourenzahl", "", KW_ROLE_RPM, NULL},
    {"Motorumdrehungen", "", KW_ROLE_RPM, NULL},
    {"Compteur de tours", "", KW_ROLE_RPM, NULL},
    {"Eng. revs", "", KW_ROLE_RPM, NULL},
    {"crankrpm", "", KW_ROLE_RPM, NULL},
    {"AXL_RPM", "", KW_ROLE_AXLE_RPM, "rpm"},
    {"Regime arbre", "", KW_ROLE_AXLE_RPM, NULL},
};

static const struct heading_case heat[] = {
    {"EGT position 1", "", KW_ROLE_EGT, NULL},
    {"Temp. escapam.", "", KW_ROLE_EGT, NULL},
    {"Temperature pot", "", KW_ROLE_EGT, NULL},
    {"Temp scar.", "", KW_ROLE_EGT, NULL},
    {"Temp. esc.", "", KW_ROLE_EGT, NULL},
    {"Auslasstemp.", "", KW_ROLE_EGT, NULL},
    {"Thermoelement 1", "", KW_ROLE_EGT, NULL},
    {"ZKT", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Temperatura sottocandela", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Zylindertemperatur", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Zuendkerzentemperatur", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Temp cabeza", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Temperature tete", "", KW_ROLE_HEAD_TEMP, NULL},
    {"Tcyl", "", KW_ROLE_HEAD_TEMP, NULL},
    {"CLT", "", KW_ROLE_WATER_TEMP, NULL},
    {"WTMP", "", KW_ROLE_WATER_TEMP, NULL},
    {"Temp. liquide refroid.", "", KW_ROLE_WATER_TEMP, NULL},
    {"Temp radiador", "", KW_ROLE_WATER_TEMP, NULL},
    {"Raffreddamento", "", KW_ROLE_WATER_TEMP, NULL},
    {"Motorwasser", "", KW_ROLE_WATER_TEMP, NULL},
};

static const struct heading_case laps[] = {
    {"lapno", "", KW_ROLE_LAP, NULL},
    {"Giri fatti", "", KW_ROLE_LAP, NULL},
    {"Vueltas completadas", "", KW_ROLE_LAP, NULL},
    {"lap_evt", "", KW_ROLE_LAP_MARKER, NULL},
    {"Lap end", "", KW_ROLE_LAP_MARKER, NULL},
    {"Fine giro", "", KW_ROLE_LAP_MARKER, NULL},
    {"Fin de tour", "", KW_ROLE_LAP_MARKER, NULL},
    {"Fin de vuelta", "", KW_ROLE_LAP_MARKER, NULL},
    {"Fim da volta", "", KW_ROLE_LAP_MARKER, NULL},
    {"Inizio giro", "", KW_ROLE_LAP_MARKER, NULL},
    {"Debut de tour", "", KW_ROLE_LAP_MARKER, NULL},
    {"Inicio da volta", "", KW_ROLE_LAP_MARKER, NULL},
    {"Inicio de vuelta", "", KW_ROLE_LAP_MARKER, NULL},
    {"Rundenstart", "", KW_ROLE_LAP_MARKER, NULL},
    {"Rundenende", "", KW_ROLE_LAP_MARKER, NULL},
    {"Rundenmarkierung", "", KW_ROLE_LAP_MARKER, NULL},
    {"Cruzou a linha", "", KW_ROLE_LAP_MARKER, NULL},
    {"Zieldurchfahrt", "", KW_ROLE_LAP_MARKER, NULL},
    {"Linea di partenza", "", KW_ROLE_LAP_MARKER, NULL},
    {"Linea de salida", "", KW_ROLE_LAP_MARKER, NULL},
    {"Time since lap start", "", KW_N_ROLES, NULL},
    {"Zeit seit Rundenstart", "", KW_N_ROLES, NULL},
};

static const struct heading_case rest[] = {
    {"THR", "", KW_ROLE_THROTTLE, NULL},
    {"thr_pos", "", KW_ROLE_THROTTLE, NULL},
    {"DK-Winkel", "", KW_ROLE_THROTTLE, NULL},
    {"Gasgriffstellung", "", KW_ROLE_THROTTLE, NULL},
    {"Gashebel", "", KW_ROLE_THROTTLE, NULL},
    {"Fore-aft accel", "", KW_ROLE_ACCEL_LONG, NULL},
    {"Forward acceleration", "", KW_ROLE_ACCEL_LONG, NULL},
    {"aLong", "", KW_ROLE_ACCEL_LONG, NULL},
    {"L\xC3\xA4ngsG", "", KW_ROLE_ACCEL_LONG, "g"},
    {"QuerG", "", KW_ROLE_ACCEL_LAT, "g"},
    {"aLat", "", KW_ROLE_ACCEL_LAT, NULL},
    {"Beschleunigung seitlich", "", KW_ROLE_ACCEL_LAT, NULL},
    {"Akku", "", KW_ROLE_BATTERY_V, NULL},
};

static void test_heading_words_more__clocks_are_read(void **state)
{
    (void)state;
    CHECK(clocks);
}

static void test_heading_words_more__engine_and_axle_are_read(void **state)
{
    (void)state;
    CHECK(turning);
}

static void test_heading_words_more__temperatures_are_read(void **state)
{
    (void)state;
    CHECK(heat);
}

static void test_heading_words_more__laps_and_lines_are_read(void **state)
{
    (void)state;
    CHECK(laps);
}

static void test_heading_words_more__throttle_and_g_are_read(void **state)
{
    (void)state;
    CHECK(rest);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heading_words_more__clocks_are_read),
        cmocka_unit_test(test_heading_words_more__engine_and_axle_are_read),
        cmocka_unit_test(test_heading_words_more__temperatures_are_read),
        cmocka_unit_test(test_heading_words_more__laps_and_lines_are_read),
        cmocka_unit_test(test_heading_words_more__throttle_and_g_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
