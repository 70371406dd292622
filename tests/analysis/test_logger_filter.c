/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/logger_filter.h"

#include "support/check.h"

#include <math.h>

enum { MOST = 8000 };
static const double TOP_RPM = 14000.0;
static const double HIGH_RPM = 10000.0;

/* RPM that leaps down and up, an edge each second, seen through a filter.
 *
 * edges       how many; the first n_sharp of them go to low_rpm and through a
 *             filter of lag_s, the others to other_rpm and through other_s.
 * by_way      all go to low_rpm, and those that go up through other_s.
 * spikes      leaps behind them that are back at the next reading.
 * resolution  of the readings.
 * has_holes   every second edge lacks its first reading.
 * told_s      the lag that is told, NAN for none. */
struct filter_case {
    const char *label;
    double rate_hz;
    size_t edges, n_sharp;
    double low_rpm, lag_s;
    double other_rpm, other_s;
    size_t spikes;
    double resolution;
    bool has_holes, by_way;
    double told_s;
};

struct made {
    double time_s[MOST];
    double input[MOST];
    double rpm[MOST];
    double undone[MOST];
    struct kw_session session;
};

static double input_at(const struct filter_case *c,
                       size_t second,
                       size_t row,
                       double *lag_s)
{
    if (second <= c->edges) {
        const bool sharp = second <= c->n_sharp;
        *lag_s =
            sharp && (!c->by_way || second % 2 == 1) ? c->lag_s : c->other_s;
        const double low_rpm = sharp ? c->low_rpm : c->other_rpm;
        return second % 2 == 1 ? low_rpm : HIGH_RPM;
    }
    *lag_s = c->lag_s;
    return second <= c->edges + c->spikes && row == 0 ? c->low_rpm : HIGH_RPM;
}

static void make(const struct filter_case *c, struct made *made)
{
    const size_t rows = (size_t)c->rate_hz;
    const size_t n = rows * (c->edges + c->spikes + 2);
    double y = HIGH_RPM;
    assert_true(n <= MOST);
    for (size_t i = 0; i < n; i++) {
        double lag_s = c->lag_s;
        const size_t second = i / rows;
        made->input[i] = input_at(c, second, i % rows, &lag_s);
        y = made->input[i] +
            (y - made->input[i]) * exp(-1.0 / c->rate_hz / lag_s);
        made->time_s[i] = (double)i / c->rate_hz;
        made->rpm[i] = round(y / c->resolution) * c->resolution;
        if (c->has_holes && second % 2 == 1 && i % rows == 0)
            made->rpm[i] = NAN;
    }
    made->session = (struct kw_session){.n_samples = n,
                                        .rate_hz = c->rate_hz,
                                        .time_s = made->time_s,
                                        .rpm = made->rpm};
}

static const struct filter_case filters[] = {
    {"0.15 s", 20, 8, 8, 5000, 0.15, 0, 1, 0, 0.01, false, false, 0.15},
    {"at 10 Hz", 10, 8, 8, 5000, 0.15, 0, 1, 0, 0.01, false, false, 0.15},
    {"coarse, 100 Hz", 100, 8, 8, 5000, 0.2, 0, 1, 0, 10, false, false, 0.2},
    {"two edges", 20, 2, 2, 8200, 0.15, 0, 1, 0, 0.01, false, false, NAN},
    {"at 4 Hz", 4, 8, 8, 5000, 0.25, 0, 1, 0, 0.01, false, false, NAN},
    {"0.04 s", 20, 8, 8, 5000, 0.04, 0, 1, 0, 0.01, false, false, NAN},
    {"0.35 s", 20, 8, 8, 2000, 0.35, 0, 1, 0, 0.01, false, false, 0.30},
    {"0.5 s", 20, 8, 8, 0, 0.5, 0, 1, 0, 0.01, false, false, NAN},
    {"no filter", 20, 8, 8, 5000, 0.001, 0, 1, 0, 0.01, false, false, NAN},
    {"two lags", 20, 8, 4, 5000, 0.08, 5000, 0.3, 0, 0.01, false, false, NAN},
    {"slower up", 20, 8, 8, 5000, 0.09, 0, 0.22, 0, 0.01, false, true, NAN},
    {"small edges", 20, 8, 8, 9700, 0.15, 0, 1, 0, 0.01, false, false, NAN},
    {"slower, small", 20, 56, 16, 2000, 0.15, 5000, 0.35, 0, 0.01, false, false,
     0.15},
    {"spikes, 10 Hz", 10, 6, 6, 5000, 0.15, 0, 1, 10, 0.01, false, false, 0.15},
    {"holes", 20, 12, 12, 5000, 0.15, 0, 1, 0, 0.01, true, false, 0.15},
};

/* Only a filter makes all edges alike; where none is told nothing is undone. */
static void test_logger_filter__is_told_by_edges_that_are_alike(void **state)
{
    (void)state;
    static struct made made;
    for (size_t k = 0; k < sizeof filters / sizeof filters[0]; k++) {
        const struct filter_case *c = &filters[k];
        double lag_s = 1.0;
        struct kw_error error;
        make(c, &made);
        made.undone[0] = -1.0;
        assert_int_equal(kw_undo_logger_filter(&made.session, TOP_RPM,
                                               made.undone, &lag_s, &error),
                         KW_OK);
        check_true(c->label, isnan(lag_s) == isnan(c->told_s));
        check_true(c->label, (made.undone[0] < 0.0) == isnan(lag_s));
        if (!isnan(c->told_s))
            check_near(c->label, lag_s, c->told_s, 0.06 * c->told_s);
    }
}

/* What the logger read comes back, but not across a hole. */
static void test_logger_filter__input_comes_back(void **state)
{
    (void)state;
    static struct made made;
    double lag_s;
    struct kw_error error;
    make(&filters[0], &made);
    /* From half a second on in the loss, for a second. */
    const size_t hole = 25;
    const size_t behind = 45;
    for (size_t i = hole; i < behind; i++)
        made.rpm[i] = NAN;
    assert_int_equal(kw_undo_logger_filter(&made.session, TOP_RPM, made.undone,
                                           &lag_s, &error),
                     KW_OK);
    check_near("lag", lag_s, 0.15, 0.001);
    for (size_t i = 0; i < made.session.n_samples; i++) {
        if (i >= hole && i < behind)
            check_true("missing", isnan(made.undone[i]));
        else if (i == behind)
            check_near("as read", made.undone[i], made.rpm[i], 1e-9);
        else
            check_near("input", made.undone[i], made.input[i], 5.0);
    }
}

/* Nothing, one reading, none. */
static void test_logger_filter__few_readings_tell_none(void **state)
{
    (void)state;
    static struct made made;
    struct kw_error error;
    for (size_t n = 0; n < 3; n++) {
        double lag_s = 1.0;
        make(&filters[0], &made);
        made.session.n_samples = n;
        if (n == 2)
            made.rpm[0] = made.rpm[1] = NAN;
        assert_int_equal(kw_undo_logger_filter(&made.session, TOP_RPM,
                                               made.undone, &lag_s, &error),
                         KW_OK);
        assert_true(isnan(lag_s));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_logger_filter__is_told_by_edges_that_are_alike),
        cmocka_unit_test(test_logger_filter__input_comes_back),
        cmocka_unit_test(test_logger_filter__few_readings_tell_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
