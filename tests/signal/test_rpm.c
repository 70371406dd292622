/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/rpm.h"

#include "support/check.h"
#include "support/synthetic.h"

#include <math.h>

struct odd_case {
    const char *label;
    double rate_hz;
    size_t readings;
    double factor;
    bool is_glitch;
};

/* The contract's line: shorter than 0.05 s is a glitch, the rest is for the
 * drop-out detector and must reach it untouched. */
static const struct odd_case odd_cases[] = {
    {"one at 20 Hz", 20.0, 1, 0.0, true},
    {"two at 20 Hz", 20.0, 2, 0.0, false},
    {"one at 10 Hz", 10.0, 1, 0.0, false},
    {"one at 1 Hz", 1.0, 1, 0.0, false},
    {"one at 50 Hz, doubled", 50.0, 1, 2.0, true},
    {"two at 50 Hz, halved", 50.0, 2, 0.5, true},
    {"three at 50 Hz, halved", 50.0, 3, 0.5, false},
    {"four at 100 Hz", 100.0, 4, 0.0, true},
    {"five at 100 Hz", 100.0, 5, 0.0, false},
    {"fifty at 100 Hz", 100.0, 50, 0.5, false},
    {"49 at 1 kHz", 1000.0, 49, 0.0, true},
    {"60 at 1 kHz", 1000.0, 60, 0.0, false},
};

static void test_rpm__glitches_go_and_dropouts_stay(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof odd_cases / sizeof odd_cases[0]; k++) {
        const struct odd_case *c = &odd_cases[k];
        struct synthetic_options options = synthetic_defaults();
        options.laps = 1;
        options.rate_hz = c->rate_hz;
        struct synthetic made = synthetic_new(&options);
        const size_t from = synthetic_at(&made, 95.0);
        for (size_t i = from; i < from + c->readings; i++)
            made.rpm[i] *= c->factor;
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        for (size_t i = 0; i < made.n; i++) {
            const bool odd = i >= from && i < from + c->readings;
            check_true(c->label,
                       isnan(session.rpm[i]) == (odd && c->is_glitch));
            check_true(c->label, !isnan(session.rpm_raw[i]));
        }
        check_near(c->label, (double)session.notices.n,
                   c->is_glitch ? 1.0 : 0.0, 0.0);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* Readings that leap about are no glitches, however many of them stand apart
 * from their neighbours: they reach the detector as they are. */
static void test_rpm__scattered_readings_stay(void **state)
{
    (void)state;
    static const double times[] = {0.1, 0.4, 1.5, 0.3, 0.9, 1.6, 0.2, 1.3};
    const size_t n_times = sizeof times / sizeof times[0];
    for (size_t n = 2; n <= n_times; n++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 1;
        struct synthetic made = synthetic_new(&options);
        const size_t from = synthetic_at(&made, 95.0);
        for (size_t i = 0; i < n; i++)
            made.rpm[from + i] *= times[i];
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        for (size_t i = 0; i < n; i++)
            check_true("kept", !isnan(session.rpm[from + i]));
        assert_int_equal(session.notices.n, 0);
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* Sensors in rows of their own: a glitch is as long as it is, however many rows
 * of the others are written meanwhile. */
static void test_rpm__rows_of_others_make_no_glitch_longer(void **state)
{
    (void)state;
    enum { ROWS = 10 };
    for (size_t n = 1; n <= 6; n++) {
        struct synthetic_options options = synthetic_defaults();
        options.laps = 1;
        options.rate_hz = 200.0;
        struct synthetic made = synthetic_new(&options);
        const size_t near = synthetic_at(&made, 95.0);
        const size_t from = near - near % ROWS;
        for (size_t i = 0; i < made.n; i++)
            made.rpm[i] = i % ROWS == 0 ? made.rpm[i] : NAN;
        for (size_t i = 0; i < n; i++)
            made.rpm[from + i * ROWS] *= 0.5;
        struct kw_session session;
        synthetic_session(&made, NULL, &session);
        for (size_t i = 0; i < n; i++)
            check_true("kept", isnan(session.rpm[from + i * ROWS]) == (n == 1));
        kw_session_free(&session);
        synthetic_free(&made);
    }
}

/* The racer is told how many and where to look. */
static void test_rpm__notice_counts_glitches(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    options.laps = 2;
    options.rate_hz = 100.0;
    struct synthetic made = synthetic_new(&options);
    synthetic_lose_signal(&made, 80.0, 80.025, 0.0);
    synthetic_lose_signal(&made, 90.0, 90.015, 2.0);
    synthetic_lose_signal(&made, 95.0, 95.005, 0.5);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    assert_int_equal(session.notices.n, 1);
    assert_string_equal(session.notices.items[0].text,
                        "RPM: 3 glitches shorter than 0.05 s set aside, the "
                        "first at 80.0 s");
    kw_session_free(&session);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rpm__glitches_go_and_dropouts_stay),
        cmocka_unit_test(test_rpm__scattered_readings_stay),
        cmocka_unit_test(test_rpm__rows_of_others_make_no_glitch_longer),
        cmocka_unit_test(test_rpm__notice_counts_glitches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
