/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The JSON writer, read back by an independent reader (jansson). */
#include "support/check.h"

#include "core/json.h"

#include <jansson.h>
#include <string.h>

static void write_sample(struct kw_text *text)
{
    struct kw_json json = {.out = text};
    kw_json_open(&json, NULL, KW_JSON_OBJECT);
    kw_json_string(&json, "text", "a\"b\\c\n");
    kw_json_string(&json, "nothing", NULL);
    kw_json_number(&json, "third", 1.0 / 3.0, 3);
    kw_json_number(&json, "missing", NAN, 3);
    kw_json_number(&json, "endless", INFINITY, 3);
    kw_json_number(&json, "huge", 1e300, 3);
    kw_json_number(&json, "zero", -0.0001, 3);
    kw_json_bool(&json, "yes", true);
    kw_json_open(&json, "empty", KW_JSON_LIST);
    kw_json_close(&json);
    kw_json_open(&json, "rows", KW_JSON_LIST);
    for (size_t i = 0; i < 2; i++) {
        kw_json_open(&json, NULL, KW_JSON_ROW);
        kw_json_count(&json, "i", i);
        kw_json_open(&json, "inner", KW_JSON_LIST);
        kw_json_null(&json, NULL);
        kw_json_close(&json);
        kw_json_close(&json);
    }
    kw_json_close(&json);
    kw_json_close(&json);
    assert_false(kw_text_failed(text));
}

static void test_json__another_reader_reads_it(void **state)
{
    (void)state;
    struct kw_text text = {0};
    json_error_t error;
    write_sample(&text);
    json_t *root = json_loads(text.bytes, 0, &error);
    if (root == NULL)
        fail_msg("line %d: %s in %s", error.line, error.text, text.bytes);
    assert_string_equal(json_string_value(json_object_get(root, "text")),
                        "a\"b\\c\xEF\xBF\xBD");
    assert_true(json_is_null(json_object_get(root, "nothing")));
    assert_true(json_is_null(json_object_get(root, "missing")));
    assert_true(json_is_null(json_object_get(root, "endless")));
    check_near("third", json_number_value(json_object_get(root, "third")),
               0.333, 1e-12);
    check_near("huge", json_number_value(json_object_get(root, "huge")), 1e300,
               1e288);
    assert_true(json_is_true(json_object_get(root, "yes")));
    assert_int_equal(json_array_size(json_object_get(root, "empty")), 0);
    assert_int_equal(json_array_size(json_object_get(root, "rows")), 2);
    json_decref(root);
    kw_text_free(&text);
}

/* A row is a line, so that two reviews can be compared line by line. */
static void test_json__row_stays_on_its_line(void **state)
{
    (void)state;
    struct kw_text text = {0};
    write_sample(&text);
    assert_non_null(
        strstr(text.bytes, "\n    {\"i\": 1, \"inner\": [null]}\n"));
    assert_non_null(strstr(text.bytes, "\"zero\": 0.000,"));
    kw_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json__another_reader_reads_it),
        cmocka_unit_test(test_json__row_stays_on_its_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
