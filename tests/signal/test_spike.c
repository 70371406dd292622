/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/spike.h"

#include "core/robust.h"
#include "support/check.h"

#include <stdlib.h>

enum { N = 400 };

/* The slow way, from the definition: every window's median. */
static bool is_spike_slowly(const double *values,
                            size_t n,
                            size_t at,
                            size_t half,
                            double limit)
{
    double scratch[N];
    const size_t from = at > half ? at - half : 0;
    const size_t to = at + half + 1 < n ? at + half + 1 : n;
    const double median = kw_median(values + from, to - from, scratch);
    return fabs(values[at] - median) > limit;
}

/* Only looking near jumps must find what looking everywhere finds. */
static void test_spike__agrees_with_the_median_of_every_window(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (size_t half = 1; half <= 9; half += 4) {
        double values[N];
        bool odd[N] = {false};
        for (size_t i = 0; i < N; i++) {
            seed = seed * 6364136223846793005U + 1442695040888963407U;
            values[i] = 600.0 + (double)(seed >> 40) / 16777216.0;
            if (seed % 31 == 3)
                values[i] += 80.0;
        }
        assert_int_equal(
            kw_mark_spikes(values, N, &(struct kw_spike_rule){half, 30.0, 30.0},
                           odd, NULL),
            KW_OK);
        size_t found = 0;
        for (size_t i = 0; i < N; i++) {
            check_true("spike",
                       odd[i] == is_spike_slowly(values, N, i, half, 30.0));
            found += odd[i] ? 1 : 0;
        }
        assert_true(found > 5);
    }
}

/* Outliers are found where they were put, and nowhere else. */
static void test_spike__added_outliers_are_found(void **state)
{
    (void)state;
    static const size_t put_at[] = {0, 1, 57, 200, 201, 398, 399};
    double values[N];
    bool odd[N] = {false};
    for (size_t i = 0; i < N; i++)
        values[i] = 0.5 * (double)i;
    for (size_t i = 0; i < sizeof put_at / sizeof put_at[0]; i++)
        values[put_at[i]] -= 300.0;
    assert_int_equal(kw_mark_spikes(values, N,
                                    &(struct kw_spike_rule){5, 50.0, 50.0}, odd,
                                    NULL),
                     KW_OK);
    for (size_t i = 0; i < N; i++)
        check_true("found", odd[i] == (values[i] < 0.5 * (double)i - 1.0));
}

/* What may fall at once but only climb slowly: each side has its own limit. */
static void test_spike__each_side_has_its_own_limit(void **state)
{
    (void)state;
    double values[N] = {0.0};
    bool odd[N] = {false};
    values[100] = 40.0;
    values[200] = -40.0;
    values[300] = -80.0;
    assert_int_equal(kw_mark_spikes(values, N,
                                    &(struct kw_spike_rule){3, 30.0, 60.0}, odd,
                                    NULL),
                     KW_OK);
    for (size_t i = 0; i < N; i++)
        check_true("side", odd[i] == (i == 100 || i == 300));
}

/* A change that stays is news, not noise. */
static void test_spike__step_is_left_alone(void **state)
{
    (void)state;
    double values[N];
    bool odd[N] = {false};
    for (size_t i = 0; i < N; i++)
        values[i] = i < N / 2 ? 0.0 : 9000.0;
    assert_int_equal(kw_mark_spikes(values, N,
                                    &(struct kw_spike_rule){6, 500.0, 500.0},
                                    odd, NULL),
                     KW_OK);
    for (size_t i = 0; i < N; i++)
        assert_false(odd[i]);
}

/* The shortest logs there are. */
static void test_spike__few_readings_do_no_harm(void **state)
{
    (void)state;
    const double values[] = {1.0, 500.0, 2.0};
    bool odd[3] = {false};
    for (size_t n = 0; n < 3; n++)
        assert_int_equal(kw_mark_spikes(values, n,
                                        &(struct kw_spike_rule){4, 10.0, 10.0},
                                        odd, NULL),
                         KW_OK);
    assert_false(odd[0] || odd[1]);
    assert_int_equal(kw_mark_spikes(values, 3,
                                    &(struct kw_spike_rule){4, 10.0, 10.0}, odd,
                                    NULL),
                     KW_OK);
    assert_true(odd[1]);
    double scratch[3];
    check_near("noise of none", kw_noise_sd(values, 2, scratch), NAN, 0.0);
    check_near("step of none", kw_resolution(values, 1, scratch), NAN, 0.0);
    check_near("update of none", kw_update_samples(values, 0, scratch), NAN,
               0.0);
}

/* A sum of twelve uniform numbers less 6: mean 0, variance 1. */
static double normal(uint64_t *seed)
{
    double sum = -6.0;
    for (int k = 0; k < 12; k++) {
        *seed = *seed * 6364136223846793005U + 1442695040888963407U;
        sum += (double)(*seed >> 40) / 16777216.0;
    }
    return sum;
}

/* A logger that adds its noise after it held the value writes no two readings
 * alike; the beat of the steps is still the sensor's. A sensor that is read in
 * every row shows none, however steep it climbs. */
static void test_spike__held_value_is_seen_under_noise(void **state)
{
    (void)state;
    enum { MANY = 6000, HELD = 10, SAW = 200 };
    static const size_t held_for[] = {HELD, 1};
    double *values = calloc(MANY, sizeof *values);
    double *scratch = calloc(MANY, sizeof *scratch);
    assert_non_null(values);
    assert_non_null(scratch);
    for (size_t k = 0; k < 2; k++) {
        uint64_t seed = 5;
        for (size_t i = 0; i < MANY; i++) {
            const size_t fresh = i - i % held_for[k];
            values[i] = 2.0 * (double)(fresh % SAW) + 0.3 * normal(&seed);
        }
        check_near("samples", kw_update_samples(values, MANY, scratch),
                   (double)held_for[k], 0.0);
    }
    free(values);
    free(scratch);
}

/* What the limits are made of. */
static void test_spike__noise_resolution_and_update_are_measured(void **state)
{
    (void)state;
    enum { MANY = 20000 };
    double *values = calloc(MANY, sizeof *values);
    double *scratch = calloc(MANY, sizeof *scratch);
    assert_non_null(values);
    assert_non_null(scratch);
    uint64_t seed = 5;
    for (size_t i = 0; i < MANY; i++)
        values[i] = 7.0 * (double)i + 3.0 * normal(&seed);
    check_near("noise on a climb", kw_noise_sd(values, MANY, scratch), 3.0,
               0.15);
    for (size_t i = 0; i < MANY; i++)
        values[i] = 50.0 * floor((double)i / 8.0);
    check_near("resolution", kw_resolution(values, MANY, scratch), 50.0, 1e-9);
    check_near("update", kw_update_samples(values, MANY, scratch), 8.0, 0.0);
    free(values);
    free(scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_spike__agrees_with_the_median_of_every_window),
        cmocka_unit_test(test_spike__added_outliers_are_found),
        cmocka_unit_test(test_spike__each_side_has_its_own_limit),
        cmocka_unit_test(test_spike__step_is_left_alone),
        cmocka_unit_test(test_spike__few_readings_do_no_harm),
        cmocka_unit_test(test_spike__held_value_is_seen_under_noise),
        cmocka_unit_test(test_spike__noise_resolution_and_update_are_measured),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
