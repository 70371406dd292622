/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where laps begin that no line marks. */
#include "analysis/lap_begin.h"

#include "support/check.h"

enum { LAPS = 6, EACH = 200, SAMPLES = LAPS * EACH };

static const double LAP = 40.0;
/* Both brakings, as a part of a lap; the kart comes faster to the first. */
static const double FIRST = 0.3;
static const double SECOND = 0.8;
/* How well the way is known: no better than either braking is long. */
static const double UNSURE = 0.6;

static bool brakes(double place, double at)
{
    return fabs(place - at) < 0.01;
}

/* The place that is chosen for laps of which the third has a stop of so many
 * seconds at a place of it. */
static double place_with_stop(double at, double stop_s)
{
    static double time_s[SAMPLES];
    static double way[SAMPLES];
    for (size_t i = 0; i < SAMPLES; i++) {
        const double turn = (double)i / EACH;
        const double place = turn - floor(turn);
        const double gained = 0.4 * fmin(place, 0.5);
        way[i] = turn * LAP;
        time_s[i] = way[i] - gained + (turn > 2.0 + at ? stop_s : 0.0);
    }
    const struct kw_lap_axis axis = {
        .n = SAMPLES, .time_s = time_s, .way = way};
    struct kw_lap_course course;
    assert_int_equal(kw_lap_course_new(LAP, 0.0, LAPS - 1, &course, NULL),
                     KW_OK);
    for (size_t node = 0; node < course.n; node++) {
        course.way[node] = course.turn[node] * LAP;
        course.variance[node] = UNSURE * UNSURE;
        course.fits[node] = true;
    }
    for (size_t cell = 0; cell < KW_COURSE_LAP; cell++) {
        const double place = ((double)cell + 0.5) / KW_COURSE_LAP;
        course.slope[cell] =
            brakes(place, FIRST) || brakes(place, SECOND) ? -0.1 : 0.01;
    }
    const struct kw_lap_drive drive = {0.0, LAPS - 1.0, 1.0};
    const double place = kw_choose_place(&axis, &course, &drive);
    kw_lap_course_free(&course);
    return place;
}

/* Where the kart brakes, a bend is told to a metre; a pull that belongs to two
 * laps is of no use to the racer. */
static void test_lap_begin__laps_begin_where_the_kart_brakes(void **state)
{
    (void)state;
    check_near("the faster one", place_with_stop(0.5, 0.0), FIRST, 0.01);
}

/* The way stands still with the kart: of a lap that begins there nobody knows
 * in which of those seconds. A stop elsewhere is no harm. */
static void test_lap_begin__no_lap_begins_where_the_kart_stood(void **state)
{
    (void)state;
    check_near("at the other", place_with_stop(FIRST, 12.0), SECOND, 0.01);
    check_near("there still", place_with_stop(SECOND, 12.0), FIRST, 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_begin__laps_begin_where_the_kart_brakes),
        cmocka_unit_test(test_lap_begin__no_lap_begins_where_the_kart_stood),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
