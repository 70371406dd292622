/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The JSON of a review against the contract, read by an independent reader
 * (jansson): the logbook and other programs stand on it. */
#include "support/check.h"

#include "kartwright/report.h"
#include "support/example_review.h"

#include <jansson.h>
#include <stdlib.h>

static json_t *read_back(const struct kw_review *review,
                         const struct kw_notices *more)
{
    char *text = NULL;
    json_error_t error;
    assert_int_equal(kw_review_to_json(review, more, &text, NULL), KW_OK);
    json_t *root = json_loads(text, 0, &error);
    if (root == NULL)
        fail_msg("line %d: %s", error.line, error.text);
    free(text);
    return root;
}

/* What a field may be. */
enum shape { TEXT, NUMBER, NUMBER_OR_NULL, COUNT, COUNT_OR_NULL, LIST, OBJECT };

struct field {
    const char *name;
    enum shape shape;
};

static bool has_shape(const json_t *value, enum shape shape)
{
    switch (shape) {
    case TEXT:
        return json_is_string(value);
    case NUMBER:
        return json_is_number(value);
    case NUMBER_OR_NULL:
        return json_is_number(value) || json_is_null(value);
    case COUNT:
        return json_is_integer(value);
    case COUNT_OR_NULL:
        return json_is_integer(value) || json_is_null(value);
    case LIST:
        return json_is_array(value);
    case OBJECT:
        return json_is_object(value);
    }
    return false;
}

static void check_fields(const char *where,
                         const json_t *object,
                         const struct field *fields,
                         size_t n)
{
    if (!json_is_object(object))
        fail_msg("%s is no object", where);
    for (size_t i = 0; i < n; i++) {
        const json_t *value = json_object_get(object, fields[i].name);
        if (value == NULL)
            fail_msg("%s has no %s", where, fields[i].name);
        if (!has_shape(value, fields[i].shape))
            fail_msg("%s.%s has another shape", where, fields[i].name);
    }
}

#define CHECK_FIELDS(where, object, fields)                                    \
    check_fields(where, object, fields, sizeof fields / sizeof fields[0])

static json_t *first_of(json_t *root, const char *list)
{
    json_t *items = json_object_get(root, list);
    assert_true(json_is_array(items));
    assert_true(json_array_size(items) > 0);
    return json_array_get(items, 0);
}

static void test_review_json__top_and_source_are_as_promised(void **state)
{
    (void)state;
    static const struct field top[] = {{"format", TEXT},
                                       {"version", COUNT},
                                       {"source", OBJECT},
                                       {"running", OBJECT},
                                       {"laps", OBJECT},
                                       {"lean_episodes", LIST},
                                       {"clutch_engagements", LIST},
                                       {"dropouts", LIST},
                                       {"suggestions", LIST},
                                       {"findings", LIST},
                                       {"not_judged", LIST},
                                       {"verdict", TEXT}};
    static const struct field source[] = {{"path", TEXT},
                                          {"data_rows", COUNT},
                                          {"rows_used", COUNT},
                                          {"rows_rejected", COUNT},
                                          {"sample_rate_hz", NUMBER_OR_NULL},
                                          {"duration_s", NUMBER},
                                          {"channels", LIST},
                                          {"notices", LIST}};
    static const struct field channel[] = {
        {"role", TEXT}, {"column", TEXT}, {"unit", TEXT}, {"missing", COUNT}};
    static const struct field notice[] = {{"line", COUNT_OR_NULL},
                                          {"text", TEXT}};
    static const struct field running[] = {{"seconds", NUMBER},
                                           {"starts", COUNT}};
    struct kw_review review;
    example_review(&review);
    json_t *root = read_back(&review, NULL);
    json_t *from = json_object_get(root, "source");
    CHECK_FIELDS("top", root, top);
    CHECK_FIELDS("source", from, source);
    CHECK_FIELDS("channel", first_of(from, "channels"), channel);
    CHECK_FIELDS("notice", first_of(from, "notices"), notice);
    CHECK_FIELDS("running", json_object_get(root, "running"), running);
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "kartwright-review");
    assert_int_equal(json_integer_value(json_object_get(root, "version")), 1);
    assert_int_equal(json_integer_value(json_object_get(from, "data_rows")),
                     12002);
    assert_string_equal(
        json_string_value(json_object_get(
            json_array_get(json_object_get(from, "channels"), 1), "column")),
        "Drehzahl");
    json_decref(root);
    kw_review_free(&review);
}

static void test_review_json__laps_and_lean_are_as_promised(void **state)
{
    (void)state;
    static const struct field lap[] = {{"number", COUNT},
                                       {"kind", TEXT},
                                       {"start_s", NUMBER},
                                       {"end_s", NUMBER},
                                       {"time_s", NUMBER},
                                       {"rpm_max", NUMBER_OR_NULL},
                                       {"rpm_min", NUMBER_OR_NULL},
                                       {"egt_max_c", NUMBER_OR_NULL},
                                       {"egt_mean_c", NUMBER_OR_NULL}};
    static const struct field lean[] = {{"start_s", NUMBER},
                                        {"end_s", NUMBER},
                                        {"lap", COUNT_OR_NULL},
                                        {"peak_egt_c", NUMBER_OR_NULL},
                                        {"excess_c", NUMBER_OR_NULL},
                                        {"rpm_region", TEXT},
                                        {"basis", TEXT},
                                        {"severity", TEXT},
                                        {"confidence", NUMBER_OR_NULL},
                                        {"evidence", TEXT}};
    struct kw_review review;
    example_review(&review);
    json_t *root = read_back(&review, NULL);
    json_t *laps = json_object_get(root, "laps");
    assert_string_equal(json_string_value(json_object_get(laps, "method")),
                        "rpm");
    CHECK_FIELDS("lap", first_of(laps, "items"), lap);
    CHECK_FIELDS("lean", first_of(root, "lean_episodes"), lean);
    json_decref(root);
    kw_review_free(&review);
}

static void test_review_json__other_events_are_as_promised(void **state)
{
    (void)state;
    static const struct field engagement[] = {
        {"start_s", NUMBER},
        {"locked_s", NUMBER},
        {"duration_s", NUMBER},
        {"start_rpm", NUMBER_OR_NULL},
        {"hold_rpm", NUMBER_OR_NULL},
        {"slip_energy_kj", NUMBER_OR_NULL},
        {"method", TEXT}};
    static const struct field dropout[] = {
        {"start_s", NUMBER},    {"end_s", NUMBER},
        {"lap", COUNT_OR_NULL}, {"depth_rpm", NUMBER_OR_NULL},
        {"cause", TEXT},        {"confidence", NUMBER_OR_NULL},
        {"evidence", TEXT}};
    static const struct field finding[] = {
        {"kind", TEXT},     {"start_s", NUMBER},
        {"end_s", NUMBER},  {"lap", COUNT_OR_NULL},
        {"severity", TEXT}, {"confidence", NUMBER_OR_NULL},
        {"evidence", TEXT}};
    static const struct field suggestion[] = {
        {"rank", COUNT}, {"urgency", TEXT}, {"part", TEXT},
        {"why", TEXT},   {"check", TEXT},   {"caution", TEXT}};
    struct kw_review review;
    example_review(&review);
    json_t *root = read_back(&review, NULL);
    CHECK_FIELDS("clutch", first_of(root, "clutch_engagements"), engagement);
    CHECK_FIELDS("dropout", first_of(root, "dropouts"), dropout);
    CHECK_FIELDS("finding", first_of(root, "findings"), finding);
    CHECK_FIELDS("suggestion", first_of(root, "suggestions"), suggestion);
    assert_int_equal(json_array_size(json_object_get(root, "findings")), 1);
    assert_string_equal(
        json_string_value(json_object_get(first_of(root, "findings"), "kind")),
        "exhaust_leak");
    json_decref(root);
    kw_review_free(&review);
}

static double number_of(const json_t *object, const char *name)
{
    return json_number_value(json_object_get(object, name));
}

/* Whoever takes end from start must get the length that stands beside them. */
static void test_review_json__numbers_agree_with_each_other(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    review.events.items[0].start_s = 8.10049;
    review.events.items[0].end_s = 10.05051;
    json_t *root = read_back(&review, NULL);
    const json_t *clutch = first_of(root, "clutch_engagements");
    check_near("locked - start", number_of(clutch, "duration_s"),
               number_of(clutch, "locked_s") - number_of(clutch, "start_s"),
               1e-9);
    check_near("start", number_of(clutch, "start_s"), 8.100, 1e-9);
    assert_true(json_is_null(json_object_get(clutch, "slip_energy_kj")));
    const json_t *lean = first_of(root, "lean_episodes");
    check_near("excess", number_of(lean, "excess_c"), 38.0, 1e-9);
    check_near("peak", number_of(lean, "peak_egt_c"), 671.0, 1e-9);
    json_decref(root);
    kw_review_free(&review);
}

static void test_review_json__outside_the_laps_is_null(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    json_t *root = read_back(&review, NULL);
    assert_true(
        json_is_null(json_object_get(first_of(root, "findings"), "lap")));
    json_decref(root);
    kw_review_free(&review);
}

/* Missing plots are told to programs too. */
static void test_review_json__notices_come_from_log_session_and_report(
    void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_notices more = {0};
    example_review(&review);
    assert_int_equal(kw_notices_add(&more, 0, "plots are missing", NULL),
                     KW_OK);
    json_t *root = read_back(&review, &more);
    const json_t *list =
        json_object_get(json_object_get(root, "source"), "notices");
    assert_int_equal(json_array_size(list), 8);
    assert_int_equal(
        json_integer_value(json_object_get(json_array_get(list, 0), "line")),
        811);
    assert_true(json_is_null(json_object_get(json_array_get(list, 7), "line")));
    assert_string_equal(
        json_string_value(json_object_get(json_array_get(list, 7), "text")),
        "plots are missing");
    json_decref(root);
    kw_notices_free(&more);
    kw_review_free(&review);
}

static void test_review_json__bare_review_keeps_every_list(void **state)
{
    (void)state;
    static const char *const lists[] = {"lean_episodes", "clutch_engagements",
                                        "dropouts", "findings", "suggestions"};
    struct kw_review review;
    bare_review(&review);
    json_t *root = read_back(&review, NULL);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        assert_true(json_is_array(json_object_get(root, lists[i])));
        assert_int_equal(json_array_size(json_object_get(root, lists[i])), 0);
    }
    assert_string_equal(json_string_value(json_object_get(
                            json_object_get(root, "laps"), "method")),
                        "none");
    json_decref(root);
    kw_review_free(&review);
}

/* A script that looks for "nothing_stands_out" must not find it in a log of an
 * engine that only idled. */
static void test_review_json__verdict_not_known_is_null(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    review.verdict = KW_VERDICT_NOT_KNOWN;
    json_t *root = read_back(&review, NULL);
    assert_true(json_is_null(json_object_get(root, "verdict")));
    assert_true(json_is_string(json_object_get(root, "verdict_text")));
    json_decref(root);
    kw_review_free(&review);
}

static void test_review_json__hostile_heading_is_shown_replaced(void **state)
{
    (void)state;
    static const char expected[] =
        "\"; rm -rf ~ `id` $(id) </script><b> '%s "
        "\xEF\xBF\xBD\xEF\xBF\xBD[31m \xEF\xBF\xBD\xEF\xBF\xBD @";
    struct kw_review review;
    example_review(&review);
    make_hostile(&review);
    json_t *root = read_back(&review, NULL);
    const json_t *source = json_object_get(root, "source");
    assert_string_equal(json_string_value(json_object_get(source, "path")),
                        expected);
    assert_string_equal(
        json_string_value(json_object_get(
            json_array_get(json_object_get(source, "channels"), 0), "column")),
        expected);
    json_decref(root);
    kw_review_free(&review);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review_json__top_and_source_are_as_promised),
        cmocka_unit_test(test_review_json__laps_and_lean_are_as_promised),
        cmocka_unit_test(test_review_json__other_events_are_as_promised),
        cmocka_unit_test(test_review_json__numbers_agree_with_each_other),
        cmocka_unit_test(test_review_json__outside_the_laps_is_null),
        cmocka_unit_test(
            test_review_json__notices_come_from_log_session_and_report),
        cmocka_unit_test(test_review_json__bare_review_keeps_every_list),
        cmocka_unit_test(test_review_json__verdict_not_known_is_null),
        cmocka_unit_test(test_review_json__hostile_heading_is_shown_replaced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
