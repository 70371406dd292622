/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_delay.h"

#include "support/check.h"

#include <math.h>

enum { N = 6000 };
static const double STEP_S = 0.05;
static const double PI = 3.14159265358979323846;
static const double BEND_S = 9.0;

/* A kart that gathers speed and brakes again every nine seconds: where it is,
 * how fast, and how fast that changes. */
static double way_m(double time_s)
{
    const double turn = 2.0 * PI / BEND_S;
    return 18.0 * time_s - 6.0 / turn * cos(turn * time_s);
}

static double speed_m_s(double time_s)
{
    return 18.0 + 6.0 * sin(2.0 * PI / BEND_S * time_s);
}

static double gain_m_s2(double time_s)
{
    const double turn = 2.0 * PI / BEND_S;
    return 6.0 * turn * cos(turn * time_s);
}

/* The delay found when position comes delay_s late, a tyre slips by `slip` for
 * each m/s^2, and each fix is out by up to noise_m. */
static double delay_of(double delay_s, double slip, double noise_m)
{
    static double time_s[N];
    static double rpm[N];
    static double x_m[N];
    static double y_m[N];
    for (size_t i = 0; i < N; i++) {
        const double now_s = (double)i * STEP_S;
        time_s[i] = now_s;
        rpm[i] = 550.0 * speed_m_s(now_s) * (1.0 + slip * gain_m_s2(now_s));
        x_m[i] = way_m(now_s - delay_s) + noise_m * sin(12.9898 * (double)i);
        y_m[i] = noise_m * cos(78.233 * (double)i);
    }
    const struct kw_session session = {
        .n_samples = N,
        .rate_hz = 1.0 / STEP_S,
        .time_s = time_s,
        .rpm = rpm,
        .x_m = x_m,
        .y_m = y_m,
    };
    double found_s = NAN;
    assert_int_equal(kw_position_delay(&session, &found_s, NULL), KW_OK);
    return found_s;
}

/* A receiver that is late makes every lap begin late. What is no delay (tyres
 * that slip, noise) must not move a line that was seen rightly. */
static void test_lap_delay__is_told_from_slip(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double delay_s;
        double slip;
        double noise_m;
        double found_s;
        double within_s;
    } cases[] = {
        {"late", 0.20, 0.003, 0.0, 0.20, 0.01},
        {"late, in noise", 0.15, 0.003, 0.2, 0.15, 0.03},
        {"late, tyres that hardly slip", 0.20, 0.001, 0.0, 0.20, 0.03},
        {"in time", 0.0, 0.003, 0.0, 0.0, 0.0},
        {"in time, tyres that slip more", 0.0, 0.006, 0.1, 0.0, 0.0},
        {"too early: the RPM is late", -0.15, 0.003, 0.0, 0.0, 0.0},
        {"later than any receiver", 0.8, 0.003, 0.0, 0.0, 0.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_near(cases[i].label,
                   delay_of(cases[i].delay_s, cases[i].slip, cases[i].noise_m),
                   cases[i].found_s, cases[i].within_s);
}

/* A log without position, and one with nothing in it. */
static void test_lap_delay__nothing_to_go_by_is_none(void **state)
{
    (void)state;
    double time_s[] = {0.0, 0.1};
    double missing[] = {NAN, NAN};
    struct kw_session session = {
        .n_samples = 2, .rate_hz = 10.0, .time_s = time_s, .rpm = missing};
    double found_s = NAN;
    assert_int_equal(kw_position_delay(&session, &found_s, NULL), KW_OK);
    check_near("no position", found_s, 0.0, 0.0);
    session.x_m = session.y_m = missing;
    assert_int_equal(kw_position_delay(&session, &found_s, NULL), KW_OK);
    check_near("nothing known", found_s, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_delay__is_told_from_slip),
        cmocka_unit_test(test_lap_delay__nothing_to_go_by_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
