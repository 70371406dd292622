/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notices of logs: each is told once, with the logs that it is of. */
#include "support/check.h"
#include "support/example_review.h"

#include "report/log_notices.h"
#include "report/screen.h"

#include <stdlib.h>
#include <string.h>

static void add(struct kw_notices *notices, size_t line, const char *text)
{
    assert_int_equal(kw_notices_add(notices, line, text, NULL), KW_OK);
}

/* A bare review of a log of that name, without notices. */
static void review_of(struct kw_review *review, const char *path)
{
    bare_review(review);
    kw_notices_free(&review->log.notices);
    kw_notices_free(&review->session.notices);
    free(review->log.path);
    review->log.path = strdup(path);
    assert_non_null(review->log.path);
}

static void check_list(const struct kw_notices *notices,
                       const char *const *expected,
                       size_t n)
{
    for (size_t i = 0; i < n && i < notices->n; i++)
        assert_string_equal(notices->items[i].text, expected[i]);
    assert_int_equal(notices->n, n);
}

static void test_log_notices__one_log_is_not_named(void **state)
{
    (void)state;
    static const char *const expected[] = {"no gnuplot", "line 811: row is bad",
                                           "the clock jumped", "two spikes"};
    struct kw_review review;
    struct kw_notices more = {0};
    struct kw_notices out = {0};
    review_of(&review, "folder/one.csv");
    add(&more, 0, "no gnuplot");
    add(&review.log.notices, 811, "row is bad");
    add(&review.log.notices, 0, "the clock jumped");
    add(&review.session.notices, 0, "two spikes");
    const struct kw_review *const reviews[] = {&review};
    assert_int_equal(kw_gather_notices(reviews, 1, &more, &out, NULL), KW_OK);
    check_list(&out, expected, 4);
    kw_notices_free(&more);
    kw_notices_free(&out);
    kw_review_free(&review);
}

static void test_log_notices__several_logs_say_it_once(void **state)
{
    (void)state;
    static const char *const expected[] = {
        "two.csv, line 3: row is bad", "one.csv, three.csv: column X left out",
        "three.csv, line 4: row is bad"};
    struct kw_review made[3];
    const struct kw_review *reviews[3];
    struct kw_notices out = {0};
    static const char *const paths[] = {"two.csv", "a/one.csv", "three.csv"};
    for (size_t i = 0; i < 3; i++) {
        review_of(&made[i], paths[i]);
        reviews[i] = &made[i];
    }
    /* The same words of another line are another notice. */
    add(&made[0].log.notices, 3, "row is bad");
    add(&made[1].log.notices, 0, "column X left out");
    add(&made[2].session.notices, 0, "column X left out");
    add(&made[2].log.notices, 4, "row is bad");
    assert_int_equal(kw_gather_notices(reviews, 3, NULL, &out, NULL), KW_OK);
    check_list(&out, expected, 3);
    kw_notices_free(&out);
    for (size_t i = 0; i < 3; i++)
        kw_review_free(&made[i]);
}

static void test_log_notices__a_long_list_is_cut_and_says_so(void **state)
{
    (void)state;
    struct kw_notices notices = {0};
    struct kw_text text = {0};
    const struct kw_screen screen = kw_screen_on(&text, NULL);
    kw_screen_notices(&screen, &notices, "see there");
    assert_int_equal(text.length, 0);
    for (int i = 0; i < 3; i++)
        add(&notices, 0, "short");
    kw_screen_notices(&screen, &notices, "see there");
    assert_string_equal(text.bytes, "- short\n- short\n- short\n");
    kw_text_free(&text);
    add(&notices, 0, "short");
    add(&notices, 0, "short");
    kw_screen_notices(&screen, &notices, "see there");
    assert_string_equal(text.bytes, "- short\n- short\n- short\n"
                                    "   and 2 more: see there\n");
    kw_text_free(&text);
    kw_notices_free(&notices);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_log_notices__one_log_is_not_named),
        cmocka_unit_test(test_log_notices__several_logs_say_it_once),
        cmocka_unit_test(test_log_notices__a_long_list_is_cut_and_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
