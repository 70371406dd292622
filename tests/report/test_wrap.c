/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Wrapping: what does not fit the screen of an old laptop is not read. */
#include "support/check.h"

#include "report/wrap.h"

#include <string.h>

static void test_wrap__lines_break_between_words(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        const char *from;
        struct kw_wrap wrap;
        const char *expected;
        size_t lines;
    } rows[] = {
        {"fits", "one two", {10, 0, 0, 0}, "one two\n", 1},
        {"to the last column", "one two", {7, 0, 0, 0}, "one two\n", 1},
        {"breaks", "one two three", {8, 0, 2, 0}, "one two\n  three\n", 2},
        {"first line is begun", "one two", {8, 4, 4, 0}, "one\n    two\n", 2},
        {"long word is broken", "abcdefgh", {4, 0, 0, 0}, "abcd\nefgh\n", 2},
        {"accents take one column",
         "\xC3\xA4\xC3\xB6 \xC3\xBC",
         {4, 0, 0, 0},
         "\xC3\xA4\xC3\xB6 \xC3\xBC\n",
         1},
        {"wide ones take two",
         "\xE4\xB8\xAD\xE6\x96\x87",
         {2, 0, 0, 0},
         "\xE4\xB8\xAD\n\xE6\x96\x87\n",
         2},
        {"line feed cannot forge a line",
         "a\nb",
         {10, 0, 1, 0},
         "a\xEF\xBF\xBD"
         "b\n",
         1},
        {"cut and said so", "aaa bbb ccc ddd", {8, 0, 0, 1}, "aaa ...\n", 1},
        {"cut at the second line",
         "aaaa bbbb cccc dddd eeee",
         {10, 0, 0, 2},
         "aaaa bbbb\ncccc ...\n",
         2},
        {"empty", "", {10, 0, 0, 0}, "\n", 1},
        {"controls are shown",
         "a\x1b[0m",
         {20, 0, 0, 0},
         "a\xEF\xBF\xBD[0m\n",
         1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        const size_t lines = kw_wrap_add(&text, rows[i].from, &rows[i].wrap);
        assert_false(kw_text_failed(&text));
        if (strcmp(text.bytes, rows[i].expected) != 0)
            fail_msg("%s: got '%s'", rows[i].label, text.bytes);
        if (lines != rows[i].lines)
            fail_msg("%s: %zu lines", rows[i].label, lines);
        kw_text_free(&text);
    }
}

static void test_wrap__width_counts_columns_not_bytes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t width;
    } rows[] = {{"", 0},          {"abc", 3},          {"\xC3\xA9", 1},
                {"e\xCC\x81", 1}, {"\xE4\xB8\xAD", 2}, {"\xF0\x9F\x98\x80", 2},
                {"\xFF", 1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(kw_display_width(rows[i].text), rows[i].width);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wrap__lines_break_between_words),
        cmocka_unit_test(test_wrap__width_counts_columns_not_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
