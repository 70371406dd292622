/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "advice/advice.h"
#include "support/check.h"

#include <string.h>

static bool says(double rate_hz, const char *words)
{
    static const struct kw_review_options nothing_known = {0};
    struct kw_review review = {.session.rate_hz = rate_hz};
    bool said = false;
    assert_int_equal(kw_say_what_was_not_judged(&review, &nothing_known, NULL),
                     KW_OK);
    for (size_t i = 0; i < review.not_judged.n; i++)
        said = said || strstr(review.not_judged.items[i].text, words) != NULL;
    kw_notices_free(&review.not_judged);
    return said;
}

/* A racer whose logger is set to 10 must not be told to set it to 10: a clock
 * in thousandths gives 9.9999. */
static void test_not_judged__slow_logger_is_told_and_ten_is_not_slow(
    void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double rate_hz;
        bool is_slow;
    } cases[] = {
        {"rounded", 9.99999, false}, {"jitter", 9.8, false},
        {"20 Hz", 20.0, false},      {"5 Hz", 5.0, true},
        {"8 Hz", 8.0, true},         {"1 Hz", 1.0, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_true(cases[i].label,
                   says(cases[i].rate_hz, "fewer than 10") == cases[i].is_slow);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_not_judged__slow_logger_is_told_and_ten_is_not_slow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
