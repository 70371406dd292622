/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat_place.h"

#include "analysis/heat_model.h"
#include "core/robust.h"
#include "support/check.h"

#include <math.h>

/* Pieces of a lap, as heat_place.c cuts it, and a cell in the middle of each.
 */
enum { PIECES = 96, LAPS = 9, CELLS = LAPS * PIECES };

/* The level of the other laps in a piece, the slow way. */
static double level_of_others(const double *gas_c, size_t lap, size_t piece)
{
    double others[LAPS];
    double scratch[LAPS];
    size_t n = 0;
    for (size_t other = 0; other < LAPS; other++) {
        const double left_c = gas_c[other * PIECES + piece];
        if (other != lap && !isnan(left_c))
            others[n++] = left_c;
    }
    const double level_c = kw_quantile(others, n, KW_HEAT_SHARE_BELOW, scratch);
    return n < 3 ? 0.0 : level_c * (double)n / (double)(n + 1);
}

/* A lap that is held against itself hides its own heat. Readings repeat, and
 * most of the later pieces are known on a few laps only. */
static void test_heat_place__level_is_that_of_the_other_laps(void **state)
{
    (void)state;
    double gas_c[CELLS];
    double place[CELLS];
    double teaches[CELLS];
    double level_c[CELLS];
    size_t lap[CELLS];
    uint64_t seed = 3;
    for (size_t i = 0; i < CELLS; i++) {
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        const size_t piece = i % PIECES;
        const bool is_known = (seed >> 33) % PIECES > piece || piece < 20;
        gas_c[i] = is_known ? (double)((seed >> 50) % 20) : NAN;
        place[i] = ((double)piece + 0.5) / PIECES;
        lap[i] = i / PIECES;
        teaches[i] = 1.0;
        level_c[i] = 0.0;
    }
    const struct kw_heat_grid grid = {.n = CELLS,
                                      .lap = lap,
                                      .gas_c = gas_c,
                                      .place = place,
                                      .teaches = teaches};
    assert_int_equal(kw_heat_add_place(&grid, LAPS, level_c, NULL), KW_OK);
    for (size_t i = 0; i < CELLS; i++)
        check_near("level", level_c[i],
                   level_of_others(gas_c, i / PIECES, i % PIECES), 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_place__level_is_that_of_the_other_laps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
