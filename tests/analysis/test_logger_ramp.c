/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/logger_ramp.h"

#include "support/check.h"

#include <math.h>

enum { MOST = 16000 };

/* RPM of bends and straights, with noise of its own, that is read every line_s
 * and drawn as lines.
 *
 * rate_hz, line_s  rows each second, and how long lines are; 0 for none.
 * driven_s         so long the kart is driven about, of 120 s.
 * lone             it only turns round once in three seconds.
 * resolution       of the rows.
 * noise_rpm        of each row, behind the lines.
 * rounding_rpm     of each row, when all else is done.
 * told_s           the length that is told, NAN for none. */
struct ramp_case {
    const char *label;
    double rate_hz, line_s;
    double driven_s;
    bool lone;
    double resolution, noise_rpm, rounding_rpm;
    double told_s;
};

static const double ALL_S = 120.0;

struct made {
    double time_s[MOST];
    double rpm[MOST];
    double undone[MOST];
    struct kw_session session;
};

/* Between -1 and 1, another for each number. */
static double any(double number)
{
    const double x = sin(number * 12.9898 + 4.1) * 43758.5453;
    return 2.0 * (x - floor(x)) - 1.0;
}

static double driven_rpm(const struct ramp_case *c, double time_s)
{
    if (time_s > c->driven_s)
        return 9000.0 + 20.0 * time_s;
    if (c->lone)
        return 8000.0 + 1500.0 * fabs(fmod(time_s + 1.5, 6.0) - 3.03);
    return 9000.0 + 2500.0 * sin(1.1 * time_s) +
           200.0 * any(round(time_s * 1000.0));
}

static double row_rpm(const struct ramp_case *c, double time_s)
{
    if (!(c->line_s > 0.0))
        return driven_rpm(c, time_s);
    const double place = floor(time_s / c->line_s + 1e-9);
    const double into = time_s / c->line_s - place;
    return (1.0 - into) * driven_rpm(c, place * c->line_s) +
           into * driven_rpm(c, (place + 1.0) * c->line_s);
}

static void make(const struct ramp_case *c, struct made *made)
{
    const size_t n = (size_t)(c->rate_hz * ALL_S);
    assert_true(n <= MOST);
    for (size_t i = 0; i < n; i++) {
        made->time_s[i] = (double)i / c->rate_hz;
        const double rpm =
            row_rpm(c, made->time_s[i]) + c->noise_rpm * any((double)i + 0.5);
        made->rpm[i] = round(rpm / c->resolution) * c->resolution +
                       c->rounding_rpm * any((double)i);
    }
    made->session = (struct kw_session){.n_samples = n,
                                        .rate_hz = c->rate_hz,
                                        .time_s = made->time_s,
                                        .rpm = made->rpm};
}

static const struct ramp_case ramps[] = {
    {"0.25 s, 20 Hz", 20, 0.25, 120, false, 1, 0, 0, 0.25},
    {"0.222 s, 20 Hz", 20, 0.222, 120, false, 1, 0, 0, 0.222},
    {"0.17 s, 50 Hz", 50, 0.17, 120, false, 1, 0, 0, 0.17},
    {"0.4 s, 10 Hz", 10, 0.4, 120, false, 1, 0, 0, 0.4},
    {"0.3 s, 50 Hz", 50, 0.3, 120, false, 1, 0, 0, 0.3},
    {"0.34 s, 100 Hz", 100, 0.34, 120, false, 20, 0, 0, 0.34},
    {"0.1 s, 100 Hz", 100, 0.102, 120, false, 1, 0, 0, 0.102},
    {"coarse", 20, 0.25, 120, false, 20, 0, 0, 0.25},
    {"driven for 9 s", 20, 0.25, 9, false, 5, 0, 0, 0.25},
    {"converted", 20, 0.25, 9, false, 5, 0, 0.001, 0.25},
    {"driven for 6 s", 20, 0.25, 5.9, false, 5, 0, 0, NAN},
    {"no lines", 20, 0, 120, false, 1, 0, 0, NAN},
    {"no lines, coarse", 50, 0, 120, false, 100, 0, 0, NAN},
    {"0.08 s", 50, 0.08, 120, false, 1, 0, 0, NAN},
    {"two rows", 10, 0.222, 120, false, 1, 0, 0, NAN},
    {"noise of the rows", 20, 0.25, 120, false, 1, 40, 0, NAN},
    {"one bend at a time", 50, 0, 120, true, 1, 0, 0, NAN},
};

/* Only a logger makes lines that all begin a set time behind each other. */
static void test_logger_ramp__is_told_by_lines_of_one_length(void **state)
{
    (void)state;
    static struct made made;
    for (size_t k = 0; k < sizeof ramps / sizeof ramps[0]; k++) {
        const struct ramp_case *c = &ramps[k];
        double line_s = 1.0;
        struct kw_error error;
        make(c, &made);
        made.undone[0] = -1.0;
        assert_int_equal(
            kw_undo_logger_ramp(&made.session, made.undone, &line_s, &error),
            KW_OK);
        check_near(c->label, line_s, c->told_s, 0.02 * c->told_s);
        check_true(c->label, (made.undone[0] < 0.0) == isnan(line_s));
    }
}

/* What the logger read comes back, but not beside a hole. */
static void test_logger_ramp__readings_come_back(void **state)
{
    (void)state;
    static struct made made;
    const struct ramp_case *c = &ramps[0];
    double line_s;
    struct kw_error error;
    make(c, &made);
    /* A short one, from one row behind a reading; and a long one. */
    const size_t hole = 602, behind = 614;
    const size_t long_hole = 1200, long_behind = 1700;
    for (size_t i = 0; i < made.session.n_samples; i++) {
        if ((i >= hole && i < behind) || (i >= long_hole && i < long_behind))
            made.rpm[i] = NAN;
    }
    assert_int_equal(
        kw_undo_logger_ramp(&made.session, made.undone, &line_s, &error),
        KW_OK);
    check_near("line", line_s, 0.25, 0.003);
    for (size_t i = 20; i < made.session.n_samples - 60; i++) {
        const double reads = ceil(made.time_s[i] / 0.25 - 1e-6) * 0.25;
        if (isnan(made.rpm[i]))
            check_true("missing", isnan(made.undone[i]));
        else if (i == hole - 1)
            check_near("as read", made.undone[i], made.rpm[i], 1e-9);
        else if (i + 60 < long_hole || i > long_behind + 60)
            check_near("reading", made.undone[i], driven_rpm(c, reads), 40.0);
        else
            check_true("a number", isfinite(made.undone[i]));
    }
}

/* Nothing, one reading, two, and rows too far apart for lines. */
static void test_logger_ramp__few_readings_tell_none(void **state)
{
    (void)state;
    static struct made made;
    struct kw_error error;
    for (size_t n = 0; n < 5; n++) {
        double line_s = 1.0;
        make(&ramps[0], &made);
        made.session.n_samples = n < 4 ? n : 600;
        for (size_t i = 0; n == 4 && i < 600; i++)
            made.time_s[i] = (double)i;
        if (n == 2)
            made.rpm[0] = made.rpm[1] = NAN;
        assert_int_equal(
            kw_undo_logger_ramp(&made.session, made.undone, &line_s, &error),
            KW_OK);
        assert_true(isnan(line_s));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_logger_ramp__is_told_by_lines_of_one_length),
        cmocka_unit_test(test_logger_ramp__readings_come_back),
        cmocka_unit_test(test_logger_ramp__few_readings_tell_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
