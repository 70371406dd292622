/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Growable arrays: a size that overflows must never become a small block. */
#include "support/check.h"

#include "core/array.h"

#include <stdlib.h>

static void test_array__new_items_are_zero_and_never_null(void **state)
{
    (void)state;
    int *items = kw_array_new(3, sizeof *items, NULL);
    void *none = kw_array_new(0, 8, NULL);
    assert_non_null(items);
    assert_non_null(none);
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(items[i], 0);
    free(items);
    free(none);
}

static void test_array__nan_items_are_all_missing(void **state)
{
    (void)state;
    double *items = kw_array_new_nan(5, NULL);
    assert_non_null(items);
    for (size_t i = 0; i < 5; i++)
        assert_true(isnan(items[i]));
    free(items);
}

static void test_array__growth_keeps_what_was_there(void **state)
{
    (void)state;
    size_t *items = NULL;
    size_t capacity = 0;
    for (size_t n = 0; n < 1000; n++) {
        assert_int_equal(
            kw_array_reserve(&items, &capacity, n + 1, sizeof *items, NULL),
            KW_OK);
        assert_true(capacity > n);
        items[n] = n;
    }
    for (size_t n = 0; n < 1000; n++)
        assert_int_equal(items[n], n);
    free(items);
}

/* Growing one by one must not copy everything each time. */
static void test_array__growth_is_by_a_share(void **state)
{
    (void)state;
    char *items = NULL;
    size_t capacity = 0;
    size_t grown = 0;
    for (size_t n = 1; n <= 100000; n++) {
        const size_t before = capacity;
        assert_int_equal(kw_array_reserve(&items, &capacity, n, 1, NULL),
                         KW_OK);
        grown += capacity != before;
    }
    assert_true(grown < 40);
    free(items);
}

static void test_array__overflow_is_refused_and_nothing_changes(void **state)
{
    (void)state;
    double *items = NULL;
    size_t capacity = 0;
    struct kw_error error = {0};
    assert_int_equal(
        kw_array_reserve(&items, &capacity, 4, sizeof *items, NULL), KW_OK);
    double *const before = items;
    const size_t capacity_before = capacity;
    assert_int_equal(kw_array_reserve(&items, &capacity, SIZE_MAX / 4,
                                      sizeof *items, &error),
                     KW_NO_MEMORY);
    assert_int_equal(error.status, KW_NO_MEMORY);
    assert_string_equal(error.what, "out of memory");
    assert_ptr_equal(items, before);
    assert_int_equal(capacity, capacity_before);
    assert_null(kw_array_new(SIZE_MAX / 2, 8, &error));
    free(items);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_array__new_items_are_zero_and_never_null),
        cmocka_unit_test(test_array__nan_items_are_all_missing),
        cmocka_unit_test(test_array__growth_keeps_what_was_there),
        cmocka_unit_test(test_array__growth_is_by_a_share),
        cmocka_unit_test(test_array__overflow_is_refused_and_nothing_changes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
