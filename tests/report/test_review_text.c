/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The answer on the screen: the verdict first, one screen, 80 columns. */
#include "support/check.h"

#include "core/text.h"
#include "kartwright/report.h"
#include "report/wrap.h"
#include "support/example_review.h"

#include <stdlib.h>
#include <string.h>

enum { ONE_SCREEN = 45 };

static void write_text(const struct kw_review *review,
                       const struct kw_text_options *options,
                       char **text)
{
    assert_int_equal(kw_review_to_text(review, NULL, options, text, NULL),
                     KW_OK);
}

static size_t place_of(const char *text, const char *words)
{
    const char *found = strstr(text, words);
    assert_non_null(found);
    return (size_t)(found - text);
}

/* Every line fits; gives the number of lines. */
static size_t check_width(char *text, size_t columns)
{
    size_t n = 0;
    char *rest = NULL;
    for (char *line = strtok_r(text, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        if (kw_display_width(line) > columns)
            fail_msg("%zu columns: '%s'", kw_display_width(line), line);
        n++;
    }
    return n;
}

static void test_review_text__verdict_comes_first(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    char *text = NULL;
    write_text(&review, NULL, &text);
    assert_memory_equal(text, "Nothing in this log forbids another run", 39);
    const size_t todo = place_of(text, "What to do");
    const size_t laps = place_of(text, "Laps and findings");
    assert_true(todo < laps);
    assert_true(laps < place_of(text, "The log"));
    free(text);
    kw_review_free(&review);
}

static void test_review_text__fits_80_columns_and_one_screen(void **state)
{
    (void)state;
    static const size_t columns[] = {40, 80, 132};
    for (size_t i = 0; i < 3; i++) {
        struct kw_review review;
        example_review(&review);
        make_hostile(&review);
        const struct kw_text_options options = {.columns = columns[i]};
        char *text = NULL;
        write_text(&review, &options, &text);
        const size_t lines = check_width(text, columns[i]);
        if (columns[i] == 80)
            assert_true(lines <= ONE_SCREEN);
        free(text);
        kw_review_free(&review);
    }
}

/* Hundreds of findings are told as one line with a count. */
static void test_review_text__many_findings_still_fit_one_screen(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    struct kw_event event = review.events.items[2];
    for (size_t i = 0; i < 300; i++) {
        event.kind = (enum kw_event_kind)(i % KW_N_EVENT_KINDS);
        event.lap = i % 14;
        event.evidence = NULL;
        assert_int_equal(kw_events_add(&review.events, &event, NULL), KW_OK);
    }
    char *text = NULL;
    write_text(&review, NULL, &text);
    assert_non_null(strstr(text, "30 times"));
    assert_non_null(strstr(text, "and 4 more: see the report"));
    assert_true(check_width(text, 80) <= ONE_SCREEN + 8);
    free(text);
    kw_review_free(&review);
}

/* The step that is not shown may be the one that finds the fault. */
static void test_review_text__every_step_of_the_first_point_is_told(
    void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    free(review.suggestions.items[0].check);
    review.suggestions.items[0].check =
        kw_text_duplicate("1. One. 2. Two. 3. Three. 4. Four. 5. Five.", NULL);
    char *text = NULL;
    write_text(&review, NULL, &text);
    assert_non_null(strstr(text, "   check   1. One.\n"));
    assert_non_null(strstr(text, "           5. Five.\n"));
    free(text);
    kw_review_free(&review);
}

/* What the engine must not run without is told with its steps and its caution;
 * of the rest it is said where these stand. */
static void test_review_text__all_that_must_come_first_is_told_in_full(
    void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    assert_true(review.suggestions.n >= 2);
    struct kw_suggestion *second = &review.suggestions.items[1];
    free(second->check);
    free(second->caution);
    second->check = kw_text_duplicate("1. Look at it. 2. Shake it.", NULL);
    second->caution = kw_text_duplicate("Mind the second hand.", NULL);
    for (int must = 0; must < 2; must++) {
        second->urgency = must ? KW_BEFORE_NEXT_RUN : KW_BEFORE_NEXT_RACE;
        char *text = NULL;
        write_text(&review, NULL, &text);
        assert_int_equal(strstr(text, "2. Shake it.") != NULL, must);
        assert_int_equal(strstr(text, "Mind the second hand.") != NULL, must);
        assert_int_equal(
            strstr(text, "Steps and cautions from point 2 on: see") != NULL,
            !must);
        free(text);
    }
    kw_review_free(&review);
}

static void test_review_text__no_control_reaches_the_terminal(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    make_hostile(&review);
    char *text = NULL;
    write_text(&review, NULL, &text);
    const size_t length = strlen(text);
    for (size_t i = 0, used = 1; i < length; i += used) {
        const uint32_t c = kw_utf8_next(text + i, length - i, &used);
        assert_true(c == '\n' || !kw_is_control(c));
    }
    free(text);
    kw_review_free(&review);
}

static void test_review_text__colour_only_when_asked(void **state)
{
    (void)state;
    struct kw_review review;
    example_review(&review);
    char *without = NULL;
    write_text(&review, NULL, &without);
    const struct kw_text_options options = {.colour = true};
    char *with = NULL;
    write_text(&review, &options, &with);
    assert_null(strchr(without, '\033'));
    assert_non_null(strchr(with, '\033'));
    free(without);
    free(with);
    kw_review_free(&review);
}

/* A healthy engine is told plainly to be so, and no more than the log knows. */
static void test_review_text__healthy_session_says_so(void **state)
{
    (void)state;
    struct kw_review review;
    bare_review(&review);
    char *text = NULL;
    write_text(&review, NULL, &text);
    assert_memory_equal(text, "Nothing in this log speaks against", 34);
    assert_null(strstr(text, "What to do"));
    assert_non_null(strstr(text, "no lean running, drop-out or other fault"));
    assert_non_null(strstr(text, "No laps"));
    assert_non_null(strstr(text, "What this log could not tell"));
    free(text);
    kw_review_free(&review);
}

/* A logger that was switched on in the paddock is no healthy engine. */
static void test_review_text__unknown_verdict_gives_no_all_clear(void **state)
{
    (void)state;
    struct kw_review review;
    bare_review(&review);
    review.verdict = KW_VERDICT_NOT_KNOWN;
    char *text = NULL;
    write_text(&review, NULL, &text);
    assert_null(strstr(text, "no lean running"));
    assert_non_null(strstr(text, "too little was there to show one"));
    free(text);
    kw_review_free(&review);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review_text__verdict_comes_first),
        cmocka_unit_test(test_review_text__fits_80_columns_and_one_screen),
        cmocka_unit_test(test_review_text__many_findings_still_fit_one_screen),
        cmocka_unit_test(
            test_review_text__every_step_of_the_first_point_is_told),
        cmocka_unit_test(
            test_review_text__all_that_must_come_first_is_told_in_full),
        cmocka_unit_test(test_review_text__no_control_reaches_the_terminal),
        cmocka_unit_test(test_review_text__colour_only_when_asked),
        cmocka_unit_test(test_review_text__healthy_session_says_so),
        cmocka_unit_test(test_review_text__unknown_verdict_gives_no_all_clear),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
