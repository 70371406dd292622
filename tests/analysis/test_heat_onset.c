/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat_onset.h"

#include "support/check.h"
#include "support/made_grid.h"

#include <math.h>

static const double PIPE_S = 60.0;
enum { N_CELLS = 4000 };

/* A step of the heat.
 *
 * from_s, to_s  when; INFINITY for to the end.
 * climb_s       how long it takes to climb, to both sides of from_s.
 * pause_s       for so long before it the kart stands.
 * pulling       how RPM rose before it, as a share of what it does after.
 * scatter_c     how far pulls differ. */
struct step {
    const char *label;
    double step_c;
    double from_s;
    double to_s;
    double climb_s;
    double pause_s;
    double pulling;
    double scatter_c;
    bool found;
};

static struct made_moment moment_at(const void *what, double time_s)
{
    const struct step *step = what;
    const double since_s = time_s - step->from_s;
    const double climbed = step->climb_s > 0.0 ? since_s / step->climb_s + 0.5
                                               : (since_s >= 0.0 ? 1.0 : 0.0);
    const double hot_c = time_s < step->to_s ? step->step_c : 0.0;
    return (struct made_moment){
        .hot_c = hot_c * fmax(0.0, fmin(climbed, 1.0)) +
                 step->scatter_c * made_grid_scatter(time_s),
        .rise = since_s < 0.0 ? step->pulling : 1.0,
        .stands = since_s < 0.0 && since_s > -step->pause_s};
}

/* returns  whether the step was found; what teaches is checked. */
static bool find(const struct step *step)
{
    struct made_grid made;
    made_grid_new(N_CELLS, PIPE_S, moment_at, step, &made);
    bool found = false;
    assert_int_equal(kw_heat_find_onset(&made.grid, made.level_c, &found, NULL),
                     KW_OK);
    check_near(step->label, made_grid_teaching_s(&made),
               found ? step->from_s : MADE_CELL_S * N_CELLS, MADE_ROUND_S);
    made_grid_free(&made);
    return found;
}

/* Lean to the end of the session, and longer than it was right; but nothing
 * that comes back, that may have been done on purpose in the pits, that a
 * driver explains who only then pushed, or that so few pulls tell from the
 * warm-up. */
static void test_heat_onset__what_comes_early_and_stays(void **state)
{
    (void)state;
    const struct step rows[] = {
        {"stays", 50.0, 110.0, INFINITY, 0.0, 0.0, 1.0, 3.0, true},
        {"no step", 0.0, 110.0, INFINITY, 0.0, 0.0, 1.0, 3.0, false},
        {"small", 25.0, 110.0, INFINITY, 0.0, 0.0, 1.0, 3.0, false},
        {"colder", -50.0, 110.0, INFINITY, 0.0, 0.0, 1.0, 3.0, false},
        {"comes back", 50.0, 110.0, 180.0, 0.0, 0.0, 1.0, 3.0, false},
        {"with a stop before it", 50.0, 110.0, INFINITY, 0.0, 25.0, 1.0, 3.0,
         false},
        {"a driver who pushes", 50.0, 110.0, INFINITY, 0.0, 0.0, 0.85, 3.0,
         false},
        {"in the second lap", 50.0, 56.0, INFINITY, 0.0, 0.0, 1.0, 3.0, false},
        {"comes back later", 50.0, 110.0, 330.0, 0.0, 0.0, 1.0, 3.0, false},
        {"a slow climb", 100.0, 150.0, INFINITY, 90.0, 0.0, 1.0, 3.0, false},
        {"lost in scatter", 50.0, 110.0, INFINITY, 0.0, 0.0, 1.0, 25.0, false},
        {"late", 50.0, 340.0, INFINITY, 0.0, 0.0, 1.0, 3.0, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_true(rows[k].label, find(&rows[k]) == rows[k].found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_onset__what_comes_early_and_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
