/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Single fields. A thousands mark taken for a decimal mark makes 12,500 RPM of
 * 12.5, and a word taken for a number makes anything. */
#include "support/check.h"

#include "import/cell.h"

#include <string.h>

/* value  NAN where the field is no number. */
struct number_case {
    const char *text;
    char point;
    double value;
};

static void test_cell__numbers_with_and_without_thousands_marks(void **state)
{
    (void)state;
    static const struct number_case cases[] = {
        {"14920", '.', 14920.0},
        {" 14920\t", '.', 14920.0},
        {"14,920", '.', 14920.0},
        {"14.920", ',', 14920.0},
        {"14.920,5", ',', 14920.5},
        {"1,234,567.5", '.', 1234567.5},
        {"14 920", '.', 14920.0},
        {"14'920.5", '.', 14920.5},
        {"-14,920", '.', -14920.0},
        {"14\xE2\x80\x99"
         "920.5",
         '.', 14920.5},
        {"'14920", '.', 14920.0},
        {"650.2;;", '.', 650.2},
        {"650.2;1", '.', NAN},
        {"'", '.', NAN},
        {"14,92", '.', NAN},
        {"14,9200", '.', NAN},
        {",920", '.', NAN},
        {"1,23,456", '.', NAN},
        {"14.920.5", '.', NAN},
        {"", '.', NAN},
        {"   ", '.', NAN},
        {"12:00", '.', NAN},
        {"1e3", '.', 1000.0},
        {"6.000.000", ',', 6000000.},
        {"12rpm", '.', NAN},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct number_case *c = &cases[i];
        double value = NAN;
        const bool good =
            kw_cell_number(c->text, strlen(c->text), c->point, &value);
        check_true(c->text, good == !isnan(c->value));
        check_near(c->text, value, c->value, 1e-9);
    }
}

struct role_case {
    enum kw_role role;
    const char *text;
    double value;
};

static void test_cell__field_is_read_as_its_role_has_it(void **state)
{
    (void)state;
    static const struct role_case cases[] = {
        {KW_ROLE_RPM, "14920", 14920.0},
        {KW_ROLE_RPM, "14920 rpm", 14920.0},
        {KW_ROLE_EGT,
         "628.5\xC2\xB0"
         "C",
         628.5},
        {KW_ROLE_EGT, "628.5 x", NAN},
        {KW_ROLE_EGT, "7: Temp[C]", NAN},
        {KW_ROLE_EGT, "628.5 [C]", 628.5},
        {KW_ROLE_EGT, "C", NAN},
        {KW_ROLE_THROTTLE, "45%", 45.0},
        {KW_ROLE_SPEED, "80.5 km/h", 80.5},
        {KW_ROLE_TIME, "12.5 s", 12.5},
        {KW_ROLE_LAP, "Lap 3", 3.0},
        {KW_ROLE_LAP, "L12", 12.0},
        {KW_ROLE_LAP, "3/12", 3.0},
        {KW_ROLE_LAP, "out", NAN},
        {KW_ROLE_LAP, "-", NAN},
        {KW_ROLE_LAP_MARKER, "X", 1.0},
        {KW_ROLE_LAP_MARKER, "true", 1.0},
        {KW_ROLE_LAP_MARKER, "False", 0.0},
        {KW_ROLE_LAP_MARKER, "off", 0.0},
        {KW_ROLE_LAP_MARKER, "nein", 0.0},
        {KW_ROLE_LAP_MARKER, "", NAN},
        {KW_ROLE_LATITUDE, "51.5", 51.5},
        {KW_ROLE_LATITUDE, "51.5 N", 51.5},
        {KW_ROLE_LATITUDE, "S51.5", -51.5},
        {KW_ROLE_LATITUDE, "51\xC2\xB0 30' 36.0\" N", 51.51},
        {KW_ROLE_LONGITUDE,
         "3\xB0"
         "15.0'W",
         -3.25},
        {KW_ROLE_LATITUDE, "51 30 36", NAN},
        {KW_ROLE_LATITUDE, "N", NAN},
        {KW_ROLE_LATITUDE, "1 2 3 4 N", NAN},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct role_case *c = &cases[i];
        double value = NAN;
        const bool good =
            kw_cell_read(c->role, c->text, strlen(c->text), '.', &value);
        check_true(c->text, good == !isnan(c->value));
        if (good)
            check_near(c->text, value, c->value, 1e-9);
    }
}

static void test_cell__no_reading_is_told_from_a_bad_one(void **state)
{
    (void)state;
    static const char *const missing[] = {
        "", " ", "NaN", "n/a", "-", "---", "OPEN", "Inf", "-inf", "NULL", "?"};
    static const char *const bad[] = {"x",      "0x",     "1-2", "openX",
                                      "------", "sensor", "12,"};
    for (size_t i = 0; i < sizeof missing / sizeof missing[0]; i++)
        check_true(missing[i], kw_is_missing(missing[i], strlen(missing[i])));
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        check_true(bad[i], !kw_is_missing(bad[i], strlen(bad[i])));
}

static void test_cell__unit_behind_a_number_is_found(void **state)
{
    (void)state;
    assert_string_equal(kw_cell_unit("628 C"), "C");
    assert_string_equal(kw_cell_unit("80,5km/h"), "km/h");
    assert_string_equal(kw_cell_unit("628"), "");
    assert_string_equal(kw_cell_unit("C"), "");
    assert_string_equal(kw_cell_unit("7 up"), "");
    assert_string_equal(kw_cell_unit("51.5 S"), "");
    assert_string_equal(kw_cell_unit(""), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cell__numbers_with_and_without_thousands_marks),
        cmocka_unit_test(test_cell__field_is_read_as_its_role_has_it),
        cmocka_unit_test(test_cell__no_reading_is_told_from_a_bad_one),
        cmocka_unit_test(test_cell__unit_behind_a_number_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
