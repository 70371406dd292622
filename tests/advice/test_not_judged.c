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

/* A probe that dies half way leaves laps that nobody watched, and a verdict
 * that does not speak of them. */
static void test_not_judged__dead_probe_leaves_laps_unwatched(void **state)
{
    (void)state;
    enum { N = 400 };
    static const struct {
        const char *label;
        size_t dead_from;
        size_t well_each; /* one reading in so many is usable; 0 for none */
        bool blank; /* no reading at all: a notice of the log's tells that */
        const char *words;
    } cases[] = {
        {"dies half way", 200, 0, false,
         "EGT could not be used for 20 s, from 20.0 s on."},
        {"comes and goes", 200, 2, false,
         "EGT could not be used for 10 s in all, the first at 20.1 s."},
        {"a few spikes", 395, 0, false, NULL},
        {"blank fields", 200, 0, true, NULL},
        {"sound", N, 0, false, NULL},
    };
    static const struct kw_review_options nothing_known = {0};
    double time_s[N];
    double raw_c[N];
    double egt_c[N];
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        for (size_t i = 0; i < N; i++) {
            const bool well =
                cases[c].well_each > 0 && i % cases[c].well_each == 0;
            const bool dead = i >= cases[c].dead_from && !well;
            time_s[i] = 0.1 * (double)i;
            raw_c[i] = dead && cases[c].blank ? NAN : dead ? 1370.0 : 600.0;
            egt_c[i] = dead ? NAN : 600.0;
        }
        struct kw_span run = {0, N};
        struct kw_review review = {.session = {.rate_hz = 10.0,
                                               .n_samples = N,
                                               .time_s = time_s,
                                               .egt_raw_c = raw_c,
                                               .egt_c = egt_c},
                                   .running = {.spans = {&run, 1, 1}}};
        bool told = false;
        assert_int_equal(
            kw_say_what_was_not_judged(&review, &nothing_known, NULL), KW_OK);
        for (size_t i = 0; i < review.not_judged.n; i++) {
            const char *text = review.not_judged.items[i].text;
            told = told || strstr(text, cases[c].words == NULL
                                            ? "could not be used for"
                                            : cases[c].words) != NULL;
        }
        check_true(cases[c].label, told == (cases[c].words != NULL));
        kw_notices_free(&review.not_judged);
    }
}

/* Whether one of the sentences has these words in it. */
static bool has_words(const struct kw_review *review, const char *words)
{
    bool said = false;
    for (size_t i = 0; i < review->not_judged.n; i++)
        said = said || strstr(review->not_judged.items[i].text, words) != NULL;
    return said;
}

/* "Nothing stands out" against a reference that was compared nowhere, that may
 * have been as lean, or that was much hotter must not sound like a jet that is
 * right. */
static void test_not_judged__what_a_reference_leaves_open_is_told(void **state)
{
    (void)state;
    static double egt_c[] = {600.0, 600.0};
    static const struct {
        const char *label;
        bool is_another;
        bool has_egt;
        bool is_unproven;
        double above_c;
        double limit_c;
        const char *words; /* NULL: it tells all */
    } cases[] = {
        {"a good one", false, true, false, 0.0, NAN, NULL},
        {"of another kart", true, true, false, NAN, NAN,
         "hardly any RPM in common"},
        {"no EGT", false, false, false, NAN, NAN, "no exhaust temperature"},
        {"from the book", false, true, true, 0.0, NAN, "in both sessions"},
        {"and a limit", false, true, true, 0.0, 650.0, NULL},
        {"hotter", false, true, false, 90.0, NAN, NULL},
        {"colder by weather", false, true, false, -30.0, NAN, NULL},
        {"colder", false, true, false, -90.4, NAN, "90 C colder"},
        {"and a limit", false, true, false, -90.4, 650.0, "90 C colder"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_session reference = {
            .n_samples = 2, .egt_c = cases[i].has_egt ? egt_c : NULL};
        const struct kw_profile profile = {.egt_limit_c = cases[i].limit_c};
        const struct kw_review_options options = {.profile = &profile,
                                                  .reference = &reference,
                                                  .reference_is_unproven =
                                                      cases[i].is_unproven};
        struct kw_review review = {
            .session = {.rate_hz = 20.0, .n_samples = 2, .egt_c = egt_c},
            .reference_is_of_another = cases[i].is_another,
            .above_reference_c = cases[i].above_c};
        const bool not_compared = cases[i].is_another || !cases[i].has_egt;
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        check_true(cases[i].label, cases[i].words != NULL
                                       ? has_words(&review, cases[i].words)
                                       : !has_words(&review, "reference") &&
                                             !has_words(&review, "ixture"));
        check_true(cases[i].label,
                   has_words(&review, "wrong all the time: only") ==
                       not_compared);
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
        bool is_unproven;
        bool told;
    } cases[] = {
        {"nothing stated", NAN, NAN, 1, false, false, true},
        {"no clutch stated", 2200.0, NAN, 1, false, false, true},
        {"no idle stated", NAN, 4300.0, 1, false, false, true},
        {"both stated", 2200.0, 4300.0, 1, false, false, false},
        {"a good day shows the idle", NAN, 4300.0, 1, true, false, false},
        {"that may have hung too", NAN, 4300.0, 1, true, true, true},
        {"no start", NAN, NAN, 0, false, false, false},
    };
    struct kw_event start = {.kind = KW_CLUTCH_ENGAGEMENT};
    const struct kw_session reference = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct kw_profile profile = {.idle_rpm = cases[i].idle_rpm,
                                           .clutch_rpm = cases[i].clutch_rpm};
        const struct kw_review_options options = {
            .profile = &profile,
            .reference = cases[i].has_reference ? &reference : NULL,
            .reference_is_unproven = cases[i].is_unproven};
        struct kw_review review = {
            .events = {.items = &start, .n = cases[i].n_starts}};
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        check_true(cases[i].label,
                   has_words(&review, "An idle or a clutch") == cases[i].told);
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

/* 900 C is another unit or an engine in danger: silence beside a green verdict
 * helps neither. Who stated a limit knows his probe, and spikes are none. */
static void test_not_judged__exhaust_hotter_than_usual_is_told(void **state)
{
    (void)state;
    enum { N = 1000 };
    static const struct {
        const char *label;
        double egt_c;
        double hot_share;
        double limit_c;
        bool told;
    } cases[] = {
        {"usual", 650.0, 1.0, NAN, false},
        {"hot", 860.0, 0.2, NAN, true},
        {"spikes", 1000.0, 0.02, NAN, false},
        {"with a limit", 860.0, 0.2, 900.0, false},
    };
    static double egt_c[N];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (size_t k = 0; k < N; k++)
            egt_c[k] =
                (double)k < cases[i].hot_share * N ? cases[i].egt_c : 600.0;
        const struct kw_profile profile = {.egt_limit_c = cases[i].limit_c};
        const struct kw_review_options options = {.profile = &profile};
        struct kw_review review = {
            .session = {.rate_hz = 20.0, .n_samples = N, .egt_c = egt_c}};
        assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                         KW_OK);
        check_true(cases[i].label,
                   has_words(&review, "often read over 800 C") ==
                       cases[i].told);
        kw_notices_free(&review.not_judged);
    }
}

/* Who logs the water must not take silence for a temperature that was watched;
 * one wild reading is not how hot it was. */
static void test_not_judged__sensors_that_nobody_looks_at_are_told(void **state)
{
    (void)state;
    enum { N = 1000 };
    static double water_c[N];
    static double battery_v[N];
    for (size_t i = 0; i < N; i++) {
        water_c[i] = i == 500 ? 900.0 : 20.0 + 0.1 * (double)i;
        battery_v[i] = 12.6;
    }
    const struct kw_review_options options = {0};
    struct kw_review review = {.session = {.rate_hz = 20.0,
                                           .n_samples = N,
                                           .water_c = water_c,
                                           .battery_v = battery_v}};
    assert_int_equal(kw_say_what_was_not_judged(&review, &options, NULL),
                     KW_OK);
    assert_true(has_words(&review, "Not judged: water up to 119 C, battery "
                                   "down to 12.6 V. Hold"));
    kw_notices_free(&review.not_judged);
    assert_false(says(20.0, "Not judged:"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_not_judged__dead_probe_leaves_laps_unwatched),
        cmocka_unit_test(
            test_not_judged__slow_logger_is_told_and_ten_is_not_slow),
        cmocka_unit_test(test_not_judged__what_a_reference_leaves_open_is_told),
        cmocka_unit_test(test_not_judged__starts_without_a_profile_are_told),
        cmocka_unit_test(test_not_judged__slip_by_positions_is_told),
        cmocka_unit_test(
            test_not_judged__sensors_that_nobody_looks_at_are_told),
        cmocka_unit_test(test_not_judged__exhaust_hotter_than_usual_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
