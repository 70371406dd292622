/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Escaping: a heading in a downloaded log must never run a command, change a
 * page or move a cursor. */
#include "support/check.h"

#include "core/escape.h"

#include <string.h>

struct row {
    const char *label;
    const char *from;
    const char *expected;
};

typedef void escape(struct kw_text *text, const char *from);

static void check_rows(escape *run, const struct row *rows, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct kw_text text = {0};
        run(&text, rows[i].from);
        kw_text_add(&text, "");
        assert_false(kw_text_failed(&text));
        if (strcmp(text.bytes, rows[i].expected) != 0)
            fail_msg("%s: got '%s', expected '%s'", rows[i].label, text.bytes,
                     rows[i].expected);
        kw_text_free(&text);
    }
}

#define FFFD "\xEF\xBF\xBD"

/* A program that reads the JSON must get the heading, not our mistake. */
static void test_escape__json_follows_rfc_8259(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"plain", "Engine speed", "Engine speed"},
        {"quote", "a\"b", "a\\\"b"},
        {"backslash", "C:\\logs", "C:\\\\logs"},
        {"control is replaced", "a\x01z\n", "a" FFFD "z" FFFD},
        {"escape sequence", "\x1b[31m", FFFD "[31m"},
        {"byte that is no UTF-8",
         "40 \xB0"
         "C",
         "40 " FFFD "C"},
        {"accents stay", "Drehz\xC3\xA4hler", "Drehz\xC3\xA4hler"},
        {"turned writing", "\xE2\x80\xAEgpj", FFFD "gpj"},
        {"slash stays", "</script>", "</script>"},
        {"empty", "", ""}};
    check_rows(kw_escape_json, rows, sizeof rows / sizeof rows[0]);
}

/* A page opened from a stick must not run what a log says. */
static void test_escape__html_has_no_way_out_of_text_or_attribute(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"tags", "<b></b>", "&lt;b&gt;&lt;/b&gt;"},
        {"end of script", "</script>", "&lt;/script&gt;"},
        {"attribute, double", "\" onload=\"x", "&quot; onload=&quot;x"},
        {"attribute, single", "' onload='x", "&#39; onload=&#39;x"},
        {"entity", "&lt;", "&amp;lt;"},
        {"line feed", "a\nb", "a" FFFD "b"}};
    check_rows(kw_escape_html, rows, sizeof rows / sizeof rows[0]);
}

/* gnuplot runs what stands between backquotes in double quotes: our strings are
 * in single quotes, and there must be no way out of them. */
static void test_escape__gnuplot_cannot_leave_single_quotes(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"quote", "it's", "it''s"},
        {"end and command", "'; exit; '", "''; exit; ''"},
        {"backquotes mean nothing there", "`id`", "`id`"},
        {"line feed would end the string", "a\nb", "a" FFFD "b"},
        {"backslash before quote", "\\'", "\\''"}};
    check_rows(kw_escape_gnuplot, rows, sizeof rows / sizeof rows[0]);
}

static void test_escape__null_counts_as_empty(void **state)
{
    (void)state;
    static const struct row row = {"NULL", NULL, ""};
    check_rows(kw_escape_json, &row, 1);
    check_rows(kw_escape_html, &row, 1);
    check_rows(kw_escape_gnuplot, &row, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_escape__json_follows_rfc_8259),
        cmocka_unit_test(test_escape__html_has_no_way_out_of_text_or_attribute),
        cmocka_unit_test(test_escape__gnuplot_cannot_leave_single_quotes),
        cmocka_unit_test(test_escape__null_counts_as_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
