/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/track_line.h"

#include "core/plane.h"
#include "support/check.h"

#include <math.h>

/* A kart that comes east along y = 0 and brakes: x = V t - B t^2 / 2. */
enum { RATE_HZ = 10, N = 100 };
static const double SPEED_M_S = 25.0;
static const double BRAKES_M_S2 = 3.0;

struct approach {
    double time_s[N];
    double x_m[N];
    double y_m[N];
    struct kw_session session;
};

static double way_m(double time_s)
{
    return SPEED_M_S * time_s - 0.5 * BRAKES_M_S2 * time_s * time_s;
}

/* A receiver that is off by up to noise_m, another way at each fix. */
static void come_along(struct approach *made, double noise_m)
{
    for (size_t i = 0; i < N; i++) {
        made->time_s[i] = (double)i / RATE_HZ;
        made->x_m[i] =
            way_m(made->time_s[i]) + noise_m * sin(12.9898 * (double)(i + 1)) *
                                         cos(78.233 * (double)(i + 3));
        made->y_m[i] = 0.0;
    }
    made->session = (struct kw_session){.n_samples = N,
                                        .rate_hz = RATE_HZ,
                                        .time_s = made->time_s,
                                        .x_m = made->x_m,
                                        .y_m = made->y_m};
}

static struct kw_track_line line_at(double time_s)
{
    return (struct kw_track_line){way_m(time_s), 0.0, 1.0, 0.0, 15.0, 15.0};
}

static void test_track_line__sides_are_before_beyond_and_left(void **state)
{
    (void)state;
    /* The kart goes north: west is to its left. */
    const struct kw_track_line line = {10.0, 20.0, 0.0, 1.0, 15.0, 15.0};
    check_near("beyond", kw_beyond_line_m(&line, 10.0, 25.0), 5.0, 1e-12);
    check_near("before", kw_beyond_line_m(&line, 13.0, 18.0), -2.0, 1e-12);
    check_near("left", kw_beside_line_m(&line, 7.0, 20.0), 3.0, 1e-12);
    check_near("right", kw_beside_line_m(&line, 14.0, 29.0), -4.0, 1e-12);
}

/* Lap times to a hundredth need it, and fixes are a tenth apart. */
static void test_track_line__is_passed_between_two_fixes(void **state)
{
    (void)state;
    static const double passed_s[] = {3.0, 3.017, 3.05, 3.099};
    struct approach made;
    come_along(&made, 0.0);
    for (size_t i = 0; i < sizeof passed_s / sizeof passed_s[0]; i++) {
        const struct kw_track_line line = line_at(passed_s[i]);
        check_near("while it brakes",
                   kw_line_passed_s(&made.session, NULL, &line, 3.1),
                   passed_s[i], 1e-9);
    }
}

/* A metre at 16 m/s is 0.06 s for one fix alone. */
static void test_track_line__noise_of_the_receiver_averages_out(void **state)
{
    (void)state;
    struct approach made;
    come_along(&made, 1.0);
    const struct kw_track_line line = line_at(3.05);
    check_near("metre of noise",
               kw_line_passed_s(&made.session, NULL, &line, 3.1), 3.05, 0.02);
}

/* Where hardly a fix is left around the line, the guess between the two fixes
 * is the best that there is. */
static void test_track_line__few_fixes_leave_the_guess(void **state)
{
    (void)state;
    struct approach made;
    come_along(&made, 0.0);
    for (size_t i = 0; i < N; i++) {
        if (i != 30 && i != 31)
            made.x_m[i] = made.y_m[i] = NAN;
    }
    const struct kw_track_line line = line_at(3.05);
    check_near("two fixes", kw_line_passed_s(&made.session, NULL, &line, 3.04),
               3.04, 1e-12);
}

/* Two equal points, or one alone, are a slip in the profile and no line. */
static void test_track_line__profile_needs_two_points(void **state)
{
    (void)state;
    const struct kw_session session = {.origin_lat_deg = 51.0,
                                       .origin_lon_deg = 3.0};
    const struct kw_plane plane = kw_plane_at(51.0, 3.0);
    const double north_deg = 51.0 + 10.0 / plane.north_m_each_deg;
    struct kw_profile profile = {.line_lat_deg = {51.0, north_deg},
                                 .line_lon_deg = {3.0, 3.0}};
    struct kw_track_line line;
    double x_m[2];
    double y_m[2];
    assert_true(kw_line_of_profile(&session, &profile, x_m, y_m, &line));
    check_near("end", y_m[1], 10.0, 1e-6);
    check_near("middle", line.y_m, 5.0, 1e-6);
    check_near("across", line.east, 1.0, 1e-6);
    assert_true(line.half_m > 5.0);
    profile.line_lat_deg[1] = 51.0;
    assert_false(kw_line_of_profile(&session, &profile, x_m, y_m, &line));
    profile.line_lat_deg[1] = NAN;
    assert_false(kw_line_of_profile(&session, &profile, x_m, y_m, &line));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_track_line__sides_are_before_beyond_and_left),
        cmocka_unit_test(test_track_line__is_passed_between_two_fixes),
        cmocka_unit_test(test_track_line__noise_of_the_receiver_averages_out),
        cmocka_unit_test(test_track_line__few_fixes_leave_the_guess),
        cmocka_unit_test(test_track_line__profile_needs_two_points),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
