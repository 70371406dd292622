/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_axis.h"

#include "core/array.h"
#include "support/check.h"

enum { RATE_HZ = 20, N = 100 * RATE_HZ };

/* RPM at a time, and what the wheels do. */
struct moment {
    double rpm;
    double speed_m_s;
};
typedef struct moment moment_at(double time_s);

static const double M_S_EACH_RPM = 0.002;

/* Stands until 10 s, drives at 10,000 rpm until 90 s, stands again. */
static struct moment steady(double t)
{
    const bool drives = t >= 10.0 && t < 90.0;
    const double rpm = drives ? 10000.0 : 2000.0;
    return (struct moment){rpm, drives ? rpm * M_S_EACH_RPM : 0.0};
}

/* The signal is lost for a second. */
static struct moment with_loss(double t)
{
    struct moment at = steady(t);
    if (t >= 50.0 && t < 51.0)
        at.rpm = 0.0;
    return at;
}

/* The kart stands at 50 s for 20 s, engine idling. */
static struct moment with_stop(double t)
{
    return t >= 50.0 && t < 70.0 ? (struct moment){2000.0, 0.0} : steady(t);
}

/* Four seconds of clutch slip at the start: the kart catches up evenly. */
static struct moment with_slip(double t)
{
    struct moment at = steady(t);
    if (t >= 10.0 && t < 14.0)
        at = (struct moment){5000.0, 5000.0 * M_S_EACH_RPM * (t - 10.0) / 4.0};
    return at;
}

/* An idle that is more than a third of full pace, as rental engines have. */
static struct moment fast_idle(double t)
{
    struct moment at = steady(t);
    if (at.speed_m_s < 1.0)
        at.rpm = 3500.0;
    return at;
}

/* Wheelspin: for two seconds the wheels turn at twice the kart's speed. */
static struct moment with_wheelspin(double t)
{
    struct moment at = steady(t);
    if (t >= 50.0 && t < 52.0)
        at.rpm *= 1.8;
    return at;
}

static struct kw_session session_of(moment_at *moment, bool has_speed)
{
    struct kw_session s = {.n_samples = N, .rate_hz = RATE_HZ};
    s.time_s = kw_array_new(N, sizeof *s.time_s, NULL);
    s.rpm = kw_array_new(N, sizeof *s.rpm, NULL);
    s.speed_m_s = has_speed ? kw_array_new(N, sizeof *s.speed_m_s, NULL) : NULL;
    assert_non_null(s.time_s);
    assert_non_null(s.rpm);
    for (size_t i = 0; i < N; i++) {
        s.time_s[i] = (double)i / RATE_HZ;
        const struct moment at = moment(s.time_s[i]);
        s.rpm[i] = at.rpm;
        if (has_speed)
            s.speed_m_s[i] = at.speed_m_s;
    }
    return s;
}

/* Way is in seconds at full pace, which is that of 10,000 rpm here. */
static void test_lap_axis__way_is_that_of_the_kart(void **state)
{
    (void)state;
    const struct {
        const char *label;
        moment_at *moment;
        bool has_speed;
        double way;
        size_t drives;
    } cases[] = {
        {"steady, rpm", steady, false, 80.0, 1},
        {"steady, speed", steady, true, 80.0, 1},
        {"lost signal, rpm", with_loss, false, 80.0, 1},
        {"lost signal, speed", with_loss, true, 80.0, 1},
        {"stop, rpm", with_stop, false, 60.0, 1},
        {"stop, speed", with_stop, true, 60.0, 1},
        {"clutch slip, rpm", with_slip, false, 77.0, 1},
        {"clutch slip, speed", with_slip, true, 77.0, 1},
        {"fast idle, rpm", fast_idle, false, 80.0, 1},
        {"wheelspin, speed", with_wheelspin, true, 80.0, 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_session session =
            session_of(cases[i].moment, cases[i].has_speed);
        struct kw_lap_axis axis;
        const enum kw_pace_source source =
            cases[i].has_speed ? KW_PACE_SPEED : KW_PACE_RPM;
        assert_true(kw_lap_axis_possible(&session, source));
        assert_int_equal(kw_lap_axis_new(&session, source, &axis, NULL), KW_OK);
        check_near(cases[i].label, axis.way[N - 1], cases[i].way, 0.4);
        check_near(cases[i].label, (double)axis.spans.n,
                   (double)cases[i].drives, 0.0);
        check_near(cases[i].label, kw_lap_axis_drive_off_s(&axis, 40.0), 10.0,
                   0.6);
        check_near(cases[i].label, kw_lap_axis_rest_s(&axis, 80.0), 90.0, 0.3);
        kw_lap_axis_free(&axis);
        kw_session_free(&session);
    }
}

/* From time to way and back. */
static void test_lap_axis__way_and_time_are_inverse(void **state)
{
    (void)state;
    struct kw_session session = session_of(steady, false);
    struct kw_lap_axis axis;
    assert_int_equal(kw_lap_axis_new(&session, KW_PACE_RPM, &axis, NULL),
                     KW_OK);
    for (double t = 11.0; t < 89.0; t += 0.37)
        check_near("time",
                   kw_lap_axis_time_at(&axis, kw_lap_axis_way_at(&axis, t)), t,
                   1e-9);
    kw_lap_axis_free(&axis);
    kw_lap_axis_free(&axis);
    kw_session_free(&session);
}

/* Room for what is picked must never be short, nor grow with the rate. */
static void test_lap_axis__most_samples_bound_what_can_be_picked(void **state)
{
    (void)state;
    enum { ROWS = 1001 };
    double time_s[ROWS];
    for (size_t i = 0; i < ROWS; i++)
        time_s[i] = 0.01 * (double)i;
    assert_int_equal(kw_most_samples(time_s, 0, 0.2), 0);
    assert_int_equal(kw_most_samples(time_s, 1, 0.2), 1);
    /* As many as there are where all are far apart. */
    assert_int_equal(kw_most_samples(time_s, ROWS, 0.001), ROWS);
    for (double apart_s = 0.011; apart_s < 9.0; apart_s *= 1.07) {
        size_t picked = 0;
        double next_s = 0.0;
        for (size_t i = 0; i < ROWS; i++) {
            if (time_s[i] < next_s)
                continue;
            picked++;
            next_s = time_s[i] + apart_s;
        }
        const size_t most = kw_most_samples(time_s, ROWS, apart_s);
        assert_true(picked <= most);
        assert_true((double)most <= 10.0 / apart_s + 2.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_axis__way_is_that_of_the_kart),
        cmocka_unit_test(test_lap_axis__way_and_time_are_inverse),
        cmocka_unit_test(test_lap_axis__most_samples_bound_what_can_be_picked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
