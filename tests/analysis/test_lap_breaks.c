/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps of the course: those that a slow lap makes, and those that are true. */
#include "analysis/lap_breaks.h"

#include "core/array.h"
#include "support/check.h"

#include <stdlib.h>

enum { LAPS = 5, NODES = LAPS * KW_COURSE_BLOCKS };

/* Way of a lap, of full pace for a second. */
static const double LAP = 48.0;

/* Pace at a place of the lap: six bends, each slower than the last. */
static double pace_at(double turn)
{
    const double place = turn - floor(turn);
    const double in_bend = 6.0 * place - floor(6.0 * place);
    return 1.0 - (0.2 + 0.3 * place) * fmin(4.0 * in_bend, 1.0 - in_bend);
}

/* A drive of even laps, but that the last is slow everywhere, and how much of a
 * lap's way the log has too much before it (a visit of the pits). */
struct drive {
    double slow;
    double pit;
};

static struct kw_lap_grid grid_of(const struct drive *drive)
{
    struct kw_lap_grid grid = {.step = LAP / KW_COURSE_LAP, .pace_usual = 0.8};
    grid.n = (LAPS + 1) * KW_COURSE_LAP;
    grid.pace = kw_array_new(grid.n, sizeof *grid.pace, NULL);
    assert_non_null(grid.pace);
    for (size_t i = 0; i < grid.n; i++) {
        const double turn = ((double)i + 0.5) / KW_COURSE_LAP;
        const double slow = turn < LAPS - 1 ? 1.0 : drive->slow;
        grid.pace[i] = turn < LAPS - 1 ? pace_at(turn)
                       : turn < LAPS - 1 + drive->pit
                           ? 0.5
                           : pace_at(turn - drive->pit);
        /* Slow, and braked less for each bend. */
        grid.pace[i] = 0.7 * (1.0 - slow) + slow * grid.pace[i];
    }
    return grid;
}

/* A course that jumps by a part of a lap at one node and back at another. */
static void make_course(struct kw_lap_course *course,
                        double jump,
                        size_t from,
                        size_t to)
{
    assert_int_equal(kw_lap_course_new(LAP, 0.0, LAPS, course, NULL), KW_OK);
    assert_int_equal(course->n, NODES);
    for (size_t cell = 0; cell < KW_COURSE_LAP; cell++)
        course->pace[cell] = pace_at(((double)cell + 0.5) / KW_COURSE_LAP);
    for (size_t node = 0; node < NODES; node++)
        course->way[node] = LAP * (course->turn[node] +
                                   (node >= from && node < to ? jump : 0.0));
}

/* How far the course is from even laps at worst, as a part of a lap. */
static double worst(const struct kw_lap_course *course)
{
    double most = 0.0;
    for (size_t node = 0; node < course->n; node++)
        most = fmax(most, fabs(course->way[node] / LAP - course->turn[node]));
    return most;
}

/* Behind a yellow flag, and on the way in, laps are as long as ever: a course
 * that jumps there ends a lap seconds too soon or too late. */
static void test_lap_breaks__a_slow_lap_is_as_long_as_any(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double jump;
        size_t from;
        size_t to;
    } cases[] = {
        {"to the end", 0.06, NODES - 9, NODES},
        {"back to the end", -0.06, NODES - 9, NODES},
        {"there and back", 0.08, NODES - 9, NODES - 3},
        {"a single block", 0.05, NODES - 4, NODES - 3},
        {"no jump", 0.0, 0, 0},
    };
    struct kw_lap_grid grid = grid_of(&(struct drive){0.4, 0.0});
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_lap_course course;
        make_course(&course, cases[i].jump, cases[i].from, cases[i].to);
        const bool jumps = cases[i].to > 0;
        check_true(cases[i].label, kw_mend_breaks(&grid, &course) == jumps);
        check_near(cases[i].label, worst(&course), 0.0, 1e-6);
        kw_lap_course_free(&course);
    }
    kw_lap_grid_free(&grid);
}

/* An out lap is laid back from the first that was driven in earnest. */
static void test_lap_breaks__an_out_lap_is_laid_back(void **state)
{
    (void)state;
    struct kw_lap_grid grid = grid_of(&(struct drive){1.0, 0.0});
    for (size_t i = 0; i < KW_COURSE_LAP; i++)
        grid.pace[i] = 0.45 + 0.3 * grid.pace[i];
    struct kw_lap_course course;
    make_course(&course, 0.07, 0, 8);
    assert_true(kw_mend_breaks(&grid, &course));
    check_near("laid back", worst(&course), 0.0, 1e-6);
    kw_lap_course_free(&course);
    kw_lap_grid_free(&grid);
}

/* Where the way is longer indeed, behind a visit of the pits, the jump is what
 * keeps all later laps in place. */
static void test_lap_breaks__a_jump_that_the_pace_asks_for_stays(void **state)
{
    (void)state;
    struct kw_lap_grid grid = grid_of(&(struct drive){1.0, 0.07});
    struct kw_lap_course course;
    make_course(&course, 0.07, NODES - KW_COURSE_BLOCKS, NODES);
    assert_true(kw_is_break(&course, NODES - KW_COURSE_BLOCKS));
    assert_false(kw_mend_breaks(&grid, &course));
    check_near("stays", worst(&course), 0.07, 1e-6);
    kw_lap_course_free(&course);
    kw_lap_grid_free(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_breaks__a_slow_lap_is_as_long_as_any),
        cmocka_unit_test(test_lap_breaks__an_out_lap_is_laid_back),
        cmocka_unit_test(test_lap_breaks__a_jump_that_the_pace_asks_for_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
