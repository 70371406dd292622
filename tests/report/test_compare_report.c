/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison as JSON, as text and as a folder: the contract, the terminal's
 * width, and nothing untrusted let through. */
#include "support/check.h"

#include "kartwright/report.h"
#include "report/compare_page.h"
#include "report/compare_plots.h"
#include "report/compare_words.h"
#include "report/wrap.h"
#include "support/example_review.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

/* One made-up review on both sides, compared. */
struct made {
    struct kw_review review;
    struct kw_compare_sessions sessions;
    struct kw_comparison comparison;
    struct kw_comparison_source source;
};

static void make(struct made *made, bool hostile)
{
    example_review(&made->review);
    if (hostile)
        make_hostile(&made->review);
    made->sessions = (struct kw_compare_sessions){&made->review, 1, NULL};
    assert_int_equal(kw_compare(&made->sessions, &made->sessions, NULL,
                                &made->comparison, NULL),
                     KW_OK);
    made->source = (struct kw_comparison_source){
        &made->comparison, {&made->sessions, &made->sessions}, NULL};
}

static void made_free(struct made *made)
{
    kw_comparison_free(&made->comparison);
    kw_review_free(&made->review);
}

/* The JSON of a comparison, read back by another library. */
static json_t *json_of(const struct made *made)
{
    char *text = NULL;
    json_error_t where;
    assert_int_equal(kw_comparison_to_json(&made->source, &text, NULL), KW_OK);
    json_t *root = json_loads(text, 0, &where);
    if (root == NULL)
        fail_msg("line %d: %s", where.line, where.text);
    free(text);
    return root;
}

/* Another program reads these names and no others: a renamed one is a broken
 * promise. */
static void test_compare_json__keeps_the_contract(void **state)
{
    static const char *const sides[] = {"before", "after"};
    static const char *const of_side[] = {"logs", "laps_used", "laps_left_out",
                                          "air_density_kg_m3"};
    static const char *const of_measure[] = {
        "name",     "rpm_from",  "rpm_to",     "before",  "after",     "p",
        "ci95_low", "ci95_high", "difference", "verdict", "p_adjusted"};
    struct made made;
    (void)state;
    make(&made, false);
    json_t *root = json_of(&made);
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "kartwright-compare");
    assert_int_equal(json_integer_value(json_object_get(root, "version")), 1);
    assert_true(json_is_string(json_object_get(root, "summary")));
    for (size_t i = 0; i < 2; i++) {
        json_t *side = json_object_get(root, sides[i]);
        for (size_t k = 0; k < sizeof of_side / sizeof of_side[0]; k++)
            check_true(of_side[k], json_object_get(side, of_side[k]) != NULL);
        assert_int_equal(json_array_size(json_object_get(side, "logs")), 1);
        assert_true(json_is_null(json_object_get(side, "air_density_kg_m3")));
    }
    json_t *measures = json_object_get(root, "measures");
    assert_true(json_array_size(measures) > 3);
    for (size_t i = 0; i < json_array_size(measures); i++) {
        json_t *measure = json_array_get(measures, i);
        for (size_t k = 0; k < sizeof of_measure / sizeof of_measure[0]; k++)
            check_true(of_measure[k],
                       json_object_get(measure, of_measure[k]) != NULL);
    }
    json_decref(root);
    made_free(&made);
}

/* A reader who subtracts gets the difference that is printed, and a session
 * against itself differs by nothing. */
static void test_compare_json__difference_is_after_minus_before(void **state)
{
    struct made made;
    (void)state;
    make(&made, false);
    json_t *root = json_of(&made);
    json_t *measures = json_object_get(root, "measures");
    for (size_t i = 0; i < json_array_size(measures); i++) {
        json_t *measure = json_array_get(measures, i);
        const double before =
            json_number_value(json_object_get(measure, "before"));
        const double after =
            json_number_value(json_object_get(measure, "after"));
        const char *name = json_string_value(json_object_get(measure, "name"));
        check_near(name,
                   json_number_value(json_object_get(measure, "difference")),
                   after - before, 1e-9);
        check_near(name, after, before, 1e-9);
        const char *verdict =
            json_string_value(json_object_get(measure, "verdict"));
        check_true(name, strcmp(verdict, "rose") != 0 &&
                             strcmp(verdict, "fell") != 0);
    }
    json_decref(root);
    made_free(&made);
}

/* Between two sessions nobody scrolls sideways; and a log's name may hold an
 * escape sequence. */
static void test_compare_text__fits_the_terminal(void **state)
{
    (void)state;
    for (int hostile = 0; hostile < 2; hostile++) {
        struct made made;
        char *text = NULL;
        make(&made, hostile == 1);
        assert_int_equal(kw_comparison_to_text(&made.source, NULL, &text, NULL),
                         KW_OK);
        assert_null(strchr(text, '\033'));
        for (char *line = text; *line != '\0';) {
            char *end = strchr(line, '\n');
            assert_non_null(end);
            *end = '\0';
            check_true(line, kw_display_width(line) <= 80);
            line = end + 1;
        }
        free(text);
        made_free(&made);
    }
}

/* A range that leaves out 0 beside "unclear" looks like a mistake. */
static void test_compare_text__a_range_without_0_is_maybe(void **state)
{
    struct made made;
    char *text = NULL;
    (void)state;
    make(&made, false);
    struct kw_measure *lap_time = NULL;
    for (size_t i = 0; i < made.comparison.measures.n; i++) {
        if (strcmp(made.comparison.measures.items[i].name, "lap_time_s") == 0)
            lap_time = &made.comparison.measures.items[i];
    }
    assert_non_null(lap_time);
    lap_time->low = 0.1;
    lap_time->high = 0.5;
    lap_time->verdict = KW_NO_CLEAR_CHANGE;
    assert_int_equal(kw_comparison_to_text(&made.source, NULL, &text, NULL),
                     KW_OK);
    const char *row = strstr(text, "\nlap time, s");
    assert_non_null(row);
    const char *maybe = strstr(row, "maybe\n");
    assert_non_null(maybe);
    check_true("in that row", maybe < strchr(row + 1, '\n'));
    free(text);
    made_free(&made);
}

/* "13317 rpm" in one line and "13,317 RPM" in the next look like two things. */
static void test_compare_text__rpm_is_written_as_everywhere(void **state)
{
    struct made made;
    char *text = NULL;
    (void)state;
    make(&made, false);
    assert_int_equal(kw_comparison_to_text(&made.source, NULL, &text, NULL),
                     KW_OK);
    const char *line = strstr(text, "highest of the lap, RPM");
    assert_non_null(line);
    const char *comma = strchr(line + strlen("highest of the lap, RPM"), ',');
    assert_true(comma != NULL && comma < strchr(line, '\n'));
    assert_null(strstr(text, " rpm"));
    free(text);
    made_free(&made);
}

/* Two comparisons, printed, must be told apart: page and plots name both
 * sides; of names that do not fit a plot the ends stay, without half a
 * character. */
static void test_compare_plots__name_both_sides(void **state)
{
    static const struct {
        const char *before;
        const char *after;
        const char *credit;
    } cases[] = {
        {"logs/sat.csv", "logs/sun.csv", "sat.csv, sun.csv"},
        {"2026-06-14-session-3.csv", "2026-06-14-session-4.csv",
         "..session-3.csv, ..session-4.csv"},
        {"\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9.csvx",
         "b.csv", "..\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9.csvx, b.csv"}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_review reviews[2] = {
            {.log = {.path = (char *)cases[i].before}},
            {.log = {.path = (char *)cases[i].after}}};
        const struct kw_compare_sessions sides[2] = {{&reviews[0], 1, NULL},
                                                     {&reviews[1], 1, NULL}};
        const struct kw_comparison_source source = {
            NULL, {&sides[0], &sides[1]}, NULL};
        char credit[KW_COMPARED_CREDIT];
        kw_compared_credit(&source, credit);
        assert_string_equal(credit, cases[i].credit);
    }
}

/* The page of a comparison of two sides. */
static void test_compare_page__names_both_sides_above_what_scrolls(void **state)
{
    struct made made;
    struct kw_text page = {0};
    struct kw_text names = {0};
    const struct kw_pictures no_pictures = {0};
    (void)state;
    make(&made, false);
    kw_add_compared_logs(&names, &made.source);
    assert_string_equal(names.bytes,
                        "invented practice.csv and invented practice.csv");
    assert_int_equal(kw_comparison_page_write(&made.source, &no_pictures,
                                              "Number 7", &page, NULL),
                     KW_OK);
    assert_non_null(strstr(page.bytes, names.bytes));
    /* A caption inside the box that scrolls is as wide as the table, and is
     * cut off on a phone. */
    assert_null(strstr(page.bytes, "<caption"));
    const char *words = strstr(page.bytes, "One value for each lap.");
    assert_non_null(words);
    assert_non_null(strstr(words, "<div class=\"wide\""));
    kw_text_free(&page);
    kw_text_free(&names);
    made_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_compare_plots__name_both_sides),
        cmocka_unit_test(
            test_compare_page__names_both_sides_above_what_scrolls),
        cmocka_unit_test(test_compare_json__keeps_the_contract),
        cmocka_unit_test(test_compare_json__difference_is_after_minus_before),
        cmocka_unit_test(test_compare_text__a_range_without_0_is_maybe),
        cmocka_unit_test(test_compare_text__rpm_is_written_as_everywhere),
        cmocka_unit_test(test_compare_text__fits_the_terminal)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
