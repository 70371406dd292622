/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/egt.h"

#include "support/check.h"
#include "support/synthetic.h"

#include <math.h>
#include <stdlib.h>

/* What the chosen reading of a made-up session looks like. */
static size_t missing_between(const struct kw_session *session,
                              double start_s,
                              double end_s)
{
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (session->time_s[i] >= start_s && session->time_s[i] < end_s)
            n += isnan(session->egt_c[i]) ? 1 : 0;
    }
    return n;
}

struct healthy_case {
    const char *label;
    double rate_hz;
    double probe_lag_s;
    double egt_noise_c;
    double egt_step_c;
};

static const struct healthy_case healthy_cases[] = {
    {"20 Hz", 20.0, 1.2, 0.8, 0.5},
    {"1 Hz", 1.0, 1.0, 1.0, 1.0},
    {"5 Hz, quick probe", 5.0, 0.5, 0.5, 0.1},
    {"100 Hz, quick probe", 100.0, 0.4, 0.5, 0.1},
    {"1 kHz", 1000.0, 1.5, 1.0, 0.1},
    {"coarse steps", 20.0, 1.0, 0.5, 5.0},
    {"very coarse steps, slow probe", 50.0, 3.0, 0.1, 10.0},
    {"noisy", 20.0, 1.0, 6.0, 1.0},
};

/* Cleaning that eats healthy readings blinds every judgement of the mixture. */
static void test_egt__healthy_probe_loses_nothing(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof healthy_cases / sizeof healthy_cases[0];
         i++) {
        const struct healthy_case *c = &healthy_cases[i];
        struct synthetic_options options = synthetic_defaults();
        options.laps = 2;
        options.rate_hz = c->rate_hz;
        options.probe_lag_s = c->probe_lag_s;
        options.egt_noise_c = c->egt_noise_c;
        options.egt_step_c = c->egt_step_c;
        struct synthetic made = synthetic_new(&options);
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        check_near(c->label, (double)missing_between(&session, 0.0, 1e9), 0.0,
                   0.0);
        check_near(c->label, (double)session.notices.n, 0.0, 0.0);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* EGT once a second beside RPM at 20 Hz, the rows between blank: the probe
 * moves as far from one reading to the next as in a log of 1 Hz, and no
 * healthy probe must be called open for it. */
static void test_egt__blank_rows_between_readings_are_no_spikes(void **state)
{
    (void)state;
    static const size_t every[] = {4, 10, 20};
    for (size_t k = 0; k < sizeof every / sizeof every[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 4;
        options.egt_step_c = 1.0;
        struct synthetic made = synthetic_new(&options);
        for (size_t i = 0; i < made.n; i++) {
            if (i % every[k] != 0)
                made.egt_c[i] = NAN;
        }
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        /* None set aside, and the rows between filled: up to the last one. */
        check_near("missing",
                   (double)missing_between(&session, 0.0,
                                           made.time_s[made.n - 1] - 1.0),
                   0.0, 0.0);
        /* The lag is found and taken out as in a log without blanks. */
        check_near("lag", session.probe_lag_s, options.probe_lag_s, 0.5);
        check_near("notices", (double)session.notices.n, 0.0, 0.0);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

struct fault_case {
    const char *label;
    double rate_hz;
    double start_s;
    double end_s;
    double reading_c;
};

static const struct fault_case fault_cases[] = {
    {"full scale of type K", 20.0, 120.0, 150.0, 1372.0},
    {"full scale of ten bits", 20.0, 120.0, 150.0, 1023.0},
    {"999, short", 20.0, 120.0, 121.0, 999.0},
    {"zero", 20.0, 120.0, 123.0, 0.0},
    {"below zero", 20.0, 120.0, 130.0, -200.0},
    {"one spike", 20.0, 120.0, 120.05, 900.0},
    {"one spike down", 50.0, 120.0, 120.02, 150.0},
    {"spike at 100 Hz", 100.0, 120.0, 120.05, 760.0},
    {"spike at 5 Hz", 5.0, 120.0, 120.2, 1050.0},
    {"to the end of the log", 10.0, 200.0, 1e9, 1023.0},
    {"from the start of the log", 10.0, 0.0, 30.0, 1023.0},
    {"stuck", 20.0, 120.0, 145.0, 552.5},
};

/* A probe that reads nonsense must not be taken for a lean engine, nor hide
 * one: the readings go, the others stay. */
static void test_egt__fault_is_set_aside_and_nothing_else(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof fault_cases / sizeof fault_cases[0]; i++) {
        const struct fault_case *c = &fault_cases[i];
        struct synthetic_options options = synthetic_defaults();
        options.laps = 4;
        options.rate_hz = c->rate_hz;
        struct synthetic made = synthetic_new(&options);
        synthetic_fix_probe(&made, c->start_s, c->end_s, c->reading_c);
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        const double expected = (double)(synthetic_at(&made, c->end_s) -
                                         synthetic_at(&made, c->start_s));
        check_near(c->label,
                   (double)missing_between(&session, c->start_s, c->end_s),
                   expected, 0.0);
        check_near(c->label, (double)missing_between(&session, 0.0, 1e9),
                   expected, 0.0);
        check_true(c->label, session.notices.n >= 1);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* A converter slower than the logger holds its spikes for several rows. They
 * are no pulls: those climb as fast as this probe usually does, which a chafed
 * wire must not teach wrongly, and no faster. A fall as large is left in, for a
 * spark that cuts gives one. */
static void test_egt__spikes_of_a_slow_converter_are_set_aside(void **state)
{
    (void)state;
    enum { HELD = 8, EVERY = 12 };
    static const double leaps_c[] = {260.0, -260.0};
    for (size_t k = 0; k < 2; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 4;
        struct synthetic made = synthetic_new(&options);
        double leapt = 0.0;
        for (size_t i = 0; i < made.n; i++) {
            const bool leaps = i / HELD % EVERY == EVERY - 1;
            if (i % HELD > 0)
                made.egt_c[i] = made.egt_c[i - 1];
            else if (leaps)
                made.egt_c[i] += leaps_c[k];
            leapt += leaps ? 1.0 : 0.0;
        }
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        check_near("set aside", (double)missing_between(&session, 0.0, 1e9),
                   leaps_c[k] > 0.0 ? leapt : 0.0, 0.02 * leapt);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* Behind a yellow flag RPM stands still, and with it a reading in steps of 5 C;
 * the kart pulls away before the probe shows it. */
static void test_egt__steady_reading_at_steady_rpm_is_not_stuck(void **state)
{
    (void)state;
    static const double yellow_s = 9.0;
    static const double pulls_s = 1.0;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 4;
    options.rate_hz = 10.0;
    options.egt_step_c = 5.0;
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[2];
    const size_t from = synthetic_at(&made, from_s);
    const size_t pulls = synthetic_at(&made, from_s + yellow_s);
    const size_t to = synthetic_at(&made, from_s + yellow_s + pulls_s);
    for (size_t i = from; i < to; i++) {
        made.egt_c[i] = 465.0;
        made.rpm[i] = i < pulls ? 8090.0 : made.rpm[i - 1] + 500.0;
    }
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    check_near("set aside", (double)missing_between(&session, 0.0, 1e9), 0.0,
               0.0);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A wire that chafes through gives a spike in every twenty readings: they must
 * not teach the program that such leaps are usual. */
static void test_egt__many_spikes_do_not_hide_each_other(void **state)
{
    (void)state;
    static const double rates_hz[] = {10.0, 20.0, 100.0};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 4;
        options.rate_hz = rates_hz[k];
        struct synthetic made = synthetic_new(&options);
        double *truth_c = calloc(made.n, sizeof *truth_c);
        assert_non_null(truth_c);
        for (size_t i = 0; i < made.n; i++) {
            truth_c[i] = made.egt_c[i];
            if (synthetic_normal(&made) > 1.645)
                made.egt_c[i] += 250.0 * synthetic_normal(&made);
        }
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        double bad = 0.0;
        double bad_kept = 0.0;
        double good_lost = 0.0;
        for (size_t i = 0; i < made.n; i++) {
            const bool is_bad = fabs(made.egt_c[i] - truth_c[i]) > 200.0;
            const bool is_good = fabs(made.egt_c[i] - truth_c[i]) < 20.0;
            bad += is_bad ? 1.0 : 0.0;
            bad_kept += is_bad && !isnan(session.egt_c[i]) ? 1.0 : 0.0;
            good_lost += is_good && isnan(session.egt_c[i]) ? 1.0 : 0.0;
        }
        check_near("spikes left in", bad_kept / bad, 0.0, 0.10);
        check_near("readings lost", good_lost / (double)made.n, 0.0, 0.02);
        kw_session_free(&session);
        free(truth_c);
        synthetic_free(&made);
    }
}

/* The lead came off in the middle of the session, and the logger shows its own
 * noise about zero: no exhaust of an engine at work, and no single value. */
static void test_egt__probe_that_dies_is_set_aside(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 4;
    struct synthetic made = synthetic_new(&options);
    const double from_s = made.lap_start_s[3];
    const size_t from = synthetic_at(&made, from_s);
    for (size_t i = from; i < made.n; i++)
        made.egt_c[i] = 0.7 * synthetic_normal(&made);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    check_near("set aside", (double)missing_between(&session, 0.0, 1e9),
               (double)(made.n - from), 0.0);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A probe that reads one value all day, or only the garage's air, leaves
 * nothing to judge: the session must say that it has no EGT. */
static void test_egt__dead_probe_is_no_probe(void **state)
{
    (void)state;
    static const double readings_c[] = {1372.0, 0.0, 24.0, 480.0};
    for (size_t i = 0; i < sizeof readings_c / sizeof readings_c[0]; i++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 3;
        struct synthetic made = synthetic_new(&options);
        synthetic_fix_probe(&made, 0.0, 1e9, readings_c[i]);
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        assert_null(session.egt_c);
        assert_null(session.gas_c);
        assert_non_null(session.egt_raw_c);
        assert_true(session.notices.n >= 1);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* A slow sensor's staircase is no fault, and its lines pass through the fresh
 * readings. */
static void test_egt__slow_sensor_becomes_a_line(void **state)
{
    (void)state;
    enum { EVERY = 10 };
    struct synthetic_options options = synthetic_defaults();
    options.laps = 3;
    options.rate_hz = 40.0;
    options.egt_noise_c = 0.0;
    options.egt_step_c = 0.0;
    struct synthetic made = synthetic_new(&options);
    double worst_c = 0.0;
    double *truth_c = made.egt_c;
    double *held_c = calloc(made.n, sizeof *held_c);
    assert_non_null(held_c);
    for (size_t i = 0; i < made.n; i++)
        held_c[i] = truth_c[i - i % EVERY];
    made.egt_c = held_c;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(missing_between(&session, 0.0, 1e9), 0);
    double staircase_c = 0.0;
    for (size_t i = synthetic_at(&made, 30.0); i < made.n - EVERY; i++) {
        worst_c = fmax(worst_c, fabs(session.egt_c[i] - truth_c[i]));
        staircase_c = fmax(staircase_c, fabs(held_c[i] - truth_c[i]));
    }
    check_near("line", worst_c, 0.0, staircase_c / 3.0);
    kw_session_free(&session);
    free(truth_c);
    synthetic_free(&made);
}

/* Two probes of which one is dead: the other is believed, whichever is first.
 */
static void test_egt__working_probe_is_chosen(void **state)
{
    (void)state;
    for (size_t dead = 0; dead < 2; dead++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 2;
        struct synthetic made = synthetic_new(&options);
        struct kw_log log;
        synthetic_log(&made, &log);
        struct kw_channel *second = &log.channels[log.n_channels++];
        *second = (struct kw_channel){.role = KW_ROLE_EGT, .probe = 1};
        second->values = calloc(made.n, sizeof *second->values);
        assert_non_null(second->values);
        double *values = dead == 1 ? second->values : log.channels[2].values;
        double *good = dead == 1 ? log.channels[2].values : second->values;
        for (size_t i = 0; i < made.n; i++) {
            good[i] = made.egt_c[i];
            values[i] = 1023.0;
        }
        struct kw_session session;
        assert_int_equal(kw_session_from_log(&log, NULL, &session, NULL),
                         KW_OK);
        assert_int_equal(session.egt_probe, 1 - dead);
        assert_non_null(session.egt_c);
        kw_session_free(&session);
        kw_log_free(&log);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_egt__healthy_probe_loses_nothing),
        cmocka_unit_test(test_egt__blank_rows_between_readings_are_no_spikes),
        cmocka_unit_test(test_egt__fault_is_set_aside_and_nothing_else),
        cmocka_unit_test(test_egt__steady_reading_at_steady_rpm_is_not_stuck),
        cmocka_unit_test(test_egt__spikes_of_a_slow_converter_are_set_aside),
        cmocka_unit_test(test_egt__many_spikes_do_not_hide_each_other),
        cmocka_unit_test(test_egt__probe_that_dies_is_set_aside),
        cmocka_unit_test(test_egt__dead_probe_is_no_probe),
        cmocka_unit_test(test_egt__slow_sensor_becomes_a_line),
        cmocka_unit_test(test_egt__working_probe_is_chosen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
