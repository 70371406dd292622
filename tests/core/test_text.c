/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from outside: headings and file names that may hold anything. */
#include "support/check.h"

#include "core/text.h"

#include <stdlib.h>
#include <string.h>

static void test_text__additions_follow_each_other(void **state)
{
    (void)state;
    struct kw_text text = {0};
    kw_text_add(&text, "peak ");
    kw_text_add_number(&text, 628.449, 1);
    kw_text_addf(&text, " C on lap %zu%c", (size_t)6, '.');
    kw_text_add_bytes(&text, "!?", 1);
    assert_false(kw_text_failed(&text));
    assert_string_equal(text.bytes, "peak 628.4 C on lap 6.!");
    assert_int_equal(text.length, strlen(text.bytes));
    kw_text_free(&text);
    kw_text_free(&text);
    assert_null(text.bytes);
}

static void test_text__taken_text_is_the_callers(void **state)
{
    (void)state;
    struct kw_text text = {0};
    char *empty = kw_text_take(&text, NULL);
    assert_string_equal(empty, "");
    kw_text_add(&text, "rpm");
    char *taken = kw_text_take(&text, NULL);
    assert_string_equal(taken, "rpm");
    assert_null(text.bytes);
    free(empty);
    free(taken);
}

/* After a failure nothing half-made is handed on. */
static void test_text__failure_lasts_and_is_told(void **state)
{
    (void)state;
    struct kw_text text = {0};
    struct kw_error error = {0};
    kw_text_add(&text, "a");
    kw_text_add_bytes(&text, "b", SIZE_MAX - 1);
    kw_text_add(&text, "c");
    assert_true(kw_text_failed(&text));
    assert_string_equal(text.bytes, "a");
    assert_null(kw_text_take(&text, &error));
    assert_int_equal(error.status, KW_NO_MEMORY);
}

struct copy_case {
    const char *from;
    size_t size;
    const char *to;
};

/* A heading that is cut must not end in half a degree sign. */
static void test_text__copy_is_cut_at_a_character(void **state)
{
    (void)state;
    static const struct copy_case cases[] = {
        {"EGT", 8, "EGT"},
        {"EGT", 4, "EGT"},
        {"EGT", 3, "EG"},
        {"EGT", 1, ""},
        {NULL, 8, ""},
        {"\xC2\xB0"
         "C",
         2, ""},
        {"\xC2\xB0"
         "C",
         3, "\xC2\xB0"},
        {"a\xE2\x84\x83", 4, "a"},
        {"a\xE2\x84\x83", 5, "a\xE2\x84\x83"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char buffer[16] = "unchanged";
        kw_text_copy(buffer, cases[i].size, cases[i].from);
        assert_string_equal(buffer, cases[i].to);
    }
    char untouched[] = "x";
    kw_text_copy(untouched, 0, "EGT");
    assert_string_equal(untouched, "x");
}

struct utf8_case {
    const char *label;
    const char *bytes;
    uint32_t code_point;
    size_t used;
};

/* Forms and limits from RFC 3629, sections 3 and 4. */
static void test_text__utf8_follows_rfc_3629(void **state)
{
    (void)state;
    static const struct utf8_case cases[] = {
        {"ascii", "A", 0x41, 1},
        {"last of one byte", "\x7F", 0x7F, 1},
        {"first of two", "\xC2\x80", 0x80, 2},
        {"last of two", "\xDF\xBF", 0x7FF, 2},
        {"first of three", "\xE0\xA0\x80", 0x800, 3},
        {"last before surrogates", "\xED\x9F\xBF", 0xD7FF, 3},
        {"last of three", "\xEF\xBF\xBF", 0xFFFF, 3},
        {"first of four", "\xF0\x90\x80\x80", 0x10000, 4},
        {"last of all", "\xF4\x8F\xBF\xBF", 0x10FFFF, 4},
        {"lone continuation", "\x80", 0xFFFD, 1},
        {"overlong slash", "\xC0\xAF", 0xFFFD, 1},
        {"overlong of three", "\xE0\x80\xAF", 0xFFFD, 1},
        {"overlong of four", "\xF0\x80\x80\xAF", 0xFFFD, 1},
        {"surrogate", "\xED\xA0\x80", 0xFFFD, 1},
        {"beyond the last", "\xF4\x90\x80\x80", 0xFFFD, 1},
        {"never a first byte", "\xFF", 0xFFFD, 1},
        {"cut short", "\xE2\x84", 0xFFFD, 1},
        {"Latin-1 degree",
         "\xB0"
         "C",
         0xFFFD, 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t used = 0;
        const uint32_t c =
            kw_utf8_next(cases[i].bytes, strlen(cases[i].bytes), &used);
        check_true(cases[i].label, c == cases[i].code_point);
        check_true(cases[i].label, used == cases[i].used);
        /* What was well formed is written as it was read. */
        char written[4];
        if (c != 0xFFFD) {
            check_true(cases[i].label, kw_utf8_put(c, written) == used);
            check_true(cases[i].label,
                       memcmp(written, cases[i].bytes, used) == 0);
        }
    }
}

/* A heading must not colour, clear or turn round the terminal. */
static void test_text__visible_text_has_no_controls(void **state)
{
    (void)state;
    struct kw_text text = {0};
    kw_text_add_visible(&text, "a\x1B[2Jb\xC2\x9B"
                               "c\xE2\x80\xAE"
                               "d\xFF\xC2\xB0\x7F");
    assert_string_equal(text.bytes, "a\xEF\xBF\xBD[2Jb\xEF\xBF\xBD"
                                    "c\xEF\xBF\xBD"
                                    "d\xEF\xBF\xBD\xC2\xB0\xEF\xBF\xBD");
    kw_text_free(&text);
}

static void test_text__same_ignores_ascii_case_only(void **state)
{
    (void)state;
    assert_true(kw_text_same("RPM", "rpm"));
    assert_true(kw_text_same("", ""));
    assert_false(kw_text_same("rpm", "rpm "));
    assert_false(kw_text_same("rp", "rpm"));
    assert_false(kw_text_same("[", "{"));
    assert_false(kw_text_same("\xC3\x84", "\xC3\xA4"));
}

/* Whatever the locale calls a letter. */
static void test_text__letters_are_those_of_ascii(void **state)
{
    (void)state;
    for (const char *c = "azAZmM"; *c != '\0'; c++)
        assert_true(kw_is_letter(*c));
    for (const char *c = "@[`{09 \xC3\xA4\xFF"; *c != '\0'; c++)
        assert_false(kw_is_letter(*c));
    assert_false(kw_is_letter('\0'));
    assert_int_equal(kw_lower('I'), 'i');
    assert_int_equal(kw_lower('['), '[');
}

static void test_text__word_is_among_a_list_whole_only(void **state)
{
    (void)state;
    assert_true(kw_text_is_among("spark plug", "Spark Plug"));
    assert_true(kw_text_is_among("reed|reed petals|reed valve", "reed petals"));
    assert_true(kw_text_is_among("a|b|c", "c"));
    assert_false(kw_text_is_among("reed petals|reed valve", "reed"));
    assert_false(kw_text_is_among("reed", "reed valve"));
    assert_false(kw_text_is_among("a|b", "a|b"));
    assert_false(kw_text_is_among("a|b", ""));
    assert_false(kw_text_is_among(NULL, "a"));
}

static void test_text__thousands_are_set_apart(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *expected;
    } rows[] = {{0, "0"},          {999, "999"},           {1000, "1,000"},
                {12000, "12,000"}, {1234567, "1,234,567"}, {-9800, "-9,800"},
                {NAN, "-"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_text_add_whole(&text, rows[i].value);
        assert_string_equal(text.bytes, rows[i].expected);
        kw_text_free(&text);
    }
}

static void test_text__duplicate_is_a_copy(void **state)
{
    (void)state;
    char *copy = kw_text_duplicate("EGT", NULL);
    char *none = kw_text_duplicate(NULL, NULL);
    assert_string_equal(copy, "EGT");
    assert_string_equal(none, "");
    free(copy);
    free(none);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text__additions_follow_each_other),
        cmocka_unit_test(test_text__taken_text_is_the_callers),
        cmocka_unit_test(test_text__failure_lasts_and_is_told),
        cmocka_unit_test(test_text__copy_is_cut_at_a_character),
        cmocka_unit_test(test_text__utf8_follows_rfc_3629),
        cmocka_unit_test(test_text__visible_text_has_no_controls),
        cmocka_unit_test(test_text__same_ignores_ascii_case_only),
        cmocka_unit_test(test_text__letters_are_those_of_ascii),
        cmocka_unit_test(test_text__word_is_among_a_list_whole_only),
        cmocka_unit_test(test_text__thousands_are_set_apart),
        cmocka_unit_test(test_text__duplicate_is_a_copy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
