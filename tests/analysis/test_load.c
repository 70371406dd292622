/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/load.h"

#include "analysis/running.h"
#include "support/check.h"
#include "support/synthetic.h"

#include <stdlib.h>

/* A made-up session with what was found in it. */
struct found {
    struct kw_session session;
    struct kw_running running;
    struct kw_pulls pulls;
    double *load;
};

static struct found find_load(const struct synthetic *made)
{
    const struct kw_profile profile = {.idle_rpm = NAN};
    struct found found = {0};
    synthetic_session(made, NULL, &found.session);
    assert_int_equal(
        kw_find_running(&found.session, &profile, &found.running, NULL), KW_OK);
    assert_int_equal(kw_find_load(&found.session, &found.running, &found.load,
                                  &found.pulls, NULL),
                     KW_OK);
    return found;
}

static void found_free(struct found *found)
{
    free(found->load);
    kw_pulls_free(&found->pulls);
    kw_running_free(&found->running);
    kw_session_free(&found->session);
}

static double share_right(const struct synthetic *made,
                          const struct found *found)
{
    size_t right = 0;
    for (size_t i = 0; i < made->n; i++)
        right += fabs(found->load[i] - made->load[i]) < 0.5 ? 1 : 0;
    return (double)right / (double)made->n;
}

struct engine_case {
    const char *label;
    double rate_hz;
    double rpm_top;
    double rpm_slow;
    double idle_rpm;
    double clutch_rpm;
    double rpm_noise;
    double rpm_step;
    double tolerance;
};

static const struct engine_case engine_cases[] = {
    {"two-stroke at 20 Hz", 20, 14800, 6500, 2200, 4300, 25, 10, 0.05},
    {"two-stroke at 100 Hz, 100 rpm steps", 100, 16000, 7000, 2000, 5000, 10,
     100, 0.05},
    {"two-stroke at 5 Hz", 5, 14000, 6000, 2200, 4300, 25, 10, 0.09},
    {"four-stroke at 20 Hz", 20, 6200, 3600, 1700, 2400, 15, 10, 0.07},
    {"four-stroke at 10 Hz, 50 rpm steps", 10, 4300, 2700, 1500, 1900, 5, 50,
     0.10},
    {"noisy at 1 kHz", 1000, 14800, 6500, 2200, 4300, 80, 1, 0.05},
};

/* Mixture is judged under load only: mistaking a lift for a pull would call a
 * cold pipe rich. Nothing may assume 15,000 rpm. */
static void test_load__agrees_with_the_throttle_that_made_the_rpm(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof engine_cases / sizeof engine_cases[0]; i++) {
        const struct engine_case *c = &engine_cases[i];
        struct synthetic_options options = synthetic_defaults();
        options.laps = 4;
        options.rate_hz = c->rate_hz;
        options.rpm_top = c->rpm_top;
        options.rpm_slow = c->rpm_slow;
        options.idle_rpm = c->idle_rpm;
        options.clutch_rpm = c->clutch_rpm;
        options.rpm_noise = c->rpm_noise;
        options.rpm_step = c->rpm_step;
        struct synthetic made = synthetic_new(&options);
        struct found found = find_load(&made);
        check_near(c->label, share_right(&made, &found), 1.0, c->tolerance);
        /* Four each lap; the start through the clutch may be one more. */
        check_near(c->label, (double)found.pulls.n,
                   4.0 * (double)(options.laps + 2) + 0.5, 0.5);
        found_free(&found);
        synthetic_free(&made);
    }
}

/* With a pedal sensor there is nothing to guess. */
static void test_load__throttle_is_believed(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 3;
    options.has_throttle = true;
    struct synthetic made = synthetic_new(&options);
    struct found found = find_load(&made);
    check_near("share", share_right(&made, &found), 1.0, 0.001);
    found_free(&found);
    /* A sensor that came off reads one value: RPM tells. */
    for (size_t i = 0; i < made.n; i++)
        made.load[i] = 0.0;
    found = find_load(&made);
    assert_true(found.pulls.n > 10);
    found_free(&found);
    synthetic_free(&made);
}

/* The pull that holds a moment; a span of no samples when there is none. */
static struct kw_pull pull_at(const struct found *found, double time_s)
{
    for (size_t i = 0; i < found->pulls.n; i++) {
        const struct kw_span span = found->pulls.items[i].span;
        if (found->session.time_s[span.from] <= time_s &&
            found->session.time_s[span.to - 1] >= time_s)
            return found->pulls.items[i];
    }
    return (struct kw_pull){{0, 0}, false};
}

/* When the longest straight of the third lap is driven. */
static void longest_pull_s(const struct synthetic *made,
                           double *start_s,
                           double *end_s)
{
    const double lap_s = made->lap_start_s[4] - made->lap_start_s[3];
    *start_s = made->lap_start_s[3];
    *end_s = *start_s + 0.34 * 0.76 * lap_s;
}

/* An engine that runs out of fuel sags against an open throttle. If that ended
 * the pull, nobody would see a pull that sags. */
static void test_load__sag_is_part_of_its_pull(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 5;
    struct synthetic made = synthetic_new(&options);
    double start_s = 0.0;
    double end_s = 0.0;
    longest_pull_s(&made, &start_s, &end_s);
    synthetic_starve(&made, start_s + 5.0, end_s, 2200.0, 40.0);
    struct found found = find_load(&made);
    const struct kw_pull pull = pull_at(&found, start_s + 4.0);
    check_near("start", found.session.time_s[pull.span.from], start_s, 0.3);
    check_near("end", found.session.time_s[pull.span.to - 1], end_s, 0.3);
    assert_true(pull.complete);
    found_free(&found);
    synthetic_free(&made);
}

/* A loose pickup lead on the straight: one pull, not two. */
static void test_load__dropout_of_the_signal_ends_no_pull(void **state)
{
    (void)state;
    static const double factors[] = {0.0, 0.5, 2.0};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 5;
        struct synthetic made = synthetic_new(&options);
        double start_s = 0.0;
        double end_s = 0.0;
        longest_pull_s(&made, &start_s, &end_s);
        synthetic_lose_signal(&made, start_s + 4.0, start_s + 4.6, factors[i]);
        struct found found = find_load(&made);
        const struct kw_pull pull = pull_at(&found, start_s + 2.0);
        check_near("start", found.session.time_s[pull.span.from], start_s, 0.3);
        check_near("end", found.session.time_s[pull.span.to - 1], end_s, 0.3);
        found_free(&found);
        synthetic_free(&made);
    }
}

/* What the logger did not write may have held a lift. */
static void test_load__gap_ends_a_pull(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 5;
    struct synthetic made = synthetic_new(&options);
    double start_s = 0.0;
    double end_s = 0.0;
    longest_pull_s(&made, &start_s, &end_s);
    for (size_t i = synthetic_at(&made, start_s + 4.0); i < made.n; i++)
        made.time_s[i] += 1.0;
    struct found found = find_load(&made);
    const struct kw_pull before = pull_at(&found, start_s + 3.0);
    const struct kw_pull after = pull_at(&found, start_s + 7.0);
    check_near("end", found.session.time_s[before.span.to - 1], start_s + 4.0,
               0.06);
    assert_false(before.complete);
    assert_true(after.span.from >= before.span.to);
    assert_true(after.complete);
    found_free(&found);
    synthetic_free(&made);
}

/* Rolling along behind a yellow flag is no pull, though RPM does not fall. */
static void test_load__constant_pace_is_no_pull(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 6;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = synthetic_at(&made, 150.0); i < synthetic_at(&made, 180.0);
         i++)
        made.rpm[i] = 8200.0 + 25.0 * synthetic_normal(&made);
    struct found found = find_load(&made);
    for (size_t i = synthetic_at(&made, 152.0); i < synthetic_at(&made, 178.0);
         i++)
        check_near("load", found.load[i], 0.0, 0.0);
    found_free(&found);
    synthetic_free(&made);
}

/* Nothing happened, or nothing was read: no pull, and no crash. */
static void test_load__logs_without_driving_have_no_pull(void **state)
{
    (void)state;
    static const double factors[] = {0.0, NAN};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 1;
        struct synthetic made = synthetic_new(&options);
        synthetic_lose_signal(&made, 0.5, 1e9, factors[i]);
        struct found found = find_load(&made);
        assert_int_equal(found.pulls.n, 0);
        found_free(&found);
        made.n = 2;
        found = find_load(&made);
        assert_int_equal(found.pulls.n, 0);
        found_free(&found);
        synthetic_free(&made);
    }
}

/* A hole in the log is no lift: neither question is answered with yes. */
static void test_load__what_is_not_known_is_neither_on_nor_off(void **state)
{
    (void)state;
    assert_true(kw_under_load(1.0));
    assert_false(kw_off_load(1.0));
    assert_true(kw_off_load(0.0));
    assert_false(kw_under_load(0.0));
    assert_false(kw_under_load(NAN));
    assert_false(kw_off_load(NAN));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_load__agrees_with_the_throttle_that_made_the_rpm),
        cmocka_unit_test(test_load__throttle_is_believed),
        cmocka_unit_test(test_load__sag_is_part_of_its_pull),
        cmocka_unit_test(test_load__dropout_of_the_signal_ends_no_pull),
        cmocka_unit_test(test_load__gap_ends_a_pull),
        cmocka_unit_test(test_load__constant_pace_is_no_pull),
        cmocka_unit_test(test_load__logs_without_driving_have_no_pull),
        cmocka_unit_test(test_load__what_is_not_known_is_neither_on_nor_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
