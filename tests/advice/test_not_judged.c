/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "advice/advice.h"
#include "support/check.h"

#include <math.h>
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

/* "Nothing stands out" against a reference that was compared nowhere must not
 * sound like a jet that is right. */
static void test_not_judged__reference_that_is_none_is_told(void **state)
{
    (void)state;
    enum { N = 400 };
    static const struct {
        const char *label;
        double reference_rpm; /* the highest; it begins at half of it */
        bool reference_has_egt;
        const char *words; /* NULL: it was compared */
    } cases[] = {
        {"same kart", 13000.0, true, NULL},
        {"another track", 15000.0, true, NULL},
        {"four-stroke", 6000.0, true, "no RPM in common"},
        {"no EGT", 13000.0, false, "no exhaust temperature"},
    };
    double rpm[N];
    double egt_c[N];
    double load[N];
    double reference_rpm[N];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (size_t k = 0; k < N; k++) {
            const double share = 0.5 + 0.5 * (double)k / N;
            rpm[k] = 13000.0 * share;
            reference_rpm[k] = cases[i].reference_rpm * share;
            egt_c[k] = 600.0;
            load[k] = 1.0;
        }
        struct kw_session reference = {
            .n_samples = N,
            .rpm = reference_rpm,
            .egt_c = cases[i].reference_has_egt ? egt_c : NULL};
        const struct kw_review_options options = {.reference = &reference};
        struct kw_review review = {.session = {.rate_hz = 20.0,
                                               .n_samples = N,
                                               .rpm = rpm,
                                               .egt_c = egt_c},
                                   .load = load};
        bool told = false;
        bool all_day = false;
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        for (size_t k = 0; k < review.not_judged.n; k++) {
            const char *text = review.not_judged.items[k].text;
            told = told || (strstr(text, "against the reference") != NULL &&
                            cases[i].words != NULL &&
                            strstr(text, cases[i].words) != NULL);
            all_day = all_day || strstr(text, "wrong all the time") != NULL;
        }
        check_true(cases[i].label, told == (cases[i].words != NULL));
        check_true(cases[i].label, all_day == (cases[i].words != NULL));
        kw_notices_free(&review.not_judged);
    }
}

/* An idle that hangs all day, and a clutch that is slow at each start, show in
 * no change: somebody has to say how they are when all is well. */
static void test_not_judged__starts_without_a_profile_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double idle_rpm;
        double clutch_rpm;
        size_t n_starts;
        bool has_reference;
        bool told;
    } cases[] = {
        {"nothing stated", NAN, NAN, 1, false, true},
        {"no clutch stated", 2200.0, NAN, 1, false, true},
        {"no idle stated", NAN, 4300.0, 1, false, true},
        {"both stated", 2200.0, 4300.0, 1, false, false},
        {"a good day shows the idle", NAN, 4300.0, 1, true, false},
        {"no start", NAN, NAN, 0, false, false},
    };
    struct kw_event start = {.kind = KW_CLUTCH_ENGAGEMENT};
    const struct kw_session reference = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_profile profile = {.idle_rpm = cases[i].idle_rpm,
                                           .clutch_rpm = cases[i].clutch_rpm};
        const struct kw_review_options options = {
            .profile = &profile,
            .reference = cases[i].has_reference ? &reference : NULL};
        struct kw_review review = {
            .events = {.items = &start, .n = cases[i].n_starts}};
        bool told = false;
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        for (size_t k = 0; k < review.not_judged.n; k++)
            told = told || strstr(review.not_judged.items[k].text,
                                  "An idle or a clutch") != NULL;
        check_true(cases[i].label, told == cases[i].told);
        kw_notices_free(&review.not_judged);
    }
}

/* A speed that was made from positions is told to be too rough. */
static void test_not_judged__slip_by_positions_is_told(void **state)
{
    (void)state;
    static double speed_m_s[] = {10.0, 10.0};
    for (size_t k = 0; k < 2; k++) {
        const struct kw_review_options options = {0};
        struct kw_review review = {.session = {.rate_hz = 20.0,
                                               .n_samples = 2,
                                               .speed_m_s = speed_m_s,
                                               .speed_is_derived = k == 1}};
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        bool told = false;
        for (size_t i = 0; i < review.not_judged.n; i++)
            told = told || strstr(review.not_judged.items[i].text,
                                  "made from the position") != NULL;
        assert_int_equal(told, k == 1);
        kw_notices_free(&review.not_judged);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_not_judged__slow_logger_is_told_and_ten_is_not_slow),
        cmocka_unit_test(test_not_judged__reference_that_is_none_is_told),
        cmocka_unit_test(test_not_judged__starts_without_a_profile_are_told),
        cmocka_unit_test(test_not_judged__slip_by_positions_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
