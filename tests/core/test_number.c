/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/number.h"
#include "support/check.h"

#include <locale.h>
#include <stdlib.h>
#include <string.h>

struct parse_case {
    const char *label;
    const char *text;
    char point;
    bool good;
    double value;
};

static const struct parse_case parse_cases[] = {
    {"whole", "14920", '.', true, 14920.0},
    {"decimal point", "628.45", '.', true, 628.45},
    {"decimal comma", "628,45", ',', true, 628.45},
    {"no whole part", ".5", '.', true, 0.5},
    {"no fraction", "5.", '.', true, 5.0},
    {"signs", "-0.125", '.', true, -0.125},
    {"plus", "+7", '.', true, 7.0},
    {"exponent", "1.5e3", '.', true, 1500.0},
    {"negative exponent", "15E-1", '.', true, 1.5},
    {"leading zeros", "000000000000000000001.5", '.', true, 1.5},
    {"20 digits", "0.12345678901234567890", '.', true, 0.12345678901234568},
    {"smallest", "4.9406564584124654e-324", '.', true, 4.9406564584124654e-324},
    {"largest", "1.7976931348623157e308", '.', true, 1.7976931348623157e308},
    {"overflow", "1e400", '.', false, 0},
    {"huge exponent", "1e99999999999", '.', false, 0},
    {"empty", "", '.', false, 0},
    {"sign alone", "-", '.', false, 0},
    {"point alone", ".", '.', false, 0},
    {"two points", "1.2.3", '.', false, 0},
    {"other mark", "1,5", '.', false, 0},
    {"word", "NaN", '.', false, 0},
    {"infinity", "inf", '.', false, 0},
    {"hex", "0x10", '.', false, 0},
    {"space", " 1", '.', false, 0},
    {"tail", "12rpm", '.', false, 0},
    {"exponent without digits", "1e", '.', false, 0},
};

/* A wrong digit in an EGT is a wrong verdict: each field is read exactly or not
 * at all. */
static void test_number__field_is_read_exactly_or_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof parse_cases / sizeof parse_cases[0]; i++) {
        const struct parse_case *c = &parse_cases[i];
        double value = -99.0;
        const bool good =
            kw_number_parse(c->text, strlen(c->text), c->point, &value);
        check_true(c->label, good == c->good);
        check_near(c->label, value, good ? c->value : -99.0, 0.0);
    }
}

/* The fast path must give what strtod gives, bit for bit. */
static void test_number__fast_path_agrees_with_strtod(void **state)
{
    (void)state;
    uint64_t seed = 20260614;
    for (int i = 0; i < 20000; i++) {
        char text[40];
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        snprintf(text, sizeof text, "%llu.%06llue%d",
                 (unsigned long long)(seed >> 44),
                 (unsigned long long)(seed >> 20) % 1000000ULL,
                 (int)(seed >> 8) % 30);
        double value = 0.0;
        assert_true(kw_number_parse(text, strlen(text), '.', &value));
        check_near(text, value, strtod(text, NULL), 0.0);
    }
}

struct print_case {
    double value;
    int decimals;
    const char *text;
};

static const struct print_case print_cases[] = {
    {628.449, 1, "628.4"},   {-0.04, 1, "0.0"},
    {-0.06, 1, "-0.1"},      {14920, 0, "14920"},
    {NAN, 2, "-"},           {INFINITY, 2, "-"},
    {1.0 / 3.0, 3, "0.333"}, {1e40, 0, "1.000000000000000e+40"},
};

static void test_number__printing_keeps_the_decimals_asked_for(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof print_cases / sizeof print_cases[0]; i++) {
        char buffer[KW_NUMBER_SIZE];
        assert_string_equal(kw_number_print(buffer, print_cases[i].value,
                                            print_cases[i].decimals),
                            print_cases[i].text);
    }
}

/* A host program may have set a locale with decimal commas: logs and reports
 * must not change. */
static void test_number__decimal_comma_locale_changes_nothing(void **state)
{
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "de_DE",
                                        "fr_FR.UTF-8", "es_ES.UTF-8"};
    bool set = false;
    for (size_t i = 0; i < sizeof names / sizeof names[0] && !set; i++)
        set = setlocale(LC_NUMERIC, names[i]) != NULL;
    if (!set)
        skip();
    char buffer[KW_NUMBER_SIZE];
    double value = 0.0;
    const bool slow =
        kw_number_parse("0.12345678901234567890", 22, '.', &value);
    const char *text = kw_number_print(buffer, 628.45, 2);
    setlocale(LC_NUMERIC, "C");
    assert_string_equal(text, "628.45");
    assert_true(slow);
    check_near("slow path", value, 0.12345678901234568, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_number__field_is_read_exactly_or_refused),
        cmocka_unit_test(test_number__fast_path_agrees_with_strtod),
        cmocka_unit_test(test_number__printing_keeps_the_decimals_asked_for),
        cmocka_unit_test(test_number__decimal_comma_locale_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
