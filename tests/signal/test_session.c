/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/session.h"

#include "support/check.h"
#include "support/synthetic.h"

#include <stdlib.h>
#include <string.h>

/* What the logger wrote is what the detectors get. */
static void test_session__healthy_log_is_kept_as_it_is(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    struct synthetic made = synthetic_new(&options);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.n_samples, made.n);
    check_near("rate", session.rate_hz, 20.0, 1e-6);
    for (size_t i = 0; i < made.n; i++) {
        check_near("rpm", session.rpm[i], 10.0 * round(made.rpm[i] / 10.0),
                   1e-9);
        check_near("egt", session.egt_c[i], made.egt_c[i], 0.26);
    }
    assert_int_equal(session.gaps.n, 0);
    assert_int_equal(session.notices.n, 0);
    assert_null(session.speed_m_s);
    assert_null(session.x_m);
    assert_null(session.throttle);
    kw_session_free(&session);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A log of time and RPM, held by the caller. */
struct small_log {
    struct kw_log log;
    struct kw_channel channel;
};

static void small_log_of(struct small_log *s,
                         double *time_s,
                         double *rpm,
                         size_t n)
{
    s->channel = (struct kw_channel){.role = KW_ROLE_RPM, .values = rpm};
    s->log = (struct kw_log){
        .path = "made-up.csv",
        .rows_used = n,
        .data_rows = n,
        .time_s = time_s,
        .channels = &s->channel,
        .n_channels = 1,
    };
}

struct gap_case {
    const char *label;
    double step_s;
    double hole_s;
    bool is_gap;
};

/* A missed row hides nothing; a pause of the logger must not be bridged. */
static const struct gap_case gap_cases[] = {
    {"missed row at 20 Hz", 0.05, 0.10, false},
    {"three missed rows at 20 Hz", 0.05, 0.25, true},
    {"jitter at 1 kHz", 0.001, 0.02, false},
    {"pause at 1 kHz", 0.001, 0.2, true},
    {"missed row at 1 Hz", 1.0, 2.0, false},
    {"two missed rows at 1 Hz", 1.0, 3.0, true},
};

static void test_session__gaps_are_marked(void **state)
{
    (void)state;
    enum { N = 50, AT = 20 };
    for (size_t k = 0; k < sizeof gap_cases / sizeof gap_cases[0]; k++) {
        const struct gap_case *c = &gap_cases[k];
        double time_s[N];
        double rpm[N];
        for (size_t i = 0; i < N; i++) {
            time_s[i] = c->step_s * (double)i;
            time_s[i] += i >= AT ? c->hole_s - c->step_s : 0.0;
            rpm[i] = 9000.0;
        }
        struct small_log small;
        struct kw_session session;
        small_log_of(&small, time_s, rpm, N);
        assert_int_equal(kw_session_from_log(&small.log, NULL, &session, NULL),
                         KW_OK);
        check_near(c->label, (double)session.gaps.n, c->is_gap ? 1.0 : 0.0,
                   0.0);
        if (c->is_gap) {
            assert_int_equal(session.gaps.items[0].from, AT - 1);
            assert_int_equal(session.gaps.items[0].to, AT);
        }
        kw_session_free(&session);
    }
}

struct hole_case {
    const char *label;
    double holes_s[2];
    const char *notice;
};

/* Ten minutes with the logger off are no engine hours, and the person may have
 * put two runs into one file without knowing. */
static void test_session__long_holes_are_told(void **state)
{
    (void)state;
    static const struct hole_case cases[] = {
        {"short pause", {9.0, 0.0}, NULL},
        {"one hole",
         {600.0, 0.0},
         "no rows for 600 s from 1.9 s on: not counted as running. Two runs in "
         "one file?"},
        {"two holes",
         {600.0, 30.0},
         "no rows for 630 s in 2 gaps, the first from 1.9 s on: not counted as "
         "running. Two runs in one file?"},
    };
    enum { N = 60 };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        double time_s[N] = {0.0};
        double rpm[N] = {0.0};
        for (size_t i = 1; i < N; i++)
            time_s[i] = time_s[i - 1] + (i == 20   ? cases[k].holes_s[0]
                                         : i == 40 ? cases[k].holes_s[1] + 0.1
                                                   : 0.1);
        struct small_log small;
        struct kw_session session;
        small_log_of(&small, time_s, rpm, N);
        assert_int_equal(kw_session_from_log(&small.log, NULL, &session, NULL),
                         KW_OK);
        check_true(cases[k].label,
                   session.notices.n == (cases[k].notice != NULL ? 1 : 0));
        if (cases[k].notice != NULL)
            assert_string_equal(session.notices.items[0].text, cases[k].notice);
        kw_session_free(&session);
    }
}

static bool has_notice(const struct kw_session *session, const char *text)
{
    for (size_t i = 0; i < session->notices.n; i++) {
        if (strcmp(session->notices.items[i].text, text) == 0)
            return true;
    }
    return false;
}

/* The probe is silent later than the lead, so that each has its own times. */
static void test_session__blank_rpm_and_egt_are_told(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = synthetic_at(&made, 60.0); i <= synthetic_at(&made, 70.0);
         i++)
        made.rpm[i] = NAN;
    for (size_t i = synthetic_at(&made, 80.0); i <= synthetic_at(&made, 87.0);
         i++)
        made.egt_c[i] = NAN;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_true(has_notice(&session,
                           "RPM: no readings for 10 s, from 60.0 s to 70.0 s: "
                           "nothing could be judged there"));
    assert_true(has_notice(&session,
                           "EGT: no readings for 7 s, from 80.0 s to 87.0 s: "
                           "nothing could be judged there"));
    kw_session_free(&session);
    synthetic_free(&made);
}

struct edge_case {
    const char *label;
    size_t n;
    double rpm[4];
    enum kw_status status;
};

static const struct edge_case edge_cases[] = {
    {"no rows", 0, {0}, KW_BAD_INPUT},
    {"one row", 1, {9000.0}, KW_BAD_INPUT},
    {"two rows", 2, {9000.0, 9100.0}, KW_OK},
    {"one reading", 2, {NAN, 9100.0}, KW_OK},
    {"all blank", 4, {NAN, NAN, NAN, NAN}, KW_BAD_INPUT},
    {"flat", 4, {0.0, 0.0, 0.0, 0.0}, KW_OK},
    {"no number", 4, {INFINITY, 5000.0, -INFINITY, 5000.0}, KW_OK},
};

/* A log that was cut off must be refused in words or reviewed, never crash. */
static void test_session__shortest_logs_are_handled(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof edge_cases / sizeof edge_cases[0]; k++) {
        const struct edge_case *c = &edge_cases[k];
        double time_s[4] = {0.0, 0.1, 0.2, 0.3};
        double rpm[4];
        memcpy(rpm, c->rpm, sizeof rpm);
        struct small_log small;
        struct kw_session session;
        struct kw_error error = {0};
        small_log_of(&small, time_s, rpm, c->n);
        check_true(c->label, kw_session_from_log(&small.log, NULL, &session,
                                                 &error) == c->status);
        check_true(c->label, (error.what[0] != '\0') == (c->status != KW_OK));
        check_true(c->label, (session.time_s == NULL) == (c->status != KW_OK));
        for (size_t i = 0; i < session.n_samples; i++)
            check_true(c->label, !isinf(session.rpm[i]));
        kw_session_free(&session);
    }
}

/* Pedal sensors read 12 to 88 % as readily as 0 to 100. */
static void test_session__throttle_spans_its_range(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    options.has_throttle = true;
    struct synthetic made = synthetic_new(&options);
    for (size_t i = 0; i < made.n; i++)
        made.load[i] = 0.12 + 0.76 * made.load[i];
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    for (size_t i = 0; i < made.n; i++)
        check_near("throttle", session.throttle[i],
                   made.load[i] > 0.5 ? 1.0 : 0.0, 1e-9);
    kw_session_free(&session);
    /* A pedal that was hardly touched has no range to be scaled by. */
    for (size_t i = 0; i < made.n; i++)
        made.load[i] = i % 2 == 0 ? 0.10 : 0.12;
    synthetic_session(&made, NULL, &session);
    check_near("idle pedal", session.throttle[1], 0.12, 1e-9);
    kw_session_free(&session);
    synthetic_free(&made);
}

/* A GPS speed that comes every fifth row is a line, not a staircase. */
static void test_session__slow_speed_is_joined(void **state)
{
    (void)state;
    enum { EVERY = 5 };
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    options.rate_hz = 50.0;
    options.has_speed = true;
    struct synthetic made = synthetic_new(&options);
    double *held_m_s = calloc(made.n, sizeof *held_m_s);
    double *truth_m_s = made.speed_m_s;
    assert_non_null(held_m_s);
    for (size_t i = 0; i < made.n; i++)
        held_m_s[i] = truth_m_s[i - i % EVERY];
    made.speed_m_s = held_m_s;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    double worst_m_s = 0.0;
    double staircase_m_s = 0.0;
    for (size_t i = synthetic_at(&made, 20.0); i < synthetic_at(&made, 150.0);
         i++) {
        worst_m_s = fmax(worst_m_s, fabs(session.speed_m_s[i] - truth_m_s[i]));
        staircase_m_s = fmax(staircase_m_s, fabs(held_m_s[i] - truth_m_s[i]));
    }
    check_near("line", worst_m_s, 0.0, staircase_m_s / 2.0);
    kw_session_free(&session);
    free(truth_m_s);
    synthetic_free(&made);
}

/* The same where the rows between are blank: a speed that is not used costs the
 * clutch and the gearing. */
static void test_session__blank_speed_is_joined(void **state)
{
    (void)state;
    enum { EVERY = 4 };
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    options.rate_hz = 40.0;
    options.has_speed = true;
    struct synthetic made = synthetic_new(&options);
    double *sparse_m_s = calloc(made.n, sizeof *sparse_m_s);
    double *truth_m_s = made.speed_m_s;
    assert_non_null(sparse_m_s);
    for (size_t i = 0; i < made.n; i++)
        sparse_m_s[i] = i % EVERY == 0 ? truth_m_s[i] : NAN;
    made.speed_m_s = sparse_m_s;
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    for (size_t i = 0; i + EVERY < made.n; i++)
        check_near("line", session.speed_m_s[i], truth_m_s[i], 1.0);
    kw_session_free(&session);
    free(truth_m_s);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_session__healthy_log_is_kept_as_it_is),
        cmocka_unit_test(test_session__gaps_are_marked),
        cmocka_unit_test(test_session__long_holes_are_told),
        cmocka_unit_test(test_session__blank_rpm_and_egt_are_told),
        cmocka_unit_test(test_session__shortest_logs_are_handled),
        cmocka_unit_test(test_session__throttle_spans_its_range),
        cmocka_unit_test(test_session__slow_speed_is_joined),
        cmocka_unit_test(test_session__blank_speed_is_joined),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
