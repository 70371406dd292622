/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat_creep.h"

#include "support/check.h"
#include "support/made_grid.h"

#include <math.h>

/* A rise of the heat.
 *
 * from_s, to_s  when it begins and levels off; INFINITY for never.
 * rise_c_min    how fast.
 * pipe_s        time constant of the warm-up below it.
 * scatter_c     how far pulls differ.
 * minutes       of the session. */
struct creep {
    const char *label;
    double from_s;
    double to_s;
    double rise_c_min;
    double pipe_s;
    double scatter_c;
    double minutes;
    bool found;
};

static struct made_moment moment_at(const void *what, double time_s)
{
    const struct creep *creep = what;
    const double rising_s = fmin(time_s, creep->to_s) - creep->from_s;
    return (struct made_moment){
        .hot_c = creep->rise_c_min * fmax(rising_s, 0.0) / 60.0 +
                 creep->scatter_c * made_grid_scatter(time_s),
        .rise = 1.0};
}

/* What teaches ends soon after it began: 15 C of it are plain. */
static bool find(const struct creep *creep)
{
    struct made_grid made;
    const size_t n = (size_t)(creep->minutes * 60.0 / MADE_CELL_S);
    made_grid_new(n, creep->pipe_s, moment_at, creep, &made);
    bool found = false;
    assert_int_equal(kw_heat_find_creep(&made.grid, made.level_c, &found, NULL),
                     KW_OK);
    const double plain_s = creep->from_s + 15.0 / creep->rise_c_min * 60.0;
    check_near(creep->label, made_grid_teaching_s(&made),
               found ? plain_s : MADE_CELL_S * (double)n, 25.0);
    made_grid_free(&made);
    return found;
}

/* A thick pipe and a day climb as well, but slower in the end, or less. */
static void test_heat_creep__what_climbs_slowly(void **state)
{
    (void)state;
    static const struct creep rows[] = {
        {"from the middle on", 200.0, INFINITY, 16.0, 60.0, 3.0, 8.0, true},
        {"from early on", 90.0, INFINITY, 12.0, 60.0, 3.0, 8.0, true},
        {"a thick pipe alone", 0.0, INFINITY, 0.0, 250.0, 3.0, 10.0, false},
        {"a slow day", 100.0, INFINITY, 3.5, 60.0, 3.0, 20.0, false},
        {"less than a jet", 200.0, INFINITY, 7.0, 60.0, 3.0, 8.0, false},
        {"levels off", 200.0, 420.0, 40.0, 60.0, 3.0, 10.0, true},
        {"colder", 200.0, INFINITY, -16.0, 60.0, 3.0, 8.0, false},
        {"lost in scatter", 200.0, INFINITY, 16.0, 60.0, 40.0, 8.0, false},
        {"late in a long session", 3000.0, INFINITY, 12.0, 60.0, 3.0, 60.0,
         true},
        {"two pulls", 0.0, INFINITY, 16.0, 60.0, 3.0, 0.25, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_true(rows[k].label, find(&rows[k]) == rows[k].found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_creep__what_climbs_slowly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
