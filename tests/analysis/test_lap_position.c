/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_passings.h"

#include "core/array.h"
#include "core/plane.h"
#include "support/check.h"

#include <stdlib.h>

/* A figure of eight about the plane's origin, crossed twice each lap in two
 * directions: x = A sin(2 u), y = B sin(u), u one turn each lap. */
enum { RATE_HZ = 10 };
static const double LAP_S = 40.0;
static const double A_M = 90.0;
static const double B_M = 110.0;
static const double PI = 3.14159265358979323846;

struct drive {
    struct kw_session session;
    double starts_s; /* stands until then */
    double laps;
};

static double scatter(size_t i)
{
    return sin(12.9898 * (double)(i + 1)) * cos(78.233 * (double)(i + 3));
}

static void drive_on(struct drive *drive, double noise_m)
{
    const double ends_s = drive->starts_s + drive->laps * LAP_S;
    struct kw_session *s = &drive->session;
    s->rate_hz = RATE_HZ;
    s->n_samples = (size_t)((ends_s + 10.0) * RATE_HZ);
    s->time_s = kw_array_new(s->n_samples, sizeof *s->time_s, NULL);
    s->x_m = kw_array_new(s->n_samples, sizeof *s->x_m, NULL);
    s->y_m = kw_array_new(s->n_samples, sizeof *s->y_m, NULL);
    assert_non_null(s->time_s);
    assert_non_null(s->x_m);
    assert_non_null(s->y_m);
    s->origin_lat_deg = 51.0;
    s->origin_lon_deg = 3.0;
    for (size_t i = 0; i < s->n_samples; i++) {
        s->time_s[i] = (double)i / RATE_HZ;
        const double t = fmin(fmax(s->time_s[i], drive->starts_s), ends_s);
        const double u = 2.0 * PI * (t - drive->starts_s) / LAP_S;
        s->x_m[i] = A_M * sin(2.0 * u) + noise_m * scatter(2 * i);
        s->y_m[i] = B_M * sin(u) + noise_m * scatter(2 * i + 1);
    }
}

/* A round track of so many turns, passed at 15 m/s, with the line at angle 0.
 * In one turn the kart comes by beside its usual place, and slower.
 *
 * odd_turn         that turn; 0 is the way out.
 * aside_m, share   how far to the right of the track, and at which share of the
 *                  speed, near the line.
 * drift_m          by so much the receiver is off to the right in the end. */
struct round {
    const char *label;
    size_t odd_turn;
    double aside_m;
    double share;
    double drift_m;
    size_t n_passings;
};

static const double ROUND_M = 100.0;
static const double NEAR_LINE = 0.35; /* radians */
enum { TURNS = 8 };

static void drive_round(struct drive *drive, const struct round *round)
{
    drive->starts_s = 0.0;
    drive->laps = TURNS * 1.2;
    drive_on(drive, 0.0);
    struct kw_session *s = &drive->session;
    double turn = 0.5;
    for (size_t i = 0; i < s->n_samples; i++) {
        const size_t passing = (size_t)(turn + 0.5) - 1;
        const double angle = 2.0 * PI * remainder(turn, 1.0);
        const bool odd = passing == round->odd_turn && fabs(angle) < NEAR_LINE;
        const double radius_m = ROUND_M + (odd ? round->aside_m : 0.0) +
                                round->drift_m * fmin(turn / TURNS, 1.0);
        s->x_m[i] = radius_m * cos(angle);
        s->y_m[i] = radius_m * sin(angle);
        if (turn < TURNS + 0.5)
            turn += 15.0 * (odd ? round->share : 1.0) / RATE_HZ /
                    (2.0 * PI * ROUND_M);
    }
}

static void drive_free(struct drive *drive)
{
    free(drive->session.time_s);
    free(drive->session.x_m);
    free(drive->session.y_m);
}

static struct kw_profile profile_without_line(void)
{
    struct kw_profile profile = {0};
    for (size_t i = 0; i < 2; i++)
        profile.line_lat_deg[i] = profile.line_lon_deg[i] = NAN;
    return profile;
}

/* A line through the crossing of the eight, across one of its two ways. */
static struct kw_profile profile_with_line(const struct kw_session *session)
{
    struct kw_profile profile = profile_without_line();
    const struct kw_plane plane =
        kw_plane_at(session->origin_lat_deg, session->origin_lon_deg);
    const double x_m[2] = {-3.0, 3.0};
    for (size_t i = 0; i < 2; i++) {
        /* The way at u = 0 goes along (2 A, B). */
        const double y_m = -x_m[i] * 2.0 * A_M / B_M;
        profile.line_lat_deg[i] = plane.lat_deg + y_m / plane.north_m_each_deg;
        profile.line_lon_deg[i] =
            plane.lon_deg + x_m[i] / plane.east_m_each_deg;
    }
    return profile;
}

/* Across the round track, from kerb to kerb: 5 m to both sides. */
static struct kw_profile profile_of_round(const struct kw_session *session)
{
    struct kw_profile profile = profile_without_line();
    const struct kw_plane plane =
        kw_plane_at(session->origin_lat_deg, session->origin_lon_deg);
    for (size_t i = 0; i < 2; i++) {
        const double x_m = ROUND_M + (i == 0 ? -5.0 : 5.0);
        profile.line_lat_deg[i] = plane.lat_deg;
        profile.line_lon_deg[i] = plane.lon_deg + x_m / plane.east_m_each_deg;
    }
    return profile;
}

static struct kw_passings passings_of(const struct drive *drive,
                                      const struct kw_profile *profile)
{
    const struct kw_line_search with = {&drive->session, profile, NULL, 1.0};
    struct kw_passings found = {0};
    assert_int_equal(kw_passings_by_position(&with, &found, NULL), KW_OK);
    return found;
}

/* The stated line is passed when it is passed, not a sample later; the other
 * way through the crossing of the eight is no passing. */
static void test_lap_position__profile_line_is_passed_once_a_lap(void **state)
{
    (void)state;
    struct drive drive = {.starts_s = 25.0 - LAP_S / 2.0, .laps = 5.6};
    drive_on(&drive, 0.0);
    const struct kw_profile profile = profile_with_line(&drive.session);
    struct kw_passings found = passings_of(&drive, &profile);
    assert_in_range(found.n, 5, 6);
    for (size_t i = 0; i < found.n; i++) {
        const double laps = (found.time_s[i] - drive.starts_s) / LAP_S;
        check_near("passing", (laps - round(laps)) * LAP_S, 0.0, 0.005);
    }
    kw_passings_free(&found);
    drive_free(&drive);
}

/* The line is lengthened for a receiver that drifts, and the pit lane lies in
 * what was added. Who comes by there, slowly, passes no line; who is slow on
 * the track, or was put aside by a jump of the receiver, does. */
static void test_lap_position__pit_lane_beside_the_line_is_no_passing(
    void **state)
{
    (void)state;
    const struct round cases[] = {
        {"all on the track", 0, 0.0, 1.0, 0.0, TURNS},
        {"way out by the pit lane", 0, 12.0, 0.45, 0.0, TURNS - 1},
        {"visit to the pits", 4, 12.0, 0.45, 0.0, TURNS - 1},
        {"receiver drifts", 0, 0.0, 1.0, 6.0, TURNS},
        {"and a visit to the pits", 2, 11.0, 0.45, 6.0, TURNS - 1},
        {"slow under a drift", TURNS - 1, 2.0, 0.5, 4.0, TURNS},
        {"receiver jumps", 4, 10.0, 1.0, 0.0, TURNS},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct drive drive = {0};
        drive_round(&drive, &cases[k]);
        const struct kw_profile profile = profile_of_round(&drive.session);
        struct kw_passings found = passings_of(&drive, &profile);
        check_near(cases[k].label, (double)found.n, (double)cases[k].n_passings,
                   0.0);
        kw_passings_free(&found);
        drive_free(&drive);
    }
}

/* A receiver's noise of half a metre averages out over the fixes near the line;
 * one fix alone would be 0.03 s wrong at this speed. */
static void test_lap_position__own_line_gives_even_laps(void **state)
{
    (void)state;
    const struct kw_profile profile = profile_without_line();
    const struct {
        const char *label;
        double laps;
        double noise_m;
        size_t n;
        double tolerance_s;
    } cases[] = {
        {"no noise", 6.4, 0.0, 6, 0.003},
        {"half a metre", 6.4, 0.7, 6, 0.06},
        {"many laps", 21.3, 0.7, 21, 0.06},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct drive drive = {.starts_s = 12.0, .laps = cases[k].laps};
        drive_on(&drive, cases[k].noise_m);
        struct kw_passings found = passings_of(&drive, &profile);
        check_near(cases[k].label, (double)found.n, (double)cases[k].n, 0.0);
        for (size_t i = 1; i < found.n; i++)
            check_near(cases[k].label, found.time_s[i] - found.time_s[i - 1],
                       LAP_S, cases[k].tolerance_s);
        assert_true(isfinite(found.line_x_m[0]));
        kw_passings_free(&found);
        drive_free(&drive);
    }
}

/* A path that does not repeat has no laps. */
static void test_lap_position__one_way_trip_gives_none(void **state)
{
    (void)state;
    const struct kw_profile profile = profile_without_line();
    struct drive drive = {.starts_s = 5.0, .laps = 0.9};
    drive_on(&drive, 0.5);
    struct kw_passings found = passings_of(&drive, &profile);
    assert_int_equal(found.n, 0);
    kw_passings_free(&found);
    for (size_t i = 0; i < drive.session.n_samples; i++)
        drive.session.x_m[i] = NAN;
    found = passings_of(&drive, &profile);
    assert_int_equal(found.n, 0);
    kw_passings_free(&found);
    drive_free(&drive);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_position__profile_line_is_passed_once_a_lap),
        cmocka_unit_test(
            test_lap_position__pit_lane_beside_the_line_is_no_passing),
        cmocka_unit_test(test_lap_position__own_line_gives_even_laps),
        cmocka_unit_test(test_lap_position__one_way_trip_gives_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
