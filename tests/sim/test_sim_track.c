/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sim_track.h"
#include "support/check.h"

#include <math.h>
#include <string.h>

static const double TWO_PI = 6.283185307179586;

enum { TRACKS = 40 };

static struct sim_track track_of(unsigned long seed)
{
    struct sim_random random = sim_random_open(seed, 1, 0.0);
    struct sim_track track =
        sim_track_build(&random, sim_between(&random, 420.0, 1400.0));
    sim_random_close(&random);
    return track;
}

/* A lap that does not end where it began would give wrong boundaries to every
 * detector that is judged by it. */
static void test_sim_track__lap_closes_on_itself(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= TRACKS; seed++) {
        struct sim_track track = track_of(seed);
        check_near("gap", track.closing_error_m, 0.0, 1e-6);
        double x0 = 0.0, y0 = 0.0, x1 = 0.0, y1 = 0.0;
        sim_track_point(&track, 0.0, 0.0, &x0, &y0);
        sim_track_point(&track, track.length_m, 0.0, &x1, &y1);
        check_near("x after a lap", x1, x0, 1e-6);
        check_near("y after a lap", y1, y0, 1e-6);
        sim_track_free(&track);
    }
}

/* A closed line that does not cross itself turns once round: the integral of
 * its curvature is 2 pi (theorem of turning tangents, from memory). */
static void test_sim_track__bends_add_up_to_one_turn(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= TRACKS; seed++) {
        struct sim_track track = track_of(seed);
        double turn = 0.0;
        for (size_t i = 0; i < track.n; i++)
            turn += track.curvature_1_m[i] * track.step_m;
        /* A sum over steps may miss a step at each end of an arc. */
        check_near("whole turn", fabs(turn), TWO_PI, 0.3);
        sim_track_free(&track);
    }
}

/* Distance along the track is what speed is integrated over. */
static void test_sim_track__steps_on_the_ground_are_steps_along(void **state)
{
    (void)state;
    struct sim_track track = track_of(7);
    double sum = 0.0;
    for (size_t i = 0; i < track.n; i++) {
        const size_t j = (i + 1) % track.n;
        sum += hypot(track.x_m[j] - track.x_m[i], track.y_m[j] - track.y_m[i]);
    }
    /* Chords are shorter than arcs: at 0.5 m steps by less than 0.1 %. */
    check_near("length", sum / track.length_m, 1.0, 1e-3);
    sim_track_free(&track);
}

/* The straights between the bends must be there, or nothing is tried on long
 * pulls. */
static void test_sim_track__has_straights_and_bends(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= TRACKS; seed++) {
        struct sim_track track = track_of(seed);
        size_t straight = 0;
        double sharpest = 0.0;
        for (size_t i = 0; i < track.n; i++) {
            straight += fabs(track.curvature_1_m[i]) < 1e-6 ? 1 : 0;
            sharpest = fmax(sharpest, fabs(track.curvature_1_m[i]));
        }
        check_true("straight", straight > track.n / 20);
        check_true("bend", sharpest > 1.0 / 60.0 && sharpest < 1.0 / 4.0);
        sim_track_free(&track);
    }
}

/* The proof must be repeatable: a seed is a track. */
static void test_sim_track__same_seed_is_same_track(void **state)
{
    (void)state;
    struct sim_track a = track_of(3), b = track_of(3), c = track_of(4);
    check_true("length", a.n == b.n);
    check_true("same", memcmp(a.x_m, b.x_m, a.n * sizeof(double)) == 0);
    check_true("other", a.n != c.n);
    sim_track_free(&a);
    sim_track_free(&b);
    sim_track_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sim_track__lap_closes_on_itself),
        cmocka_unit_test(test_sim_track__bends_add_up_to_one_turn),
        cmocka_unit_test(test_sim_track__steps_on_the_ground_are_steps_along),
        cmocka_unit_test(test_sim_track__has_straights_and_bends),
        cmocka_unit_test(test_sim_track__same_seed_is_same_track),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
