/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

struct dead_case {
    const char *label;
    double rate_hz;
    double seconds; /* INFINITY for ever */
    bool has_speed;
};

/* A lead that came off for laps: the speed tells it from an engine that was
 * switched off, for as long as the kart is driven on. */
static void test_dead_signal__is_found_beside_the_speed(void **state)
{
    (void)state;
    static const struct dead_case cases[] = {
        {"for 8 s", 20, 8.0, true},
        {"at 5 Hz", 5, 20.0, true},
        {"at 1 Hz", 1, 40.0, true},
        {"for two laps at 50 Hz", 50, 100.0, true},
        {"for good", 20, INFINITY, true},
        {"without a speed", 20, 30.0, false},
        {"for good, without", 20, INFINITY, false},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct dead_case *c = &cases[k];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = c->rate_hz;
        options.has_speed = c->has_speed;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[4] + 6.0;
        const double last_s = made.time_s[made.n - 1];
        synthetic_lose_signal(&made, from_s, fmin(from_s + c->seconds, last_s),
                              0.0);
        made.rpm[made.n - 1] *= isinf(c->seconds) ? 0.0 : 1.0;
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        check_near(c->label, (double)found.n, c->has_speed ? 1.0 : 0.0, 0.0);
        for (size_t e = 0; e < found.n; e++) {
            /* For good: until the kart stands at the end. */
            const double end_s =
                fmin(from_s + c->seconds, last_s - options.standing_s);
            check_near(c->label, found.items[e].start_s, from_s,
                       1.5 / c->rate_hz);
            check_near(c->label, found.items[e].end_s, end_s,
                       isinf(c->seconds) ? 3.0 : 1.5 / c->rate_hz);
            check_true(c->label,
                       found.items[e].detail.dropout.depth_rpm > 9000.0);
        }
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* The engine stops while the kart drives at a speed, and the kart rolls on for
 * 20 s at so many m/s2, then slows down to a stand. */
static void die_at_speed(struct synthetic *made,
                         double from_s,
                         double speed_m_s,
                         double gain_m_s2)
{
    const double slows_m_s2 = 1.5;
    synthetic_stop_engine(made, from_s, made->time_s[made->n - 1] + 1.0);
    for (size_t i = synthetic_at(made, from_s); i < made->n; i++) {
        const double since_s = made->time_s[i] - from_s;
        made->speed_m_s[i] =
            fmax(0.0, speed_m_s + gain_m_s2 * fmin(since_s, 20.0) -
                          slows_m_s2 * fdim(since_s, 20.0));
    }
}

/* An engine that dies is gone from RPM at once too, but the kart rolls out: on
 * the flat, down a hill of one in twenty, and where a receiver hangs as the
 * battery fails. */
static void test_dead_signal__engine_that_dies_at_speed_is_none(void **state)
{
    (void)state;
    static const double rolls[][2] = {{28.0, -1.2}, {15.0, 0.25}, {28.0, 0.0}};
    for (size_t k = 0; k < sizeof rolls / sizeof rolls[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.has_speed = true;
        struct synthetic made = synthetic_new(&options);
        die_at_speed(&made, made.lap_start_s[5] + 6.0, rolls[k][0],
                     rolls[k][1]);
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        assert_int_equal(found.n, 0);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

/* RPM that hangs until the log ends, at its last reading or at another, never
 * meets the kart again; the speed shows that it went on. */
static void test_dead_signal__frozen_to_the_end_is_found(void **state)
{
    (void)state;
    static const double sticks_at[] = {NAN, 10500.0};
    for (size_t k = 0; k < sizeof sticks_at / sizeof sticks_at[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.has_speed = true;
        struct synthetic made = synthetic_new(&options);
        const double from_s = made.lap_start_s[6] + 6.0;
        const size_t from = synthetic_at(&made, from_s);
        const double rpm = isnan(sticks_at[k]) ? made.rpm[from] : sticks_at[k];
        for (size_t i = from; i < made.n; i++)
            made.rpm[i] = rpm;
        struct kw_events found;
        detect(kw_find_dropouts, &made, NAN, &found);
        assert_int_equal(found.n, 1);
        assert_int_equal(found.items[0].detail.dropout.cause,
                         KW_CAUSE_LOOSE_CONNECTION);
        check_near("start", found.items[0].start_s, from_s, 0.1);
        check_near("end", found.items[0].end_s, made.time_s[made.n - 1], 0.1);
        kw_events_free(&found);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dead_signal__is_found_beside_the_speed),
        cmocka_unit_test(test_dead_signal__frozen_to_the_end_is_found),
        cmocka_unit_test(test_dead_signal__engine_that_dies_at_speed_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
