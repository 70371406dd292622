/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Wrapping: what does not fit the screen of an old laptop is not read. */
#include "support/check.h"

#include "report/wrap.h"

#include <string.h>

struct wrap_case {
    const char *label;
    const char *from;
    struct kw_wrap wrap;
    const char *expected;
    size_t lines;
};

static void check_wrap(const struct wrap_case *c)
{
    struct kw_text text = {0};
    const size_t lines = kw_wrap_add(&text, c->from, &c->wrap);
    assert_false(kw_text_failed(&text));
    if (strcmp(text.bytes, c->expected) != 0)
        fail_msg("%s: got '%s'", c->label, text.bytes);
    if (lines != c->lines)
        fail_msg("%s: %zu lines", c->label, lines);
    kw_text_free(&text);
}

static void test_wrap__lines_break_between_words(void **state)
{
    (void)state;
    static const struct wrap_case rows[] = {
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
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check_wrap(&rows[i]);
}

/* 136 at the end of a line and C on the next read as two things, and a command
 * in two pieces cannot be copied. */
static void test_wrap__what_belongs_together_is_not_parted(void **state)
{
    (void)state;
    static const struct wrap_case rows[] = {
        {"number and unit stay together",
         "at least 136 C, for 1.5 h",
         {13, 0, 0, 0},
         "at least\n136 C, for\n1.5 h\n",
         3},
        {"a number and a word do not",
         "laps 7 and 8",
         {7, 0, 0, 0},
         "laps 7\nand 8\n",
         2},
        {"a name is no quantity", "lap7 C", {4, 0, 0, 0}, "lap7\nC\n", 2},
        {"too long for a line",
         "1234567 RPM",
         {8, 0, 0, 0},
         "1234567\nRPM\n",
         2},
        {"command stays whole",
         "say ('kartwright air'), then go",
         {19, 0, 0, 0},
         "say\n('kartwright air'),\nthen go\n",
         3},
        {"command longer than a line",
         "'kartwright air' x",
         {12, 0, 0, 0},
         "'kartwright\nair' x\n",
         2},
        {"command never closed",
         "'kartwright air",
         {12, 0, 0, 0},
         "'kartwright\nair\n",
         2}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check_wrap(&rows[i]);
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
        cmocka_unit_test(test_wrap__what_belongs_together_is_not_parted),
        cmocka_unit_test(test_wrap__width_counts_columns_not_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
