/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps held against each other: the one that runs hot must be the one that
 * stands out, and a cold first lap must not. */
#include "support/check.h"

#include "core/array.h"
#include "report/lap_profile.h"
#include "support/example_review.h"

static size_t odd_number(const struct kw_review *review,
                         const struct kw_lap_profile *profile)
{
    return profile->odd < profile->n
               ? review->laps.items[profile->laps[profile->odd]].number
               : 0;
}

/* Lap 7 of the example runs lean. */
static void test_lap_profile__hot_lap_is_the_odd_one(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_lap_profile profile;
    example_review(&review);
    assert_int_equal(kw_profile_laps(&review, &profile, NULL), KW_OK);
    assert_int_equal(profile.n, 11);
    assert_int_equal(odd_number(&review, &profile), 7);
    kw_review_free(&review);
}

/* Without the lean stretch and the drop-out only warm-up is left: no lap is
 * odd. */
static void test_lap_profile__cold_first_laps_are_not_odd(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_lap_profile profile;
    example_review(&review);
    for (size_t i = 0; i < review.session.n_samples; i++) {
        if (review.session.time_s[i] > 300.0 &&
            review.session.time_s[i] < 320.0)
            review.session.egt_c[i] = NAN;
        if (review.session.rpm[i] < 1000.0)
            review.session.rpm[i] = NAN;
    }
    assert_int_equal(kw_profile_laps(&review, &profile, NULL), KW_OK);
    assert_int_not_equal(odd_number(&review, &profile), 2);
    kw_review_free(&review);
}

static void test_lap_profile__many_laps_keep_the_odd_one(void **state)
{
    (void)state;
    enum { MANY = 200, PER_LAP = 60, ODD_LAP = 137 };
    struct kw_review review = {0};
    const size_t n = (size_t)MANY * PER_LAP;
    review.session.n_samples = n;
    review.session.time_s = kw_array_new(n, sizeof(double), NULL);
    review.session.rpm = kw_array_new(n, sizeof(double), NULL);
    review.laps.place = kw_array_new(n, sizeof(double), NULL);
    review.laps.items = kw_array_new(MANY, sizeof(struct kw_lap), NULL);
    assert_true(review.session.time_s != NULL && review.session.rpm != NULL &&
                review.laps.place != NULL && review.laps.items != NULL);
    for (size_t i = 0; i < n; i++) {
        const size_t lap = i / PER_LAP;
        review.session.time_s[i] = (double)i;
        review.laps.place[i] = (double)(i % PER_LAP) / PER_LAP;
        review.session.rpm[i] =
            8000.0 + 5000.0 * sin(review.laps.place[i] * 6.28) +
            10.0 * (double)((lap * 7) % 5) + (lap == ODD_LAP ? 900.0 : 0.0);
    }
    for (size_t i = 0; i < MANY; i++)
        review.laps.items[review.laps.n++] =
            (struct kw_lap){.number = i + 1,
                            .kind = KW_LAP_FLYING,
                            .start_s = (double)(i * PER_LAP),
                            .end_s = (double)((i + 1) * PER_LAP)};
    struct kw_lap_profile profile;
    assert_int_equal(kw_profile_laps(&review, &profile, NULL), KW_OK);
    assert_int_equal(profile.n, KW_MOST_LAPS_SHOWN);
    assert_int_equal(odd_number(&review, &profile), ODD_LAP + 1);
    kw_review_free(&review);
}

static void test_lap_profile__no_laps_no_profile(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_lap_profile profile;
    bare_review(&review);
    assert_int_equal(kw_profile_laps(&review, &profile, NULL), KW_OK);
    assert_int_equal(profile.n, 0);
    kw_review_free(&review);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_profile__hot_lap_is_the_odd_one),
        cmocka_unit_test(test_lap_profile__cold_first_laps_are_not_odd),
        cmocka_unit_test(test_lap_profile__many_laps_keep_the_odd_one),
        cmocka_unit_test(test_lap_profile__no_laps_no_profile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
