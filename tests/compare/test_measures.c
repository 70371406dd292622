/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From rows of laps to tested measures. */
#include "support/check.h"

#include "compare/measures.h"

#include <string.h>

enum { N = 8 };

static const struct kw_measure *named(const struct kw_measures *measures,
                                      const char *name)
{
    for (size_t i = 0; i < measures->n; i++) {
        if (strcmp(measures->items[i].name, name) == 0)
            return &measures->items[i];
    }
    return NULL;
}

/* Laps that differ in drop-outs and in the highest RPM alone. */
static void fill(struct kw_lap_figures rows[N],
                 const double dropouts[N],
                 double rpm_max)
{
    for (size_t i = 0; i < N; i++)
        rows[i] = (struct kw_lap_figures){.time_s = 48.0,
                                          .rpm_max = rpm_max,
                                          .rpm_min = NAN,
                                          .egt_peak_c = NAN,
                                          .egt_mean_c = NAN,
                                          .over_limit_s = NAN,
                                          .lean_s = NAN,
                                          .dropouts = dropouts[i]};
}

static void find(const double before[N],
                 const double after[N],
                 bool other_logger,
                 struct kw_measures *out)
{
    static const struct kw_compare_sessions none = {NULL, 0, NULL};
    struct kw_lap_figures rows[KW_N_SIDES][N];
    struct kw_lap_table tables[] = {{rows[0], N, N}, {rows[1], N, N}};
    const struct kw_measure_source source = {.sessions = {&none, &none},
                                             .tables = {&tables[0], &tables[1]},
                                             .width_rpm = 1000.0,
                                             .other_logger = other_logger};
    fill(rows[0], before, 14000.0);
    fill(rows[1], after, 14150.0);
    assert_int_equal(kw_find_measures(&source, out, NULL), KW_OK);
}

/* Drop-outs on the first laps only: of the C(16, 8) = 12,870 ways to deal three
 * laps with a drop-out and thirteen without, C(13, 5) = 1,287 have all three on
 * one given side: p = 2 x 1,287 / 12,870 = 0.2. Welch is far too sure of it. */
static void test_measures__counts_are_dealt_out(void **state)
{
    static const double clean[N] = {0};
    static const double three[N] = {1, 0, 1, 0, 0, 1, 0, 0};
    struct kw_measures measures;
    (void)state;
    find(clean, three, false, &measures);
    const struct kw_measure *dropouts = named(&measures, "dropouts_per_lap");
    assert_non_null(dropouts);
    check_near("p", dropouts->p, 0.2, 1e-9);
    assert_int_equal(dropouts->verdict, KW_NO_CLEAR_CHANGE);
    kw_measures_free(&measures);
}

/* 150 rpm of 14,000 between two sessions may be the draught of another kart,
 * however alike the laps of each are: sqrt(2) x 0.4 % is 80 rpm, and twice that
 * the interval. */
static void test_measures__sessions_stand_apart(void **state)
{
    static const double clean[N] = {0};
    struct kw_measures measures;
    (void)state;
    find(clean, clean, false, &measures);
    const struct kw_measure *top = named(&measures, "rpm_max");
    assert_non_null(top);
    check_near("difference", top->difference, 150.0, 1e-9);
    check_true("interval", top->low < 0.0 && top->high > 300.0);
    assert_int_equal(top->verdict, KW_NO_CLEAR_CHANGE);
    assert_null(named(&measures, "dropouts_per_lap"));
    kw_measures_free(&measures);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_measures__counts_are_dealt_out),
        cmocka_unit_test(test_measures__sessions_stand_apart)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
