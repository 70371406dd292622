/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/probe_lag.h"

#include "signal/gas.h"
#include "support/check.h"
#include "support/made_scene.h"
#include "support/synthetic.h"

/* A step of the gas from 300 to 600 C at 10 s, seen through a lag of 1 s at
 * 50 Hz. */
enum { N_STEP = 1000 };

struct step {
    double time_s[N_STEP];
    double raw_c[N_STEP];
    double egt_c[N_STEP];
    double gas_c[N_STEP];
    struct kw_session session;
};

static void make_step(struct step *step)
{
    for (size_t i = 0; i < N_STEP; i++) {
        step->time_s[i] = (double)i / 50.0;
        const double since_s = step->time_s[i] - 10.0;
        step->egt_c[i] =
            300.0 + (since_s > 0.0 ? 300.0 * (1.0 - exp(-since_s)) : 0.0);
        step->raw_c[i] = step->gas_c[i] = step->egt_c[i];
    }
    step->session = (struct kw_session){.n_samples = N_STEP,
                                        .rate_hz = 50.0,
                                        .time_s = step->time_s,
                                        .egt_raw_c = step->raw_c,
                                        .egt_c = step->egt_c,
                                        .gas_c = step->gas_c};
}

/* Sensor makers: 63.2 % of a step after one time constant, 99.3 % after five.
 * A lean stretch must be timed by the gas and not by the probe. */
static void test_probe_lag__step_comes_back_as_a_step(void **state)
{
    (void)state;
    static struct step step;
    make_step(&step);
    check_near("after one", step.egt_c[550], 300.0 + 300.0 * 0.632, 0.1);
    check_near("after five", step.egt_c[750], 300.0 + 300.0 * 0.993, 0.1);
    assert_int_equal(kw_take_out_lag(&step.session, 1.0, NULL), KW_OK);
    for (size_t i = 20; i < N_STEP - 20; i++) {
        /* The window of the slope is a quarter of a second wide here. */
        if (fabs(step.time_s[i] - 10.0) > 0.15)
            check_near("gas", step.gas_c[i],
                       step.time_s[i] < 10.0 ? 300.0 : 600.0, 1.5);
    }
}

/* With a lag that is not the probe's the step does not come back: the test
 * above can fail. */
static void test_probe_lag__wrong_lag_overshoots(void **state)
{
    (void)state;
    static struct step step;
    make_step(&step);
    assert_int_equal(kw_take_out_lag(&step.session, 2.0, NULL), KW_OK);
    assert_true(step.gas_c[515] > 700.0);
}

/* Loggers and probes differ; a lag that is 40 % wrong would move an episode by
 * more than half a second. */
static void test_probe_lag__is_found_in_the_session(void **state)
{
    (void)state;
    const struct {
        const char *label;
        double lag_s;
        double rate_hz;
        double step_c;
    } rows[] = {
        {"quick probe", 0.6, 20.0, 0.5},  {"usual", 1.2, 20.0, 0.5},
        {"slow probe", 2.2, 20.0, 0.5},   {"5 Hz", 1.2, 5.0, 1.0},
        {"10 Hz", 1.2, 10.0, 1.0},        {"100 Hz", 1.2, 100.0, 1.0},
        {"coarse steps", 1.2, 20.0, 5.0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.probe_lag_s = rows[k].lag_s;
        options.rate_hz = rows[k].rate_hz;
        options.egt_step_c = rows[k].step_c;
        struct synthetic made = synthetic_new(&options);
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        check_near(rows[k].label, session.probe_lag_s / rows[k].lag_s, 1.0,
                   0.4);
        check_true(rows[k].label,
                   session.probe_lag_origin == KW_ORIGIN_SESSION);
        check_true(rows[k].label, session.probe_lag_error_s > 0.0 &&
                                      session.probe_lag_error_s < 0.5);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* What the owner states is taken, and said to be the owner's. */
static void test_probe_lag__stated_lag_is_taken(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct kw_profile profile;
    kw_profile_init(&profile);
    struct kw_session session;
    profile.probe_lag_s = 0.9;
    synthetic_session(&made, &profile, &session);
    check_near("lag", session.probe_lag_s, 0.9, 0.0);
    assert_int_equal(session.probe_lag_origin, KW_ORIGIN_PROFILE);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A probe that shows nothing of the engine has no lag to be found, and what is
 * not known must not be made up. */
static void test_probe_lag__flat_probe_is_not_known(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    for (size_t i = 0; i < made.n; i++)
        made.egt_c[i] = 400.0 + 3.0 * synthetic_normal(&made);
    synthetic_session(&made, NULL, &session);
    assert_true(isnan(session.probe_lag_s));
    assert_int_equal(session.probe_lag_origin, KW_ORIGIN_NOT_KNOWN);
    for (size_t i = 0; session.gas_c != NULL && i < session.n_samples; i++)
        check_near("gas", session.gas_c[i], session.egt_c[i], 0.0);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A log without EGT is reviewed like any other. */
static void test_probe_lag__no_probe_is_no_error(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.has_egt = false;
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_null(session.gas_c);
    assert_true(isnan(session.probe_lag_s));
    kw_session_free(&session);
    synthetic_free(&made);
}

/* The fault must not blind the tool to the probe: two laps far too lean, in one
 * session, and the lag is as well known as without. */
static void test_probe_lag__strong_fault_does_not_hide_it(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.egt_noise_c = 0.3;
    struct synthetic made = synthetic_new(&options);
    synthetic_lean(&made, made.lap_start_s[3] + 4.0, made.lap_start_s[4] - 9.0,
                   130.0);
    synthetic_lean(&made, made.lap_start_s[5] + 7.0, made.lap_start_s[6] - 6.0,
                   110.0);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.probe_lag_origin, KW_ORIGIN_SESSION);
    check_near("lag", session.probe_lag_s, options.probe_lag_s,
               0.3 * options.probe_lag_s);
    assert_true(session.probe_lag_error_s < 0.2 * options.probe_lag_s);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A logger that was left on for half an hour before the drive: the lag is
 * learned from the drive all the same. */
static void test_probe_lag__long_wait_in_the_pits_does_not_hide_it(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.standing_s = 1800.0;
    struct synthetic made = synthetic_new(&options);
    made.n -= (size_t)(options.standing_s * options.rate_hz);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.probe_lag_origin, KW_ORIGIN_SESSION);
    check_near("lag", session.probe_lag_s, options.probe_lag_s,
               0.3 * options.probe_lag_s);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* Two recordings hours apart in one file, and the engine off in both: nothing
 * is learned, and no room is needed for the hours. */
static void test_probe_lag__engine_off_is_not_known(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++) {
        made.rpm[i] = 0.0;
        made.time_s[i] += i < made.n / 2 ? 0.0 : 10800.0;
    }
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_non_null(session.gas_c);
    assert_int_equal(session.probe_lag_origin, KW_ORIGIN_NOT_KNOWN);
    kw_session_free(&session);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_probe_lag__strong_fault_does_not_hide_it),
        cmocka_unit_test(
            test_probe_lag__long_wait_in_the_pits_does_not_hide_it),
        cmocka_unit_test(test_probe_lag__step_comes_back_as_a_step),
        cmocka_unit_test(test_probe_lag__wrong_lag_overshoots),
        cmocka_unit_test(test_probe_lag__is_found_in_the_session),
        cmocka_unit_test(test_probe_lag__stated_lag_is_taken),
        cmocka_unit_test(test_probe_lag__flat_probe_is_not_known),
        cmocka_unit_test(test_probe_lag__engine_off_is_not_known),
        cmocka_unit_test(test_probe_lag__no_probe_is_no_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
