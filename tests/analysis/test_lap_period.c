/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_period.h"

#include "core/array.h"
#include "support/check.h"
#include "support/scatter.h"

#include <stdlib.h>

/* Slow the obvious way, to check the fast one. */
static double likeness_at(const double *values, size_t n, size_t lag)
{
    double products = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i + lag < n; i++) {
        products += values[i] * values[i + lag];
        squares += values[i] * values[i] + values[i + lag] * values[i + lag];
    }
    return 2.0 * products / squares;
}

static void test_lap_period__likeness_is_what_its_formula_says(void **state)
{
    (void)state;
    enum { N = 300, LAGS = 200 };
    double values[N];
    double out[LAGS];
    for (size_t i = 0; i < N; i++)
        values[i] = sin(0.2 * (double)i) + 0.5 * scatter(i);
    assert_int_equal(kw_likeness(values, N, out, LAGS, NULL), KW_OK);
    for (size_t lag = 0; lag < LAGS; lag++)
        check_near("likeness", out[lag], likeness_at(values, N, lag), 1e-9);
}

/* Pace of a lap of 300 steps. `alike` 1: its two halves are the same. */
static double pace_at(size_t i, double alike)
{
    const double pi = 3.14159265358979323846;
    const double place = fmod((double)i / 300.0, 1.0);
    const double half = fmod(2.0 * place, 1.0);
    const double both = sin(2.0 * pi * half) + 0.6 * sin(6.0 * pi * half);
    const double whole = sin(2.0 * pi * place) + 0.6 * cos(10.0 * pi * place);
    return 0.75 + 0.1 * (alike * both + (1.0 - alike) * whole);
}

/* Traffic in the second half of every other lap. */
static double traffic_at(size_t i)
{
    return i / 300 % 2 == 1 && i % 300 > 150 ? scatter(i / 30) : 0.0;
}

/* A drive: how many laps, how like the halves of a lap are (see pace_at), the
 * noise, how much pace traffic takes or gives, at how many steps of the
 * third lap it walks, and how much slower each third lap is in its bends. */
struct drive {
    size_t laps;
    double alike;
    double noise;
    double traffic;
    size_t walks;
    double slow;
};

static bool walks_at(const struct drive *drive, size_t i)
{
    return i >= 640 && i < 640 + drive->walks;
}

/* A driver who lets off now and then, in each third lap. */
static double slow_at(const struct drive *drive, size_t i)
{
    return i / 300 % 3 == 1 && i / 15 % 4 == 0 ? -drive->slow : 0.0;
}

/* The period found in a drive; a step is 0.15 s of full pace. */
static double period_of(const struct drive *drive)
{
    struct kw_lap_grid grid = {
        .n = drive->laps * 300,
        .step = 0.15,
        .pace_usual = 0.75,
    };
    double period = 0.0;
    grid.pace = kw_array_new(grid.n, sizeof *grid.pace, NULL);
    assert_non_null(grid.pace);
    for (size_t i = 0; i < grid.n; i++)
        grid.pace[i] = walks_at(drive, i)
                           ? 0.02
                           : pace_at(i, drive->alike) + slow_at(drive, i) +
                                 drive->noise * scatter(i) +
                                 drive->traffic * traffic_at(i);
    assert_int_equal(kw_find_lap_period(&grid, &period, NULL), KW_OK);
    free(grid.pace);
    return period;
}

/* Half a lap taken for a lap doubles the count and halves the lap time; two
 * laps taken for one are as wrong. */
static void test_lap_period__is_one_lap_not_half_and_not_two(void **state)
{
    (void)state;
    const struct {
        const char *label;
        struct drive drive;
        double period;
    } cases[] = {
        {"plain", {8, 0.0, 0.0, 0.0, 0, 0.0}, 300.0},
        {"noisy", {8, 0.0, 0.08, 0.0, 0, 0.0}, 300.0},
        {"three laps", {3, 0.0, 0.02, 0.0, 0, 0.0}, 300.0},
        {"twenty laps", {20, 0.0, 0.05, 0.0, 0, 0.0}, 300.0},
        {"few laps, every other in traffic",
         {6, 0.0, 0.02, 0.2, 0, 0.0},
         300.0},
        {"like halves, not the same", {10, 0.75, 0.02, 0.0, 0, 0.0}, 300.0},
        {"very like halves", {14, 0.85, 0.02, 0.0, 0, 0.0}, 300.0},
        {"like halves in noise, many laps",
         {14, 0.85, 0.05, 0.0, 0, 0.0},
         300.0},
        {"the same halves: nobody can tell",
         {8, 1.0, 0.02, 0.0, 0, 0.0},
         150.0},
        {"a stop outweighs all laps", {8, 0.0, 0.02, 0.0, 100, 0.0}, 300.0},
        {"an odd part like itself by chance",
         {5, 0.5, 0.02, 0.2, 0, 0.0},
         300.0},
        {"and one with a stop", {7, 0.5, 0.02, 0.0, 150, 0.0}, 300.0},
        {"each third lap slow", {8, 0.0, 0.005, 0.0, 0, 0.07}, 300.0},
        {"of many noisy laps each third a little slow",
         {12, 0.0, 0.015, 0.0, 0, 0.04},
         300.0},
        {"a third with bends of its own", {8, 0.0, 0.005, 0.0, 0, 0.15}, 900.0},
        {"only noise", {8, 0.0, 5.0, 0.0, 0, 0.0}, NAN},
        {"one lap", {1, 0.0, 0.0, 0.0, 0, 0.0}, NAN},
        {"nothing", {0, 0.0, 0.0, 0.0, 0, 0.0}, NAN},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_near(cases[i].label, period_of(&cases[i].drive), cases[i].period,
                   2.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_period__likeness_is_what_its_formula_says),
        cmocka_unit_test(test_lap_period__is_one_lap_not_half_and_not_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
