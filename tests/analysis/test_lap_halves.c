/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether laps are halves of laps, by the blocks that fit the pattern. */
#include "analysis/lap_halves.h"

#include "support/check.h"

#include <string.h>

enum { PIECES = 10, NODES = PIECES * KW_COURSE_BLOCKS };

/* A course of which only the fits are asked: each piece's blocks as "1" and
 * "0", the first for even pieces, the second for odd ones. */
static double chance_of(const char *even, const char *odd)
{
    bool fits[NODES];
    struct kw_lap_course course;
    memset(&course, 0, sizeof course);
    course.n = NODES;
    course.fits = fits;
    for (size_t node = 0; node < NODES; node++) {
        const char *piece = node / KW_COURSE_BLOCKS % 2 == 0 ? even : odd;
        fits[node] = piece[node % KW_COURSE_BLOCKS] == '1';
    }
    return kw_chance_of_turns(&course);
}

/* One of 252 ways for each kind, the best of twelve blocks. */
static void test_lap_halves__blocks_that_fit_by_turns_are_no_chance(
    void **state)
{
    (void)state;
    check_near("by turns", chance_of("111111011111", "100011101110"),
               12.0 / 252.0 * 12.0 / 252.0, 1e-9);
}

/* The driver who is wide in every second lap misses blocks of his own, and
 * gives none to the laps between. */
static void test_lap_halves__laps_that_miss_alone_are_laps(void **state)
{
    (void)state;
    check_near("all fit", chance_of("111111111111", "111111111111"), 1.0, 0.0);
    check_near("none fits", chance_of("000000000000", "000000000000"), 1.0,
               0.0);
    check_true("one kind misses",
               chance_of("111111111111", "110001110111") > 0.3);
}

/* Less than a piece of each kind tells nothing. */
static void test_lap_halves__too_few_pieces_are_chance(void **state)
{
    (void)state;
    bool fits[KW_COURSE_BLOCKS] = {true, false, true};
    struct kw_lap_course course;
    memset(&course, 0, sizeof course);
    course.fits = fits;
    check_near("no node", kw_chance_of_turns(&course), 1.0, 0.0);
    course.n = KW_COURSE_BLOCKS;
    check_near("one piece", kw_chance_of_turns(&course), 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_lap_halves__blocks_that_fit_by_turns_are_no_chance),
        cmocka_unit_test(test_lap_halves__laps_that_miss_alone_are_laps),
        cmocka_unit_test(test_lap_halves__too_few_pieces_are_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
