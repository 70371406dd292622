/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/slope.h"

#include "support/check.h"

#include <stdlib.h>

/* A session that is nothing but a clock. */
struct clock {
    struct kw_session session;
    double *values;
    double *out;
};

static struct clock clock_of(size_t n, double rate_hz)
{
    struct clock c = {.session = {.n_samples = n, .rate_hz = rate_hz}};
    c.session.time_s = calloc(n, sizeof(double));
    c.values = calloc(n, sizeof(double));
    c.out = calloc(n, sizeof(double));
    assert_non_null(c.session.time_s);
    assert_non_null(c.values);
    assert_non_null(c.out);
    for (size_t i = 0; i < n; i++)
        c.session.time_s[i] = (double)i / rate_hz;
    return c;
}

static void clock_free(struct clock *c)
{
    kw_session_free(&c->session);
    free(c->values);
    free(c->out);
}

struct weights_case {
    size_t window;
    double norm;
    double weights[9];
};

/* First-derivative weights of order 2: Savitzky & Golay (1964), Anal. Chem.
 * 36:1627, as corrected by Steinier, Termonia & Deltour (1972), 44:1906. */
static const struct weights_case published[] = {
    {5, 10, {-2, -1, 0, 1, 2}},
    {7, 28, {-3, -2, -1, 0, 1, 2, 3}},
    {9, 60, {-4, -3, -2, -1, 0, 1, 2, 3, 4}},
};

/* The weights are what a single 1 among zeros gives, sample by sample. */
static void test_slope__weights_are_those_of_savitzky_and_golay(void **state)
{
    (void)state;
    enum { N = 41, MIDDLE = 20 };
    for (size_t k = 0; k < sizeof published / sizeof published[0]; k++) {
        const struct weights_case *c = &published[k];
        struct clock clock = clock_of(N, 1.0);
        clock.values[MIDDLE] = 1.0;
        kw_slope(&clock.session, clock.values, (double)c->window - 0.5,
                 clock.out);
        const size_t half = c->window / 2;
        for (size_t i = 0; i < c->window; i++)
            check_near("weight", clock.out[MIDDLE + half - i],
                       c->weights[i] / c->norm, 1e-14);
        check_near("outside", clock.out[MIDDLE + half + 1], 0.0, 1e-14);
        clock_free(&clock);
    }
}

/* The slow way, from the definition. */
static double slope_slowly(const struct kw_session *session,
                           const double *values,
                           size_t at,
                           double half_s)
{
    double n = 0.0;
    double t = 0.0;
    double v = 0.0;
    double tt = 0.0;
    double tv = 0.0;
    for (size_t i = 0; i < session->n_samples; i++) {
        const double d = session->time_s[i] - session->time_s[at];
        if (fabs(d) > half_s || isnan(values[i]))
            continue;
        n += 1.0;
        t += d;
        v += values[i];
        tt += d * d;
        tv += d * values[i];
    }
    const double spread = tt - t * t / n;
    return n >= 2.0 && spread > 0.0 ? (tv - t * v / n) / spread : NAN;
}

/* Hours into a log, with jitter and missing readings, the sliding sums must
 * still be exact: a drift would look like a sag. */
static void test_slope__sliding_sums_do_not_drift(void **state)
{
    (void)state;
    enum { N = 20000 };
    struct clock clock = clock_of(N, 100.0);
    uint64_t seed = 3;
    for (size_t i = 0; i < N; i++) {
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        const double jitter = (double)(seed >> 40) / 16777216.0;
        clock.session.time_s[i] = 36000.0 + ((double)i + 0.4 * jitter) / 100.0;
        clock.values[i] =
            i % 37 == 5 ? NAN : 9000.0 + 5000.0 * sin((double)i / 200.0);
    }
    kw_slope(&clock.session, clock.values, 0.3, clock.out);
    for (size_t i = 0; i < N; i += 97)
        check_near("slope", clock.out[i],
                   slope_slowly(&clock.session, clock.values, i, 0.15), 1e-5);
    clock_free(&clock);
}

/* What lies beyond a gap is another moment of the session. */
static void test_slope__window_ends_at_a_gap(void **state)
{
    (void)state;
    enum { N = 40, GAP = 20 };
    struct clock clock = clock_of(N, 10.0);
    for (size_t i = 0; i < N; i++) {
        clock.values[i] = i < GAP ? (double)i : 1000.0 - (double)i;
        clock.session.time_s[i] += i < GAP ? 0.0 : 0.3;
    }
    assert_int_equal(kw_spans_add(&clock.session.gaps, GAP - 1, GAP, NULL),
                     KW_OK);
    kw_slope(&clock.session, clock.values, 1.0, clock.out);
    for (size_t i = 0; i < N; i++)
        check_near("slope", clock.out[i], i < GAP ? 10.0 : -10.0, 1e-9);
    kw_smooth(&clock.session, clock.values, 1.0, clock.out);
    check_near("mean before", clock.out[GAP - 1], 16.5, 1e-9);
    check_near("mean after", clock.out[GAP], 977.5, 1e-9);
    clock_free(&clock);
}

/* Nothing to go by is not known, and no crash. */
static void test_slope__too_few_readings_give_nan(void **state)
{
    (void)state;
    struct clock clock = clock_of(3, 1.0);
    clock.values[0] = clock.values[2] = NAN;
    clock.values[1] = 5.0;
    kw_slope(&clock.session, clock.values, 1.0, clock.out);
    for (size_t i = 0; i < 3; i++)
        assert_true(isnan(clock.out[i]));
    kw_smooth(&clock.session, clock.values, 1.0, clock.out);
    check_near("mean", clock.out[0], 5.0, 0.0);
    clock_free(&clock);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_slope__weights_are_those_of_savitzky_and_golay),
        cmocka_unit_test(test_slope__sliding_sums_do_not_drift),
        cmocka_unit_test(test_slope__window_ends_at_a_gap),
        cmocka_unit_test(test_slope__too_few_readings_give_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
