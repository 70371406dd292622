/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/heat_spots.h"

#include "support/check.h"
#include "support/made_grid.h"

#include <math.h>

enum { MOST_LAPS = 20 };

/* Heat at some of a lap's pulls.
 *
 * laps       in the session.
 * from_lap   the first with the heat; it begins so far round it.
 * from_place
 * to_lap     the first without it again.
 * pulls      of the four of a lap, a bit for each.
 * pull_s     of each of them that are hot.
 * hot_c      by how much.
 * scatter_c  how far pulls differ.
 * faster     RPM there, as a share of that before.
 * slow_lap   one with less RPM and no heat, or MOST_LAPS.
 * elsewhere_c  by how much the other pulls of those laps are hotter.
 * lap_s      how long a lap takes. */
struct spots {
    const char *label;
    size_t laps;
    size_t from_lap;
    double from_place;
    size_t to_lap;
    unsigned pulls;
    double pull_s;
    double hot_c;
    double scatter_c;
    double faster;
    size_t slow_lap;
    double elsewhere_c;
    double lap_s;
    bool found;
};

static bool is_hot_place(const struct spots *spots, double time_s)
{
    const unsigned pull = (unsigned)(fmod(time_s, spots->lap_s) / MADE_ROUND_S);
    return (spots->pulls >> pull & 1U) != 0 &&
           fmod(time_s, MADE_ROUND_S) < spots->pull_s;
}

static bool is_late(const struct spots *spots, double time_s)
{
    const double lap = time_s / spots->lap_s;
    return lap >= (double)spots->from_lap + spots->from_place &&
           lap < (double)spots->to_lap && (size_t)lap != spots->slow_lap;
}

static struct made_moment moment_at(const void *what, double time_s)
{
    const struct spots *spots = what;
    const bool hot = is_late(spots, time_s) && is_hot_place(spots, time_s);
    return (struct made_moment){
        .hot_c = (hot                      ? spots->hot_c
                  : is_late(spots, time_s) ? spots->elsewhere_c
                                           : 0.0) +
                 spots->scatter_c * made_grid_scatter(time_s),
        .rise = 1.0};
}

static void change(const struct spots *spots, struct kw_heat_grid *g)
{
    for (size_t i = 0; i < g->n; i++) {
        const double lap = g->time_s[i] / spots->lap_s;
        g->lap[i] = (size_t)lap;
        g->place[i] = lap - floor(lap);
        if (is_late(spots, g->time_s[i]) && is_hot_place(spots, g->time_s[i]))
            g->rpm[i] *= spots->faster;
        if (g->lap[i] == spots->slow_lap)
            g->rpm[i] *= 0.9;
    }
}

/* Seconds that ought to teach no more: the hot ones. */
static double hot_s(const struct spots *spots, const struct kw_heat_grid *g)
{
    double seconds = 0.0;
    for (size_t i = 0; i < g->n; i++) {
        if (is_late(spots, g->time_s[i]) && is_hot_place(spots, g->time_s[i]))
            seconds += MADE_CELL_S;
    }
    return seconds;
}

static bool find(const struct spots *spots)
{
    struct kw_lap items[MOST_LAPS] = {0};
    const struct kw_laps laps = {.items = items, .n = spots->laps};
    for (size_t k = 0; k < laps.n; k++)
        items[k].kind = KW_LAP_FLYING;
    struct made_grid made;
    const double session_s = spots->lap_s * (double)spots->laps;
    made_grid_new((size_t)(session_s / MADE_CELL_S), 15.0, moment_at, spots,
                  &made);
    change(spots, &made.grid);
    bool found = false;
    assert_int_equal(
        kw_heat_find_spots(&made.grid, &laps, made.level_c, &found, NULL),
        KW_OK);
    const double silent_s = session_s - made_grid_teaching_s(&made);
    if (found)
        check_true(spots->label, silent_s > 0.7 * hot_s(spots, &made.grid) &&
                                     silent_s < 1.6 * hot_s(spots, &made.grid));
    else
        check_near(spots->label, silent_s, 0.0, 1.0);
    made_grid_free(&made);
    return found;
}

/* One straight of four from the middle of the session on, and what differs. */
static void test_heat_spots__places_that_turned_hot(void **state)
{
    (void)state;
    enum { NEVER = MOST_LAPS };
    static const struct spots rows[] = {
        {"one straight", 12, 6, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         true},
        {"three of four", 12, 6, 0.0, NEVER, 7, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         true},
        {"in mid-lap", 12, 6, 0.6, NEVER, 9, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         true},
        {"most laps", 12, 4, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         true},
        {"the last two", 12, 10, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         true},
        {"the last alone", 12, 11, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         false},
        {"one slow lap", 12, 6, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, 8, 0, 28, true},
        {"all round", 12, 6, 0.0, NEVER, 15, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         false},
        {"came and went", 12, 5, 0.0, 9, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         false},
        {"a little", 12, 6, 0.0, NEVER, 2, 4.0, 26, 4, 1.0, NEVER, 0, 28,
         false},
        {"briefly", 12, 6, 0.0, NEVER, 2, 2.0, 60, 4, 1.0, NEVER, 0, 28, false},
        {"turns faster", 12, 6, 0.0, NEVER, 2, 4.0, 60, 4, 1.04, NEVER, 0, 28,
         false},
        {"lost in scatter", 12, 6, 0.0, NEVER, 2, 4.0, 60, 40, 1.0, NEVER, 0,
         28, false},
        {"cooler", 12, 6, 0.0, NEVER, 2, 4.0, -60, 4, 1.0, NEVER, 0, 28, false},
        {"no heat", 12, 6, 0.0, NEVER, 0, 4.0, 60, 4, 1.0, NEVER, 0, 28, false},
        {"early and large", 12, 4, 0.0, NEVER, 2, 4.0, 60, 2, 1.0, NEVER, 0, 28,
         true},
        {"two laps before", 12, 3, 0.0, NEVER, 4, 4.0, 60, 2, 1.0, NEVER, 0, 28,
         true},
        {"only warm then", 12, 3, 0.0, NEVER, 4, 4.0, 40, 2, 1.0, NEVER, 0, 28,
         false},
        {"warm later", 12, 4, 0.0, NEVER, 4, 4.0, 40, 2, 1.0, NEVER, 0, 28,
         true},
        {"others warmer, too", 12, 6, 0.0, NEVER, 2, 4.0, 36, 2, 1.0, NEVER, 12,
         28, true},
        {"much hotter", 12, 6, 0.0, NEVER, 2, 4.0, 60, 2, 1.0, NEVER, 17, 28,
         true},
        {"not that much", 12, 6, 0.0, NEVER, 2, 4.0, 60, 2, 1.0, NEVER, 25, 28,
         false},
        {"a long lap", 12, 6, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 84,
         false},
        {"half of a long lap", 12, 6, 0.0, NEVER, 42, 4.0, 60, 4, 1.0, NEVER, 0,
         84, true},
        {"within scatter", 12, 6, 0.0, NEVER, 2, 4.0, 60, 27, 1.0, NEVER, 0, 28,
         false},
        {"three laps", 3, 1, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28,
         false},
        {"no laps", 0, 1, 0.0, NEVER, 2, 4.0, 60, 4, 1.0, NEVER, 0, 28, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_true(rows[k].label, find(&rows[k]) == rows[k].found);
}

static void test_heat_spots__needs_laps(void **state)
{
    (void)state;
    static const struct spots spots = {.slow_lap = MOST_LAPS, .lap_s = 28.0};
    struct made_grid made;
    made_grid_new(100, 15.0, moment_at, &spots, &made);
    bool found = true;
    assert_int_equal(
        kw_heat_find_spots(&made.grid, NULL, made.level_c, &found, NULL),
        KW_OK);
    assert_false(found);
    made_grid_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_spots__places_that_turned_hot),
        cmocka_unit_test(test_heat_spots__needs_laps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
