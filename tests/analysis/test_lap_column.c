/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/lap_passings.h"

#include "core/array.h"
#include "support/check.h"

#include <stdlib.h>

enum { RATE_HZ = 10, LAP_S = 40, N = 200 * RATE_HZ };

/* A column's value at a time, lap 0 being the out lap; NAN for a blank field.
 * The line is passed at 40, 80, 120 and 160 s. */
typedef double column_at(double time_s);

static double lap_of(double time_s)
{
    return floor(time_s / LAP_S);
}

static double from_zero(double t)
{
    return lap_of(t);
}

static double from_seven(double t)
{
    return 7.0 + lap_of(t);
}

static double counting_down(double t)
{
    return 12.0 - lap_of(t);
}

static double by_twos(double t)
{
    return 2.0 * lap_of(t);
}

static double blank_first(double t)
{
    return lap_of(t) > 0.0 ? lap_of(t) : NAN;
}

static double only_now_and_then(double t)
{
    return fmod(t, 1.0) < 0.05 ? lap_of(t) : NAN;
}

static double with_a_glitch(double t)
{
    return t > 60.0 && t < 60.15 ? 99.0 : lap_of(t);
}

static double constant(double t)
{
    (void)t;
    return 1.0;
}

static double every_second(double t)
{
    return floor(t);
}

static double pulse(double t)
{
    return t > 1.0 && fmod(t, LAP_S) < 0.25 ? 1.0 : 0.0;
}

static double pulse_or_blank(double t)
{
    return t > 1.0 && fmod(t, LAP_S) < 0.15 ? 1.0 : NAN;
}

static double inverted_pulse(double t)
{
    return 1.0 - pulse(t);
}

static double bouncing_pulse(double t)
{
    const double since_s = fmod(t, LAP_S);
    return t > 10.0 && (since_s < 0.15 || (since_s > 1.0 && since_s < 1.2))
               ? 5.0
               : 0.0;
}

static struct kw_passings passings_of(column_at *number, column_at *marker)
{
    double *time_s = kw_array_new(N, sizeof *time_s, NULL);
    double *lap_number = kw_array_new(N, sizeof *lap_number, NULL);
    double *lap_marker = kw_array_new(N, sizeof *lap_marker, NULL);
    assert_non_null(time_s);
    assert_non_null(lap_number);
    assert_non_null(lap_marker);
    for (size_t i = 0; i < N; i++) {
        time_s[i] = (double)i / RATE_HZ;
        /* The logger decides a moment after the row's own time stamp. */
        const double at_s = time_s[i] + 1e-6;
        lap_number[i] = number != NULL ? number(at_s) : NAN;
        lap_marker[i] = marker != NULL ? marker(at_s) : NAN;
    }
    const struct kw_session session = {
        .n_samples = N,
        .rate_hz = RATE_HZ,
        .time_s = time_s,
        .lap_number = number != NULL ? lap_number : NULL,
        .lap_marker = marker != NULL ? lap_marker : NULL,
    };
    struct kw_passings passings = {0};
    assert_int_equal(kw_passings_by_column(&session, &passings, NULL), KW_OK);
    free(time_s);
    free(lap_number);
    free(lap_marker);
    return passings;
}

/* Loggers count as they please; a lap is a lap. */
static void test_lap_column__each_habit_of_counting_is_understood(void **state)
{
    (void)state;
    const struct {
        const char *label;
        column_at *number;
        column_at *marker;
        size_t n;
    } cases[] = {
        {"from 0", from_zero, NULL, 4},
        {"from 7", from_seven, NULL, 4},
        {"counting down", counting_down, NULL, 4},
        {"steps of two", by_twos, NULL, 4},
        {"blank before the line", blank_first, NULL, 4},
        {"one row in ten", only_now_and_then, NULL, 4},
        {"one wrong reading", with_a_glitch, NULL, 4},
        {"pulse", NULL, pulse, 4},
        {"pulse, else blank", NULL, pulse_or_blank, 4},
        {"pulse to zero", NULL, inverted_pulse, 4},
        {"pulse that bounces", NULL, bouncing_pulse, 4},
        {"marker that counts", NULL, from_zero, 4},
        {"constant number, but a marker", constant, pulse, 4},
        {"seconds, but a marker", every_second, pulse, 4},
        {"constant", constant, NULL, 0},
        {"a count of seconds is no lap", every_second, NULL, 0},
        {"no such column", NULL, NULL, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct kw_passings found =
            passings_of(cases[i].number, cases[i].marker);
        check_near(cases[i].label, (double)found.n, (double)cases[i].n, 0.0);
        for (size_t k = 0; k < found.n; k++)
            check_near(cases[i].label, found.time_s[k], LAP_S * (double)(k + 1),
                       0.55);
        kw_passings_free(&found);
    }
}

/* The line lies between the last row of the old lap and the first of the new:
 * the middle is at most half a row wrong. */
static void test_lap_column__passing_is_in_the_middle_of_the_step(void **state)
{
    (void)state;
    struct kw_passings found = passings_of(from_zero, NULL);
    for (size_t k = 0; k < found.n; k++)
        check_near("passing", found.time_s[k],
                   LAP_S * (double)(k + 1) - 0.5 / RATE_HZ, 1e-9);
    kw_passings_free(&found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lap_column__each_habit_of_counting_is_understood),
        cmocka_unit_test(test_lap_column__passing_is_in_the_middle_of_the_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
