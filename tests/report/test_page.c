/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pieces that every page is made of. */
#include "support/check.h"

#include "report/page.h"

#include <string.h>

/* Test vectors of RFC 4648, section 10, and bytes with the top bit set. */
static void test_page__base64_follows_rfc_4648(void **state)
{
    (void)state;
    static const struct {
        const char *from;
        const char *expected;
    } rows[] = {{"", ""},
                {"f", "Zg=="},
                {"fo", "Zm8="},
                {"foo", "Zm9v"},
                {"foob", "Zm9vYg=="},
                {"fooba", "Zm9vYmE="},
                {"foobar", "Zm9vYmFy"},
                {"\xFF\xFE", "//4="}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct kw_text text = {0};
        kw_page_add_base64(&text, rows[i].from, strlen(rows[i].from));
        kw_text_add(&text, "");
        assert_string_equal(text.bytes, rows[i].expected);
        kw_text_free(&text);
    }
}

static void test_page__element_closes_its_tag_and_escapes_its_text(void **state)
{
    (void)state;
    struct kw_text text = {0};
    kw_page_element(&text, "p class=\"care\"", "a < b & c");
    kw_page_element(&text, "td", NULL);
    assert_string_equal(text.bytes,
                        "<p class=\"care\">a &lt; b &amp; c</p>\n<td></td>\n");
    kw_text_free(&text);
}

/* Who reads the page must learn that a picture is missing. */
static void test_page__missing_picture_is_said_and_not_linked(void **state)
{
    (void)state;
    struct kw_text text = {0};
    struct kw_plot plot = {.name = "heat", .heading = "Heat"};
    kw_text_add(&plot.explain, "Look here.");
    kw_text_add(&plot.alt, "A \"plot\".");
    kw_page_figure(&text, &plot, NULL);
    assert_non_null(strstr(text.bytes, "This plot is missing"));
    assert_null(strstr(text.bytes, "heat.svg"));
    assert_null(strstr(text.bytes, "heat.png"));
    assert_non_null(strstr(text.bytes, "heat.gp"));
    kw_text_free(&text);
    struct kw_text svg = {0};
    kw_text_add(&svg, "<svg/>");
    plot.has_png = true;
    kw_page_figure(&text, &plot, &svg);
    assert_non_null(strstr(text.bytes, "alt=\"A &quot;plot&quot;.\""));
    assert_non_null(strstr(text.bytes, "base64,PHN2Zy8+\""));
    assert_non_null(strstr(text.bytes, "heat.svg"));
    assert_non_null(strstr(text.bytes, "heat.png"));
    kw_text_free(&text);
    kw_text_free(&svg);
    kw_text_free(&plot.explain);
    kw_text_free(&plot.alt);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_page__base64_follows_rfc_4648),
        cmocka_unit_test(
            test_page__element_closes_its_tag_and_escapes_its_text),
        cmocka_unit_test(test_page__missing_picture_is_said_and_not_linked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
