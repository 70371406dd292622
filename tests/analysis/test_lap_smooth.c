/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_smooth.h"

#include "support/check.h"

enum { N = 120 };

/* Fixed scatter in -1 .. 1, mean near 0: tests repeat. */
static double scatter(size_t i)
{
    return sin(12.9898 * (double)(i + 1)) * cos(78.233 * (double)(i + 3));
}

static void read_level(struct kw_reading *readings, double level)
{
    for (size_t i = 0; i < N; i++)
        readings[i] = (struct kw_reading){
            .value = level + 0.5 * scatter(i),
            .variance = 0.1,
        };
}

static void smooth(struct kw_reading *readings, size_t n)
{
    assert_int_equal(kw_smooth_readings(readings, n, NULL), KW_OK);
}

/* A track is as long on every lap: readings of a constant must not wander. */
static void test_lap_smooth__constant_stays_constant(void **state)
{
    (void)state;
    struct kw_reading readings[N];
    read_level(readings, 7.0);
    smooth(readings, N);
    for (size_t i = 0; i < N; i++) {
        check_near("level", readings[i].smooth, 7.0, 0.12);
        assert_true(readings[i].smooth_variance < 0.1);
    }
}

/* One corner taken another way must not move the lap. */
static void test_lap_smooth__one_wild_reading_moves_nothing(void **state)
{
    (void)state;
    struct kw_reading readings[N];
    read_level(readings, 7.0);
    readings[60].value = 47.0;
    smooth(readings, N);
    for (size_t i = 0; i < N; i++)
        check_near("level", readings[i].smooth, 7.0, 0.6);
}

/* Wheelspin adds way once: all later laps are longer, none of the earlier. */
static void test_lap_smooth__jump_is_found_and_kept_sharp(void **state)
{
    (void)state;
    struct kw_reading readings[N];
    read_level(readings, 7.0);
    for (size_t i = 70; i < N; i++)
        readings[i].value += 20.0;
    smooth(readings, N);
    check_near("before", readings[66].smooth, 7.0, 0.3);
    check_near("after", readings[73].smooth, 27.0, 0.3);
}

/* Readings that are missing lie between their neighbours. */
static void test_lap_smooth__missing_readings_are_bridged(void **state)
{
    (void)state;
    struct kw_reading readings[N];
    read_level(readings, 7.0);
    for (size_t i = 30; i < 50; i++)
        readings[i].value = NAN;
    smooth(readings, N);
    check_near("inside", readings[40].smooth, 7.0, 0.2);
    assert_true(readings[40].smooth_variance > 0.0);
}

static void test_lap_smooth__edges_give_no_crash(void **state)
{
    (void)state;
    struct kw_reading readings[N];
    read_level(readings, 7.0);
    smooth(readings, 0);
    smooth(readings, 1);
    check_near("one", readings[0].smooth, readings[0].value, 1e-6);
    smooth(readings, 2);
    for (size_t i = 0; i < N; i++)
        readings[i].value = NAN;
    smooth(readings, N);
    assert_true(isnan(readings[0].smooth));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_smooth__constant_stays_constant),
        cmocka_unit_test(test_lap_smooth__one_wild_reading_moves_nothing),
        cmocka_unit_test(test_lap_smooth__jump_is_found_and_kept_sharp),
        cmocka_unit_test(test_lap_smooth__missing_readings_are_bridged),
        cmocka_unit_test(test_lap_smooth__edges_give_no_crash),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
