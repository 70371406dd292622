/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/running.h"

#include "support/check.h"
#include "support/synthetic.h"

static const struct kw_profile nothing_stated = {.idle_rpm = NAN};

static struct kw_running run(struct synthetic *made)
{
    struct kw_session session;
    struct kw_running running;
    synthetic_session(made, NULL, &session);
    assert_int_equal(kw_find_running(&session, &nothing_stated, &running, NULL),
                     KW_OK);
    kw_session_free(&session);
    return running;
}

/* A factor that means: the engine idles. */
#define IDLES (-1.0)

/* What happens to RPM in a stretch of a session that runs throughout. */
struct change {
    double start_s;
    double end_s;
    double factor;
};

struct running_case {
    const char *label;
    double rate_hz;
    double rpm_top;
    double idle_rpm;
    struct change changes[2];
    size_t starts;
    double stopped_s;
};

/* Session by default: idle to 15 s, driving to 497 s, idle to the end. */
static const struct running_case running_cases[] = {
    {"runs throughout", 20.0, 14800.0, 2200.0, {{0, 0, 0}}, 0, 0.0},
    {"four-stroke", 20.0, 6300.0, 1700.0, {{0, 0, 0}}, 0, 0.0},
    {"car at 1 Hz", 1.0, 4600.0, 620.0, {{0, 0, 0}}, 0, 0.0},
    {"started in the pits", 20.0, 14800.0, 2200.0, {{0.0, 8.0, 0.0}}, 1, 8.0},
    {"cranked for a while, then started",
     20.0,
     14800.0,
     2200.0,
     {{0.0, 5.0, 0.0}, {5.0, 8.0, 0.2}},
     1,
     8.0},
    {"stalled on track, restarted",
     20.0,
     14800.0,
     2200.0,
     {{150.0, 190.0, 0.0}, {190.0, 195.0, IDLES}},
     1,
     40.0},
    {"signal lost for a moment",
     20.0,
     14800.0,
     2200.0,
     {{200.0, 200.4, 0.0}},
     0,
     0.0},
    {"signal lost for seconds, at speed",
     20.0,
     14800.0,
     2200.0,
     {{200.0, 204.0, 0.0}},
     0,
     0.0},
    {"signal lost at idle", 20.0, 14800.0, 2200.0, {{5.0, 5.6, 0.0}}, 0, 0.0},
    {"halved for a while",
     20.0,
     14800.0,
     2200.0,
     {{200.0, 202.0, 0.5}},
     0,
     0.0},
    {"switched off at the end",
     20.0,
     14800.0,
     2200.0,
     {{502.0, 1e9, 0.0}},
     0,
     NAN},
};

static void apply(struct synthetic *made, const struct change *change)
{
    if (change->factor >= 0.0) {
        synthetic_lose_signal(made, change->start_s, change->end_s,
                              change->factor);
        return;
    }
    for (size_t i = synthetic_at(made, change->start_s);
         i < synthetic_at(made, change->end_s); i++)
        made->rpm[i] = made->options.idle_rpm;
}

/* Hours decide when a part is due: a loose lead must not add starts, and a
 * stall must not add hours. */
static void test_running__stops_count_and_dropouts_do_not(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof running_cases / sizeof running_cases[0];
         i++) {
        const struct running_case *c = &running_cases[i];
        struct synthetic_options options = synthetic_defaults();
        options.rate_hz = c->rate_hz;
        options.rpm_top = c->rpm_top;
        options.rpm_slow = 0.44 * c->rpm_top;
        options.clutch_rpm = 0.3 * c->rpm_top;
        options.idle_rpm = c->idle_rpm;
        struct synthetic made = synthetic_new(&options);
        for (size_t k = 0; k < 2; k++)
            apply(&made, &c->changes[k]);
        const double stopped_s = isnan(c->stopped_s)
                                     ? made.time_s[made.n - 1] - 502.0
                                     : c->stopped_s;
        struct kw_running running = run(&made);
        check_near(c->label, (double)running.starts, (double)c->starts, 0.0);
        check_near(c->label, running.seconds,
                   made.time_s[made.n - 1] - stopped_s, 2.2 / c->rate_hz);
        kw_running_free(&running);
        synthetic_free(&made);
    }
}

/* A log that ends or begins with blanks runs where it has readings. */
static void test_running__blank_edges_do_not_run(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    struct synthetic made = synthetic_new(&options);
    synthetic_lose_signal(&made, 0.0, 6.0, NAN);
    synthetic_lose_signal(&made, 100.0, 103.0, NAN);
    synthetic_lose_signal(&made, 150.0, 1e9, NAN);
    struct kw_running running = run(&made);
    assert_int_equal(running.starts, 0);
    assert_int_equal(running.spans.n, 1);
    check_near("seconds", running.seconds, 144.0, 0.11);
    kw_running_free(&running);
    synthetic_free(&made);
}

struct hole_case {
    const char *label;
    double at_s;
    double hole_s;
    double counted_s; /* of the hole */
};

/* An hour between two runs in one file would be an hour on every part of the
 * engine; nobody saw it run, and nobody saw it start. A second without rows is
 * the logger's own affair. */
static void test_running__hole_in_the_log_does_not_run(void **state)
{
    (void)state;
    static const struct hole_case cases[] = {
        {"pause of the logger", 200.0, 4.0, 4.0},
        {"logger off while driving", 200.0, 600.0, 0.0},
        {"two runs, idling at both edges", 5.0, 3600.0, 0.0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct hole_case *c = &cases[k];
        struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        const double whole_s = made.time_s[made.n - 1];
        for (size_t i = synthetic_at(&made, c->at_s); i < made.n; i++)
            made.time_s[i] += c->hole_s;
        struct kw_running running = run(&made);
        check_near(c->label, running.seconds, whole_s + c->counted_s, 0.11);
        check_true(c->label, running.starts == 0);
        check_true(c->label, running.spans.n == (c->counted_s > 0.0 ? 1 : 2));
        kw_running_free(&running);
        synthetic_free(&made);
    }
}

/* Dead lead: no hours, no starts, no crash. */
static void test_running__silent_log_never_runs(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 1;
    struct synthetic made = synthetic_new(&options);
    synthetic_lose_signal(&made, 0.0, 1e9, 0.0);
    struct kw_running running = run(&made);
    assert_int_equal(running.starts, 0);
    assert_int_equal(running.spans.n, 0);
    check_near("seconds", running.seconds, 0.0, 0.0);
    kw_running_free(&running);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_running__stops_count_and_dropouts_do_not),
        cmocka_unit_test(test_running__blank_edges_do_not_run),
        cmocka_unit_test(test_running__hole_in_the_log_does_not_run),
        cmocka_unit_test(test_running__silent_log_never_runs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
