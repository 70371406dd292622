/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one line that a person reads when nothing else is printed. */
#include "core/fail.h"
#include "support/check.h"

#include <string.h>

static const struct kw_refusal refusal = {KW_BAD_INPUT, "session.csv", 811,
                                          "export it again"};

static void test_error__text_is_told_with_its_place(void **state)
{
    (void)state;
    struct kw_error error = {0};
    struct kw_text what = {0};
    kw_text_addf(&what, "time goes back in %d rows", 3);
    assert_int_equal(kw_fail_text(&error, &refusal, &what), KW_BAD_INPUT);
    assert_int_equal(error.status, KW_BAD_INPUT);
    assert_string_equal(error.file, "session.csv");
    assert_int_equal(error.line, 811);
    assert_string_equal(error.what, "time goes back in 3 rows");
    assert_string_equal(error.todo, "export it again");
    assert_null(what.bytes);
}

/* Half a message sends the reader after the wrong thing. */
static void test_error__text_that_ran_out_of_memory_is_not_told(void **state)
{
    (void)state;
    struct kw_error error = {0};
    struct kw_text what = {0};
    kw_text_add(&what, "time goes ba");
    what.failed = true;
    assert_int_equal(kw_fail_text(&error, &refusal, &what), KW_NO_MEMORY);
    assert_int_equal(error.status, KW_NO_MEMORY);
    assert_null(strstr(error.what, "time goes"));
    assert_string_equal(error.file, "");
    assert_null(what.bytes);
}

/* Who does not ask for the words still gets the status. */
static void test_error__text_needs_no_error_to_fill(void **state)
{
    (void)state;
    struct kw_text what = {0};
    kw_text_add(&what, "no such role");
    assert_int_equal(kw_fail_text(NULL, &refusal, &what), KW_BAD_INPUT);
    assert_null(what.bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_error__text_is_told_with_its_place),
        cmocka_unit_test(test_error__text_that_ran_out_of_memory_is_not_told),
        cmocka_unit_test(test_error__text_needs_no_error_to_fill),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
