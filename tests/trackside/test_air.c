/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/trackside.h"
#include "support/check.h"

struct density_case {
    double pressure_pa;
    double temp_c;
    double humidity;
    double density_kg_m3;
    double saturation_pa;
    double oiml_kg_m3;
};

/* Constants: CIPM-2007, Picard et al., Metrologia 45 (2008) 149. The densities
 * were worked out with them elsewhere; OIML R 111-1:2004 E.3 is an independent
 * approximate formula, stated to be within 2e-4 for 900 to 1100 hPa, 10 to 30 C
 * and less than 80 % humidity. */
static const struct density_case density_cases[] = {
    {101325, 20, 0.5, 1.1993139, 2339.1632, 1.199294},
    {101325, 15, 0.0, 1.2255213, 1705.6691, 1.225394},
    {101325, 30, 0.6, 1.1536775, 4246.7990, 1.153657},
    {100000, 15, 0.0, 1.2094891, 1705.6691, 1.209370},
    {95000, 35, 0.4, 1.0646286, 5628.8646, 1.064454},
    {90000, 5, 0.8, 1.1244457, 872.5345, 1.124053},
};

/* The jet of the day hangs on this number. */
static void test_air__density_is_that_of_cipm_2007(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof density_cases / sizeof density_cases[0];
         i++) {
        const struct density_case *c = &density_cases[i];
        const struct kw_air air = {c->temp_c, c->pressure_pa, c->humidity};
        check_near("CIPM-2007", kw_air_density_kg_m3(&air), c->density_kg_m3,
                   5e-8); /* the printed digits */
        check_near("saturation", kw_saturation_pressure_pa(c->temp_c),
                   c->saturation_pa, 5e-5);
        check_near("OIML R 111-1 E.3", kw_air_density_kg_m3(&air),
                   c->oiml_kg_m3, 4e-4 * c->oiml_kg_m3);
    }
}

struct vapour_case {
    double temp_c;
    double table_pa;
};

/* Published table of the vapour pressure of water (kPa, four decimals, as in
 * the CRC Handbook): up to 0.05 % off newer formulas. */
static const struct vapour_case vapour_cases[] = {
    {0, 611.3},   {5, 872.6},   {10, 1228.1}, {15, 1705.6}, {20, 2338.8},
    {25, 3169.0}, {30, 4245.5}, {35, 5626.7}, {40, 7381.4},
};

static void test_air__saturation_pressure_is_that_of_the_table(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof vapour_cases / sizeof vapour_cases[0]; i++)
        check_near("vapour pressure",
                   kw_saturation_pressure_pa(vapour_cases[i].temp_c),
                   vapour_cases[i].table_pa, 5e-4 * vapour_cases[i].table_pa);
}

/* U.S. Standard Atmosphere 1976 / ISO 2533: pressure in Pa and density in kg/m3
 * by geopotential height. */
static void test_air__heights_are_those_of_the_standard_atmosphere(void **state)
{
    (void)state;
    check_near("0 m", kw_standard_pressure_pa(0.0), 101325.0, 0.5);
    check_near("500 m", kw_standard_pressure_pa(500.0), 95461.0, 1.0);
    check_near("1000 m", kw_standard_pressure_pa(1000.0), 89874.6, 1.0);
    check_near("2000 m", kw_standard_pressure_pa(2000.0), 79495.2, 1.0);
    check_near("3000 m", kw_standard_pressure_pa(3000.0), 70108.5, 1.0);
    check_true("beyond", isnan(kw_standard_pressure_pa(20000.0)));
    check_near("altimeter", kw_station_pressure_pa(102000.0, 500.0),
               102000.0 * 95461.0 / 101325.0, 1.0);
}

struct altitude_case {
    double density_kg_m3;
    double altitude_m;
};

/* Density altitude worked out from the standard atmosphere (ISO 2533). */
static const struct altitude_case altitude_cases[] = {
    {1.225, 0.00},   {1.15, 653.23}, {1.1, 1107.06},
    {1.05, 1576.96}, {1.0, 2064.30},
};

static void test_air__density_altitude_is_the_standard_one(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof altitude_cases / sizeof altitude_cases[0];
         i++)
        check_near("density altitude",
                   kw_density_altitude_m(altitude_cases[i].density_kg_m3),
                   altitude_cases[i].altitude_m, 0.05);
}

/* ISO 1585, spark ignition: (99 / dry kPa)^1.2 ((t + 273) / 298)^0.6. Rows with
 * dry air, so that the barometer is the dry pressure. */
static void test_air__power_correction_is_that_of_iso_1585(void **state)
{
    (void)state;
    const struct {
        double dry_pa;
        double temp_c;
        double factor;
    } rows[] = {{99000, 25, 1.000000},
                {96000, 35, 1.058370},
                {101000, 10, 0.946496},
                {90000, 20, 1.109844}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct kw_air air = {rows[i].temp_c, rows[i].dry_pa, 0.0};
        check_near("ISO 1585", kw_power_correction_iso1585(&air),
                   rows[i].factor, 1e-6);
    }
}

struct text_case {
    const char *text;
    const char *what; /* NULL: it is read */
    double temp_c;
    double pressure_pa;
    double humidity;
};

static const struct text_case text_cases[] = {
    {"T=21 P=1012 RH=45", NULL, 21, 101200, 0.45},
    {"RH=45%, T=21C; P=1012hPa", NULL, 21, 101200, 0.45},
    {"T=70F P=29.92inHg RH=0", NULL, 21.1111111, 101320.76, 0.0},
    {"T=21 P=760mmHg RH=100", NULL, 21, 101325.01, 1.0},
    {"T=21 P=1012", "the air needs T, P and RH", 0, 0, 0},
    {"T=70 P=1012 RH=45", "impossible air temperature '70'", 0, 0, 0},
    {"T=21 P=29.92 RH=45", "impossible air pressure '29.92'", 0, 0, 0},
    {"T=21 P=1012 RH=145", "impossible relative humidity '145'", 0, 0, 0},
    {"T=21 P=1012 RH=0.55", "impossible relative humidity '0.55'", 0, 0, 0},
    {"T=21 Q=1012 RH=45", "unknown part of the air 'Q=1012'", 0, 0, 0},
    {"T=21 T=31 P=1012 RH=45", "a second value for the air 'T=31'", 0, 0, 0},
    {"T=21 P=1012 RH=45 RH=45", "a second value for the air 'RH=45'", 0, 0, 0},
    {"T=warm P=1012 RH=45", "no temperature: 'warm'", 0, 0, 0},
    {"", "the air needs T, P and RH", 0, 0, 0},
};

/* A slip of the pen must not become a jet. */
static void test_air__text_is_read_or_refused_with_the_reason(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof text_cases / sizeof text_cases[0]; i++) {
        const struct text_case *c = &text_cases[i];
        struct kw_air air = {-1, -1, -1};
        struct kw_error error = {0};
        const enum kw_status status = kw_air_parse(c->text, &air, &error);
        if (c->what != NULL) {
            assert_int_equal(status, KW_BAD_USAGE);
            assert_string_equal(error.what, c->what);
            assert_true(error.todo[0] != '\0');
            continue;
        }
        check_true(c->text, status == KW_OK);
        check_near(c->text, air.temp_c, c->temp_c, 1e-6);
        check_near(c->text, air.pressure_pa, c->pressure_pa, 0.05);
        check_near(c->text, air.humidity, c->humidity, 1e-12);
    }
}

static void test_air__decimal_comma_is_told(void **state)
{
    (void)state;
    struct kw_error error = {0};
    double temp_c = NAN;
    assert_int_equal(kw_temp_parse("24,5", &temp_c, &error), KW_BAD_USAGE);
    assert_string_equal(error.what, "no temperature: '24,5'");
    assert_string_equal(error.todo, "write it with a decimal point");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_air__density_is_that_of_cipm_2007),
        cmocka_unit_test(test_air__saturation_pressure_is_that_of_the_table),
        cmocka_unit_test(
            test_air__heights_are_those_of_the_standard_atmosphere),
        cmocka_unit_test(test_air__density_altitude_is_the_standard_one),
        cmocka_unit_test(test_air__power_correction_is_that_of_iso_1585),
        cmocka_unit_test(test_air__decimal_comma_is_told),
        cmocka_unit_test(test_air__text_is_read_or_refused_with_the_reason),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
