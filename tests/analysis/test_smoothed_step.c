/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/smoothed_step.h"

#include "support/check.h"

#include <math.h>

enum { N = 80 };
static const double STEP_S = 0.02;
static const double LAG_S = 0.08;

/* RPM at 50 Hz that climbs from 10,000 by 1,000 each second and reads so many
 * times that from 0.3 to 0.8 s, seen through a filter of the first order. */
struct made {
    double time_s[N];
    double rpm[N];
    struct kw_session session;
};

static double right_at(double time_s)
{
    return 10000.0 + 1000.0 * time_s;
}

static void make(struct made *made, double times)
{
    double y = right_at(0.0);
    for (size_t i = 0; i < N; i++) {
        const double t = STEP_S * (double)i;
        const double x = right_at(t) * (t > 0.3 && t <= 0.8 ? times : 1.0);
        y = x + (y - x) * exp(-STEP_S / LAG_S);
        made->time_s[i] = t;
        made->rpm[i] = y;
    }
    made->session = (struct kw_session){
        .time_s = made->time_s, .rpm = made->rpm, .n_samples = N};
}

static double misfit(const struct made *made, double times)
{
    const struct kw_smoothed_step step = {15, 40, 70, times};
    return kw_smoothed_misfit(&made->session, &step);
}

/* What was put in is recognised, and not taken for another fault. */
static void test_smoothed_step__its_own_factor_fits_best(void **state)
{
    (void)state;
    static const double times[] = {0.0, 0.5, 2.0};
    for (size_t k = 0; k < 3; k++) {
        struct made made;
        make(&made, times[k]);
        assert_true(misfit(&made, times[k]) < 0.03);
        for (size_t other = 0; other < 3; other++) {
            if (other != k)
                assert_false(misfit(&made, times[other]) < 0.1);
        }
    }
}

/* An engine that falls by friction, in a line, and climbs in one: no filter
 * makes that of a step. */
static void test_smoothed_step__a_falling_engine_does_not_fit(void **state)
{
    (void)state;
    struct made made;
    make(&made, 1.0);
    for (size_t i = 16; i <= 50; i++)
        made.rpm[i] = 10300.0 - 5500.0 * (i <= 40 ? (double)(i - 15) / 25.0
                                                  : (double)(50 - i) / 10.0);
    assert_false(misfit(&made, 0.5) < 0.07);
    assert_false(misfit(&made, 0.0) < 0.07);
}

/* A dip of a few percent would fit any step that hardly arrives. */
static void test_smoothed_step__a_small_dip_does_not_fit(void **state)
{
    (void)state;
    struct made made;
    make(&made, 0.95);
    assert_false(misfit(&made, 0.5) < 0.3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_smoothed_step__its_own_factor_fits_best),
        cmocka_unit_test(test_smoothed_step__a_falling_engine_does_not_fit),
        cmocka_unit_test(test_smoothed_step__a_small_dip_does_not_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
