/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/hot_stretch.h"

#include "support/check.h"
#include "support/made_grid.h"

#include <math.h>
#include <stdlib.h>

/* Pulls differ by so much, and each second one of the later half is hot. */
static const double SCATTER_C = 12.0;

struct pulls {
    double hot_c;
    double half_s;
};

static struct made_moment moment_at(const void *what, double time_s)
{
    const struct pulls *pulls = what;
    const bool second = fmod(time_s, 2.0 * MADE_ROUND_S) >= MADE_ROUND_S;
    const double hot_c = second && time_s > pulls->half_s ? pulls->hot_c : 0.0;
    return (struct made_moment){
        .hot_c = hot_c + SCATTER_C * made_grid_scatter(time_s), .rise = 1.0};
}

/* How many stretches are found at one heat and one share of the price. */
static size_t count_found(double hot_c, double share)
{
    enum { CELLS = 4000 };
    const struct pulls pulls = {hot_c, 0.5 * CELLS * MADE_CELL_S};
    struct made_grid made;
    made_grid_new(CELLS, 1.0, moment_at, &pulls, &made);
    for (size_t i = 0; i < made.grid.n; i++)
        made.level_c[i] = made.grid.gas_c[i] - made.level_c[i];
    const struct kw_hot_options options = {&made.grid, made.level_c, 1.0, 2.0,
                                           share};
    struct kw_hot_stretches found;
    assert_int_equal(kw_find_hot_stretches(&options, &found, NULL), KW_OK);
    const size_t n = found.n;
    free(found.items);
    made_grid_free(&made);
    return n;
}

/* The least heat of which most of the hot pulls are told. */
static double least_told_c(double share)
{
    double hot_c = 10.0;
    while (hot_c < 200.0 && count_found(hot_c, share) < 10)
        hot_c += 1.0;
    return hot_c;
}

/* Where a change is known, hot stretches are likely before they are looked at;
 * what is no hotter than pulls differ is none all the same. */
static void test_hot_stretch__known_change_makes_heat_likely(void **state)
{
    (void)state;
    const double usual_c = least_told_c(1.0);
    const double known_c = least_told_c(0.8);
    assert_true(known_c < usual_c);
    assert_true(known_c > 2.0 * SCATTER_C);
    assert_int_equal(count_found(0.0, 0.8), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hot_stretch__known_change_makes_heat_likely),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
