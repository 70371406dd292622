/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units. A limit of 660 C read as 660 F would never be passed. */
#include "support/check.h"

#include "core/units.h"

struct unit_case {
    const char *text;
    enum kw_quantity quantity;
    double value;
    double expected;
};

/* Exact by definition: the mile of 1609.344 m and the knot of 1852 m an hour
 * (SI brochure, 9th edition, and NIST SP 811 appendix B: from memory), g of
 * 9.80665 m/s2 (3rd CGPM 1901), 0 C = 273.15 K = 32 F. */
static const struct unit_case unit_cases[] = {
    {"km/h", KW_QUANTITY_SPEED, 36.0, 10.0},
    {"kph", KW_QUANTITY_SPEED, 36.0, 10.0},
    {"mph", KW_QUANTITY_SPEED, 100.0, 44.704},
    {"m/s", KW_QUANTITY_SPEED, 12.5, 12.5},
    {"knots", KW_QUANTITY_SPEED, 3600.0, 1852.0},
    {"kt", KW_QUANTITY_SPEED, 3600.0, 1852.0},
    {"c", KW_QUANTITY_TEMPERATURE, 628.4, 628.4},
    {"f", KW_QUANTITY_TEMPERATURE, 212.0, 100.0},
    {"degf", KW_QUANTITY_TEMPERATURE, 32.0, 0.0},
    {"k", KW_QUANTITY_TEMPERATURE, 273.15, 0.0},
    {"rpm", KW_QUANTITY_ENGINE_SPEED, 14920.0, 14920.0},
    {"1/min", KW_QUANTITY_ENGINE_SPEED, 14920.0, 14920.0},
    {"u/min", KW_QUANTITY_ENGINE_SPEED, 1.0, 1.0},
    {"tr/min", KW_QUANTITY_ENGINE_SPEED, 1.0, 1.0},
    {"giri/min", KW_QUANTITY_ENGINE_SPEED, 1.0, 1.0},
    {"min-1", KW_QUANTITY_ENGINE_SPEED, 1.0, 1.0},
    {"rpmx1000", KW_QUANTITY_ENGINE_SPEED, 14.92, 14920.0},
    {"10rpm", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"x10rpm", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"10xrpm", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"10*u/min", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"101/min", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"10/min", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"1/minx10", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"tr/min*10", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"min-1/10", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"/10", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"10x", KW_QUANTITY_ENGINE_SPEED, 1492.0, 14920.0},
    {"100/min", KW_QUANTITY_ENGINE_SPEED, 149.2, 14920.0},
    {"10^2rpm", KW_QUANTITY_ENGINE_SPEED, 149.2, 14920.0},
    {"1000/min", KW_QUANTITY_ENGINE_SPEED, 14.92, 14920.0},
    {"10^3/min", KW_QUANTITY_ENGINE_SPEED, 14.92, 14920.0},
    {"rpm/1000", KW_QUANTITY_ENGINE_SPEED, 14.92, 14920.0},
    {"1/10rpm", KW_QUANTITY_ENGINE_SPEED, 149200.0, 14920.0},
    {"01rpm", KW_QUANTITY_ENGINE_SPEED, 149200.0, 14920.0},
    {"rpmx01", KW_QUANTITY_ENGINE_SPEED, 149200.0, 14920.0},
    {"of", KW_QUANTITY_TEMPERATURE, 212.0, 100.0},
    {"degkelvin", KW_QUANTITY_TEMPERATURE, 273.15, 0.0},
    {"s", KW_QUANTITY_TIME, 1.5, 1.5},
    {"ms", KW_QUANTITY_TIME, 50.0, 0.05},
    {"us", KW_QUANTITY_TIME, 50.0, 0.00005},
    {"ns", KW_QUANTITY_TIME, 5e7, 0.05},
    {"min", KW_QUANTITY_TIME, 1.5, 90.0},
    {"h", KW_QUANTITY_TIME, 1.5, 5400.0},
    {"days", KW_QUANTITY_TIME, 0.5, 43200.0},
    {"1/100s", KW_QUANTITY_TIME, 150.0, 1.5},
    {"s/10", KW_QUANTITY_TIME, 15.0, 1.5},
    {"%", KW_QUANTITY_FRACTION, 50.0, 0.5},
    {"g", KW_QUANTITY_ACCELERATION, 2.0, 19.6133},
    {"m/s2", KW_QUANTITY_ACCELERATION, 9.81, 9.81},
    {"v", KW_QUANTITY_VOLTAGE, 12.6, 12.6},
    {"mv", KW_QUANTITY_VOLTAGE, 12600.0, 12.6},
    {"deg", KW_QUANTITY_ANGLE, 51.0, 51.0},
};

static void test_units__values_become_ours(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof unit_cases / sizeof unit_cases[0]; i++) {
        const struct unit_case *c = &unit_cases[i];
        const struct kw_unit *unit = kw_unit_find(c->quantity, c->text);
        check_true(c->text, unit != NULL);
        check_near(c->text, c->value * unit->factor + unit->offset, c->expected,
                   1e-9);
    }
}

/* "g" is an acceleration and no speed; "C" without a quantity is a unit. */
static void test_units__quantity_is_kept_apart(void **state)
{
    (void)state;
    assert_null(kw_unit_find(KW_QUANTITY_SPEED, "g"));
    assert_null(kw_unit_find(KW_QUANTITY_TEMPERATURE, "km/h"));
    assert_null(kw_unit_find(KW_QUANTITY_SPEED, ""));
    assert_null(kw_unit_find(KW_QUANTITY_SPEED, "km"));
    assert_non_null(kw_unit_find_any("c"));
    assert_non_null(kw_unit_find_any("bar"));
    assert_null(kw_unit_find_any("egt"));
    /* A factor beside a unit that may be another's, without a sign, or alone
     * where no words say engine speed. */
    assert_null(kw_unit_find_any("10g/min"));
    assert_null(kw_unit_find_any("rpm10"));
    assert_null(kw_unit_find_any("20rpm"));
    assert_null(kw_unit_find_any("rpm/01"));
    assert_null(kw_unit_find_any("/10"));
    assert_null(kw_unit_find_any("10"));
    assert_null(kw_unit_find_any(""));
    assert_int_equal(kw_unit_find_any("bar")->quantity, KW_QUANTITY_OTHER);
}

/* A factor is meant one way or the other. */
static void test_units__factor_is_turned_and_back(void **state)
{
    static const char *const names[] = {"rpm x 10", "rpm x 100", "rpm x 1000"};
    (void)state;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const struct kw_unit *unit = kw_unit_named(names[i]);
        const struct kw_unit *turned = kw_unit_turned(unit);
        check_true(names[i], turned != NULL);
        check_near(names[i], unit->factor * turned->factor, 1.0, 1e-12);
        check_true(names[i], kw_unit_turned(turned) == unit);
    }
    assert_null(kw_unit_turned(kw_unit_named("rpm")));
    assert_null(kw_unit_turned(kw_unit_named("rev/s")));
    assert_null(kw_unit_turned(kw_unit_named("0.1 C")));
}

static void test_units__name_finds_the_unit_again(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof unit_cases / sizeof unit_cases[0]; i++) {
        const struct unit_case *c = &unit_cases[i];
        const struct kw_unit *unit = kw_unit_find(c->quantity, c->text);
        assert_ptr_equal(kw_unit_named(unit->name), unit);
    }
    assert_null(kw_unit_named("furlongs"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_units__values_become_ours),
        cmocka_unit_test(test_units__quantity_is_kept_apart),
        cmocka_unit_test(test_units__factor_is_turned_and_back),
        cmocka_unit_test(test_units__name_finds_the_unit_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
