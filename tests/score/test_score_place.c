/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "score/score_place.h"
#include "support/check.h"

#include <stdlib.h>

/* A kart at 20 m/s on a track of 1,000 m: a lap takes 50 s. It leaves the pits
 * at 500 m and comes back to them after 5 laps, at 250 s. */
static double times_s[] = {0.0, 250.0};
static double metres[] = {500.0, 5500.0};

static struct score_labels steady_drive(void)
{
    return (struct score_labels){.track_m = 1000.0,
                                 .laps = {.n_flying = 4},
                                 .progress = {times_s, metres, 2}};
}

/* The driver does not mind where on the track laps are cut, as long as it is
 * always the same place: then no boundary is off. */
static void test_score_place__any_fixed_place_will_do(void **state)
{
    (void)state;
    const struct score_labels labels = steady_drive();
    double boundary_s[] = {10.0, 60.0, 110.0, 160.0, 210.0};
    const struct score_laps found = {boundary_s, 5, 4};
    struct score_lap_result result = score_laps_judge(&labels, &found);
    check_true("exact", result.exact);
    check_near("place", result.place_m, 700.0, 1e-9);
    for (size_t i = 0; i < result.n_errors; i++)
        check_near("error", result.error_s[i], 0.0, 1e-9);
    free(result.error_s);
}

/* One boundary 0.3 s late is 0.3 s off, and the others are not. */
static void test_score_place__late_boundary_is_off_alone(void **state)
{
    (void)state;
    const struct score_labels labels = steady_drive();
    double boundary_s[] = {10.0, 60.0, 110.3, 160.0, 210.0};
    const struct score_laps found = {boundary_s, 5, 4};
    struct score_lap_result result = score_laps_judge(&labels, &found);
    check_near("late", result.error_s[2], 0.3, 1e-9);
    check_near("next", result.error_s[3], 0.0, 1e-9);
    free(result.error_s);
}

/* With the line in the profile the place must be the line: 25 s. */
static void test_score_place__known_line_is_absolute(void **state)
{
    (void)state;
    struct score_labels labels = steady_drive();
    labels.line_known = true;
    double boundary_s[] = {25.1, 75.1, 125.1};
    const struct score_laps found = {boundary_s, 3, 2};
    struct score_lap_result result = score_laps_judge(&labels, &found);
    check_true("two of four laps is not exact", !result.exact);
    for (size_t i = 0; i < 3; i++)
        check_near("0.1 s late", result.error_s[i], 0.1, 1e-9);
    free(result.error_s);
}

/* A lap that was joined with its neighbour is a wrong count. */
static void test_score_place__joined_laps_are_not_exact(void **state)
{
    (void)state;
    const struct score_labels labels = steady_drive();
    double boundary_s[] = {10.0, 110.0, 160.0, 210.0};
    const struct score_laps found = {boundary_s, 4, 3};
    struct score_lap_result result = score_laps_judge(&labels, &found);
    check_true("not exact", !result.exact && !result.strictly_exact);
    free(result.error_s);
}

/* Places just before and just after the line are neighbours. */
static void test_score_place__median_goes_round_the_loop(void **state)
{
    (void)state;
    const double places[] = {998.0, 2.0, 1.0, 0.0, 500.0};
    check_near("median", score_loop_median(places, 5, 1000.0), 1.0, 1.001);
}

/* A bench run has no laps, and that is the right answer. */
static void test_score_place__no_laps_is_right_where_there_are_none(
    void **state)
{
    (void)state;
    const struct score_labels labels = {.track_m = NAN};
    const struct score_laps none = {NULL, 0, 0};
    struct score_lap_result result = score_laps_judge(&labels, &none);
    check_true("exact", result.exact);
    free(result.error_s);
    double boundary_s[] = {10.0, 60.0};
    const struct score_laps invented = {boundary_s, 2, 1};
    result = score_laps_judge(&labels, &invented);
    check_true("invented", !result.exact);
    free(result.error_s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_score_place__any_fixed_place_will_do),
        cmocka_unit_test(test_score_place__late_boundary_is_off_alone),
        cmocka_unit_test(test_score_place__known_line_is_absolute),
        cmocka_unit_test(test_score_place__joined_laps_are_not_exact),
        cmocka_unit_test(test_score_place__median_goes_round_the_loop),
        cmocka_unit_test(
            test_score_place__no_laps_is_right_where_there_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
