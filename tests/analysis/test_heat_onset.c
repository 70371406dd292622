/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat_onset.h"

#include "core/array.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>

/* Pulls of 4 s from 6,000 RPM on with lifts of 3 s between, in cells of 0.1 s,
 * on a pipe that warms up by 90 C. */
static const double CELL_S = 0.1;
static const double PULL_S = 4.0;
static const double ROUND_S = 7.0;
static const double PIPE_C = 90.0;
static const double PIPE_S = 60.0;
static const double EXPECTED_C = 550.0;
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

static void fill(const struct step *step, struct kw_heat_grid *g)
{
    double worked_s = 0.0;
    double settled_s = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        const double t = CELL_S * (double)i;
        const double in_round_s = fmod(t, ROUND_S);
        const bool stands =
            t < step->from_s && t > step->from_s - step->pause_s;
        const bool loaded = in_round_s < PULL_S && !stands;
        const double share = t < step->from_s ? step->pulling : 1.0;
        const double climbed = step->climb_s > 0.0
                                   ? (t - step->from_s) / step->climb_s + 0.5
                                   : (t >= step->from_s ? 1.0 : 0.0);
        const double hot_c = t < step->to_s ? step->step_c : 0.0;
        worked_s += CELL_S;
        settled_s = loaded == (i > 0 && g->load[i - 1] > 0.5)
                        ? settled_s + CELL_S
                        : 0.5 * CELL_S;
        g->time_s[i] = t;
        g->step_s[i] = CELL_S;
        g->load[i] = loaded ? 1.0 : 0.0;
        g->rpm[i] = loaded ? 6000.0 + 1500.0 * in_round_s : 6000.0;
        g->rise[i] = loaded ? share : -1.0;
        g->gas_c[i] = EXPECTED_C + hot_c * fmax(0.0, fmin(climbed, 1.0)) -
                      PIPE_C * exp(-worked_s / PIPE_S) +
                      step->scatter_c * sin(0.9 * floor(t / ROUND_S));
        g->settled_s[i] = settled_s;
        g->worked_s[i] = worked_s;
        g->teaches[i] = 1.0;
    }
}

/* returns  whether the step was found; what teaches is checked. */
static bool find(const struct step *step)
{
    struct kw_heat_grid g = {.n = N_CELLS};
    double **const arrays[] = {&g.time_s,    &g.step_s,   &g.rpm,
                               &g.gas_c,     &g.load,     &g.rise,
                               &g.settled_s, &g.worked_s, &g.teaches};
    enum { N_ARRAYS = sizeof arrays / sizeof arrays[0] };
    g.numbers = kw_array_new(g.n, (N_ARRAYS + 1) * sizeof *g.numbers, NULL);
    assert_non_null(g.numbers);
    for (size_t k = 0; k < N_ARRAYS; k++)
        *arrays[k] = g.numbers + k * g.n;
    double *level_c = g.numbers + N_ARRAYS * g.n;
    for (size_t i = 0; i < g.n; i++)
        level_c[i] = EXPECTED_C;
    fill(step, &g);
    bool found = false;
    assert_int_equal(kw_heat_find_onset(&g, level_c, &found, NULL), KW_OK);
    double teaching_s = 0.0;
    for (size_t i = 0; i < g.n; i++)
        teaching_s += g.teaches[i] * CELL_S;
    check_near(step->label, teaching_s,
               found ? step->from_s : CELL_S * (double)g.n, ROUND_S);
    kw_heat_grid_free(&g);
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
