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
    fill(rows[1], after, 14060.0);
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

/* A fuel line that was kinked: 5 of 8 laps with a drop-out, then none. Dealt by
 * chance, 2 x C(11, 3) / C(16, 8) = 2.6 %; the counts scatter so much that
 * Welch sees nothing. The interval says the same as the p. */
static void test_measures__ills_that_are_mended_are_seen(void **state)
{
    static const double clean[N] = {0};
    static const double ill[N] = {0, 0, 0, 1, 1, 3, 1, 1};
    struct kw_measures measures;
    (void)state;
    find(ill, clean, false, &measures);
    const struct kw_measure *dropouts = named(&measures, "dropouts_per_lap");
    assert_non_null(dropouts);
    check_near("p", dropouts->p, 330.0 / 12870.0, 1e-9);
    check_true("interval", dropouts->high < 0.0);
    kw_measures_free(&measures);
}

/* 60 rpm of 14,000 between two sessions may be the draught of another kart,
 * however alike the laps of each are: sqrt(2) x 0.2 % is 40 rpm, and twice that
 * the interval. */
static void test_measures__sessions_stand_apart(void **state)
{
    static const double clean[N] = {0};
    struct kw_measures measures;
    (void)state;
    find(clean, clean, false, &measures);
    const struct kw_measure *top = named(&measures, "rpm_max");
    assert_non_null(top);
    check_near("difference", top->difference, 60.0, 1e-9);
    check_true("interval", top->low < 0.0 && top->high > 120.0);
    assert_int_equal(top->verdict, KW_NO_CLEAR_CHANGE);
    assert_null(named(&measures, "dropouts_per_lap"));
    kw_measures_free(&measures);
}

/* A session of starts alone, each so long. */
static void make_starts(struct kw_event *events,
                        const double *seconds,
                        size_t n,
                        struct kw_review *review)
{
    for (size_t i = 0; i < n; i++) {
        const double at_s = 100.0 * (double)i;
        events[i] = (struct kw_event){.kind = KW_CLUTCH_ENGAGEMENT,
                                      .start_s = at_s,
                                      .end_s = at_s + seconds[i],
                                      .detail.engagement.hold_rpm = 5200.0};
    }
    *review = (struct kw_review){.events = {.items = events, .n = n}};
}

/* A clutch that takes twice as long: with three starts and five, counting can
 * give no p below 1 in 56, and asking for less would never let it speak. */
static void test_measures__a_handful_of_starts_can_speak(void **state)
{
    static const double quick_s[] = {3.5, 3.7, 3.6};
    static const double slow_s[] = {7.2, 7.6, 6.9, 7.4, 7.5};
    struct kw_event events[KW_N_SIDES][5];
    struct kw_review reviews[KW_N_SIDES];
    struct kw_lap_table none = {0};
    struct kw_measures measures;
    (void)state;
    make_starts(events[0], quick_s, 3, &reviews[0]);
    make_starts(events[1], slow_s, 5, &reviews[1]);
    const struct kw_compare_sessions sides[] = {{&reviews[0], 1, NULL},
                                                {&reviews[1], 1, NULL}};
    const struct kw_measure_source source = {.sessions = {&sides[0], &sides[1]},
                                             .tables = {&none, &none},
                                             .width_rpm = 1000.0};
    assert_int_equal(kw_find_measures(&source, &measures, NULL), KW_OK);
    const struct kw_measure *start = named(&measures, "clutch_engagement_s");
    assert_non_null(start);
    check_true("far below 1 in 56", start->p < 0.002);
    assert_int_equal(start->verdict, KW_ROSE);
    kw_measures_free(&measures);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_measures__counts_are_dealt_out),
        cmocka_unit_test(test_measures__ills_that_are_mended_are_seen),
        cmocka_unit_test(test_measures__sessions_stand_apart),
        cmocka_unit_test(test_measures__a_handful_of_starts_can_speak)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
