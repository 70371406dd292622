/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/clutch_knee.h"

#include "support/check.h"

enum { N = 60 };

struct knee_case {
    const char *label;
    double knee_s;
    double level;
    double drift;
    double climb;
    double most_drift;
};

static const struct knee_case cases[] = {
    {"flat, then a climb", 1.53, 5000, 0, 1000, 0},
    {"early", 0.4, 5000, 0, 1000, 0},
    {"late", 2.4, 2400, 0, 350, 0},
    {"drifts", 1.53, 5000, 60, 1000, 100},
    {"drift allowed, none there", 1.53, 5000, 0, 1000, 100},
};

/* A tenth of a second here is a twentieth of a lining. */
static void test_clutch_knee__is_where_it_was_put(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct knee_case *c = &cases[k];
        double t[N];
        double y[N];
        for (int i = 0; i < N; i++) {
            t[i] = 20.0 + 0.05 * i;
            y[i] = c->level + c->drift * 0.05 * i +
                   c->climb * fmax(t[i] - 20.0 - c->knee_s, 0.0);
        }
        struct kw_knee knee;
        check_true(c->label, kw_fit_knee(t, y, N, c->most_drift, &knee));
        check_near(c->label, knee.knee_s, 20.0 + c->knee_s, 0.03);
        check_near(c->label, knee.level, c->level, 0.004 * c->level);
        check_near(c->label, knee.climb + knee.drift, c->climb + c->drift,
                   0.05 * c->climb);
        check_true(c->label, knee.rms < 0.01 * c->level);
    }
}

/* Too short to tell a knee. */
static void test_clutch_knee__few_points_are_none(void **state)
{
    (void)state;
    const double t[] = {0, 1, 2, 3};
    const double y[] = {1, 1, 2, 3};
    struct kw_knee knee;
    for (size_t n = 0; n <= 4; n++)
        assert_false(kw_fit_knee(t, y, n, 0.0, &knee));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clutch_knee__is_where_it_was_put),
        cmocka_unit_test(test_clutch_knee__few_points_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
