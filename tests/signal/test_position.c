/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/position.h"

#include "support/check.h"
#include "support/synthetic.h"

static struct synthetic drive(double rate_hz)
{
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    options.rate_hz = rate_hz;
    options.has_position = true;
    return synthetic_new(&options);
}

/* A log with position and no speed still shows how fast the kart went. */
static void test_position__speed_is_derived_where_there_is_none(void **state)
{
    (void)state;
    struct synthetic made = drive(20.0);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_true(session.speed_is_derived);
    size_t close = 0;
    for (size_t i = 0; i < made.n; i++)
        close += fabs(session.speed_m_s[i] - made.speed_m_s[i]) < 0.5 ? 1 : 0;
    check_near("share within 0.5 m/s", (double)close / (double)made.n, 1.0,
               0.05);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A receiver that wanders half a metre from fix to fix: the kart did not go
 * 5 m/s faster for it, nor did it drive while it stood. */
static void test_position__noisy_receiver_gives_steady_speed(void **state)
{
    (void)state;
    const double half_m_deg = 0.5 / 111195.0;
    struct synthetic made = drive(10.0);
    for (size_t i = 0; i < made.n; i++) {
        made.lat_deg[i] += half_m_deg * synthetic_normal(&made);
        made.lon_deg[i] += half_m_deg * synthetic_normal(&made) / 0.62;
    }
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    size_t close = 0;
    double stood_m_s = 0.0;
    for (size_t i = 0; i < made.n; i++) {
        close += fabs(session.speed_m_s[i] - made.speed_m_s[i]) < 2.0 ? 1 : 0;
        if (made.time_s[i] < 13.0)
            stood_m_s += session.speed_m_s[i] / 130.0;
    }
    check_near("share within 2 m/s", (double)close / (double)made.n, 1.0, 0.1);
    check_near("standing", stood_m_s, 0.0, 0.5);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A receiver without a fix writes zeros, a bad one jumps to the next county:
 * neither is where the kart was, and the rest is. */
static void test_position__impossible_fixes_are_set_aside(void **state)
{
    (void)state;
    struct synthetic made = drive(10.0);
    struct kw_session before;
    synthetic_session(&made, NULL, &before);
    for (size_t i = 300; i < 310; i++)
        made.lat_deg[i] = made.lon_deg[i] = 0.0;
    made.lat_deg[500] += 0.05;
    made.lon_deg[700] = 500.0;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.notices.n, 1);
    for (size_t i = 0; i < made.n; i++) {
        if (isnan(session.x_m[i]))
            continue;
        check_near("east", session.x_m[i] - session.x_m[0],
                   before.x_m[i] - before.x_m[0], 2.5);
        check_near("north", session.y_m[i] - session.y_m[0],
                   before.y_m[i] - before.y_m[0], 2.5);
    }
    kw_session_free(&session);
    kw_session_free(&before);
    synthetic_free(&made);
}

/* A receiver that is switched on writes where it was switched off, at home.
 * Some seconds later the track is believed. */
static void test_position__first_fixes_far_away_are_overruled(void **state)
{
    (void)state;
    struct synthetic made = drive(10.0);
    for (size_t i = 0; i < 20; i++)
        made.lat_deg[i] += 0.5;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    for (size_t i = 20 + 40; i < made.n; i++)
        assert_true(kw_has_place(&session, i));
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A 5 Hz receiver in a 100 Hz log: a staircase would put a line crossing up to
 * 0.2 s off, and speed would be zero, then wild. */
static void test_position__slow_receiver_is_joined_by_lines(void **state)
{
    (void)state;
    enum { EVERY = 20 };
    struct synthetic made = drive(100.0);
    struct kw_session smooth;
    synthetic_session(&made, NULL, &smooth);
    for (size_t i = made.n; i-- > 0;) {
        made.lat_deg[i] = made.lat_deg[i - i % EVERY];
        made.lon_deg[i] = made.lon_deg[i - i % EVERY];
    }
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    double worst_m = 0.0;
    for (size_t i = synthetic_at(&made, 25.0); i < synthetic_at(&made, 150.0);
         i++) {
        const double dx_m =
            session.x_m[i] - session.x_m[0] - smooth.x_m[i] + smooth.x_m[0];
        const double dy_m =
            session.y_m[i] - session.y_m[0] - smooth.y_m[i] + smooth.y_m[0];
        worst_m = fmax(worst_m, hypot(dx_m, dy_m));
    }
    /* The staircase is up to 6 m behind. */
    check_near("metres off", worst_m, 0.0, 0.3);
    kw_session_free(&session);
    kw_session_free(&smooth);
    synthetic_free(&made);
}

/* A fix that stands while the engine drives is none, in the middle of the log
 * and to its end. */
static void test_position__fix_that_hangs_is_forgotten(void **state)
{
    (void)state;
    struct synthetic made = drive(20.0);
    const size_t from = synthetic_at(&made, made.lap_start_s[1] + 5.0);
    const size_t to = synthetic_at(&made, made.lap_start_s[2] + 9.0);
    for (size_t i = from; i < to; i++) {
        made.lat_deg[i] = made.lat_deg[from];
        made.lon_deg[i] = made.lon_deg[from];
    }
    const size_t last = synthetic_at(&made, made.lap_start_s[3] + 2.0);
    for (size_t i = last; i < made.n; i++) {
        made.lat_deg[i] = made.lat_deg[last];
        made.lon_deg[i] = made.lon_deg[last];
    }
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    /* Before the start it stood, with the engine idling: that is known. */
    assert_true(kw_has_place(&session, synthetic_at(&made, 5.0)));
    assert_true(kw_has_place(&session, from - 1));
    for (size_t i = from + 20; i + 20 < to; i++)
        assert_false(kw_has_place(&session, i));
    assert_true(kw_has_place(&session, to + 20));
    for (size_t i = last + 20; i < made.n; i++)
        assert_false(kw_has_place(&session, i));
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A speed that the receiver writes hangs with the fix, though it is led over to
 * the next; a speed of its own goes on, though the last row lacks it. */
static void test_position__speed_hangs_with_its_fix_alone(void **state)
{
    (void)state;
    enum { ROWS_A_FIX = 4 };
    for (size_t k = 0; k < 2; k++) {
        const bool hangs = k == 0;
        struct synthetic_options options = synthetic_defaults();
        options.laps = 2;
        options.has_speed = true;
        options.has_position = true;
        struct synthetic made = synthetic_new(&options);
        const size_t from = synthetic_at(&made, made.lap_start_s[1] + 5.0);
        const size_t to =
            hangs ? from + (size_t)(40.0 * options.rate_hz) : made.n;
        for (size_t i = 0; i < made.n; i++) {
            const size_t fix = i >= from && i < to ? from - from % ROWS_A_FIX
                                                   : i - i % ROWS_A_FIX;
            made.lat_deg[i] = made.lat_deg[fix];
            made.lon_deg[i] = made.lon_deg[fix];
            if (hangs)
                made.speed_m_s[i] = made.speed_m_s[fix];
        }
        /* It comes back where it hung. */
        for (size_t i = to; i < to + ROWS_A_FIX && i < made.n; i++) {
            made.lat_deg[i] = made.lat_deg[from] + 1e-6;
            made.lon_deg[i] = made.lon_deg[from];
        }
        if (!hangs)
            made.speed_m_s[made.n - 1] = NAN;
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        const size_t middle = from + (size_t)(20.0 * options.rate_hz);
        assert_false(kw_has_place(&session, middle));
        assert_true(isnan(session.speed_m_s[middle]) == hangs);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* Where the receiver writes nothing it has no fix, and none that stands. */
static void test_position__blank_rows_are_no_fix_that_hangs(void **state)
{
    (void)state;
    struct synthetic made = drive(20.0);
    for (size_t i = synthetic_at(&made, made.lap_start_s[2]); i < made.n; i++)
        made.lat_deg[i] = made.lon_deg[i] = NAN;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_false(kw_has_place(&session, made.n - 1));
    assert_int_equal(session.notices.n, 0);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* Zeros throughout: the log has no position. */
static void test_position__no_fix_at_all_is_no_position(void **state)
{
    (void)state;
    struct synthetic made = drive(10.0);
    for (size_t i = 0; i < made.n; i++)
        made.lat_deg[i] = made.lon_deg[i] = 0.0;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_null(session.x_m);
    assert_null(session.y_m);
    assert_null(session.speed_m_s);
    assert_true(isnan(session.origin_lat_deg));
    kw_session_free(&session);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_position__speed_is_derived_where_there_is_none),
        cmocka_unit_test(test_position__noisy_receiver_gives_steady_speed),
        cmocka_unit_test(test_position__impossible_fixes_are_set_aside),
        cmocka_unit_test(test_position__first_fixes_far_away_are_overruled),
        cmocka_unit_test(test_position__slow_receiver_is_joined_by_lines),
        cmocka_unit_test(test_position__fix_that_hangs_is_forgotten),
        cmocka_unit_test(test_position__speed_hangs_with_its_fix_alone),
        cmocka_unit_test(test_position__blank_rows_are_no_fix_that_hangs),
        cmocka_unit_test(test_position__no_fix_at_all_is_no_position),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
