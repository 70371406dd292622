/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/dropout_signal.h"

#include "support/check.h"

#include <math.h>

enum { N = 120 };
static const double STEP_S = 0.1;
static const double HELD_RPM = 12000.0;
static const double OFF_RPM = 8000.0;

/* Where RPM stands still: from sample HELD on, for so many samples, and in how
 * many of them the axle is not where RPM is. */
enum { HELD = 60 };
struct hold {
    const char *label;
    size_t n_held;
    size_t n_off;
    size_t told;
};

/* RPM and axle go up and down together, but for the hold. */
static size_t count(const struct hold *hold)
{
    double time_s[N];
    double rpm[N];
    double axle_rpm[N];
    for (size_t i = 0; i < N; i++) {
        const bool held = i >= HELD && i < HELD + hold->n_held;
        const size_t from_middle = i < HELD + hold->n_held / 2
                                       ? HELD + hold->n_held / 2 - i
                                       : i - HELD - hold->n_held / 2;
        time_s[i] = STEP_S * (double)i;
        rpm[i] = held ? HELD_RPM : HELD_RPM + 10.0 * (double)(1 + i % 5);
        axle_rpm[i] = held && 2 * from_middle < hold->n_off ? OFF_RPM : rpm[i];
    }
    const struct kw_session session = {
        .n_samples = N, .rate_hz = 10.0, .time_s = time_s, .rpm = rpm};
    const struct kw_rate_limits limits = {
        .top_rpm = 14000.0,
        .locked_rpm = 6300.0,
        .fall_rpm_s = 6300.0,
        .rise_rpm_s = 4200.0,
        .noise_rpm = 20.0,
        .unsteady_rpm = 590.0,
        .step_s = STEP_S,
        .fresh_s = STEP_S,
    };
    const struct kw_rpm_search search = {
        .session = &session,
        .limits = &limits,
        .axle_rpm = axle_rpm,
        .axle_scatter = 0.01,
        .idle_rpm = 2000.0,
    };
    const struct kw_laps laps = {0};
    const struct kw_scene scene = {.session = &session, .laps = &laps};
    struct kw_events found = {0};
    assert_int_equal(kw_find_frozen_signal(&scene, &search, &found, NULL),
                     KW_OK);
    const size_t n = found.n;
    kw_events_free(&found);
    return n;
}

/* RPM stands still in many a bend where a logger has few digits, and speeds
 * that are made of positions jump about: one that is odd for a moment proves
 * nothing. */
static void test_dropout_freeze__odd_speed_proves_nothing(void **state)
{
    (void)state;
    static const struct hold rows[] = {
        {"the axle stays", 17, 0, 0}, {"one odd speed", 17, 1, 0},
        {"two in a row", 17, 2, 0},   {"the axle leaves", 17, 9, 1},
        {"in a short hold", 7, 5, 1},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        check_near(rows[k].label, (double)count(&rows[k]), (double)rows[k].told,
                   0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dropout_freeze__odd_speed_proves_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
