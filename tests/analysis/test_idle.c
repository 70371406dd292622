/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/idle.h"

#include "support/check.h"

#include <math.h>

enum { RATE_HZ = 20, N = 60 * RATE_HZ };
static const double TOP_RPM = 14000.0;

/* An engine that goes up and down between two speeds and stays nowhere, but at
 * stay_rpm for its first stay_s. */
struct engine {
    double rpm[N];
    struct kw_span span;
    struct kw_spans runs;
    struct kw_session session;
};

static void run_engine(struct engine *made, double stay_rpm, double stay_s)
{
    for (size_t i = 0; i < N; i++) {
        const double time_s = (double)i / RATE_HZ;
        made->rpm[i] = time_s < stay_s
                           ? stay_rpm * (1.0 + 0.01 * sin(3.0 * time_s))
                           : 10000.0 + 4000.0 * sin(0.9 * time_s);
    }
    made->span = (struct kw_span){0, N};
    made->runs = (struct kw_spans){&made->span, 1, 1};
    made->session = (struct kw_session){
        .n_samples = N, .rate_hz = RATE_HZ, .rpm = made->rpm};
}

static double idle_rpm(const struct engine *made)
{
    return kw_find_idle(&made->session, &made->runs, TOP_RPM).rpm;
}

/* Half a bin is two percent. */
static void test_idle__is_where_the_engine_stays(void **state)
{
    (void)state;
    static const double idles_rpm[] = {1300.0, 2200.0, 3400.0};
    struct engine made;
    for (size_t i = 0; i < sizeof idles_rpm / sizeof idles_rpm[0]; i++) {
        run_engine(&made, idles_rpm[i], 8.0);
        check_near("idle", idle_rpm(&made), idles_rpm[i], 0.03 * idles_rpm[i]);
    }
}

/* From the clutch's RPM on a slow corner turns the engine as steadily, for a
 * second or two. */
static void test_idle__high_one_has_to_last(void **state)
{
    (void)state;
    struct engine made;
    run_engine(&made, 5600.0, 1.5);
    assert_true(isnan(idle_rpm(&made)));
    run_engine(&made, 5600.0, 4.0);
    check_near("lasts", idle_rpm(&made), 5600.0, 170.0);
}

/* A kart that is driven about the yard comes near no top end: where the engine
 * stays for long at its lowest is its idle, however large a share that is. */
static void test_idle__of_the_yard_is_the_floor(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        double stay_rpm;
        double stay_s;
        double every_s;
        double below_s;
        double expected_rpm;
    } cases[] = {{"two thirds of the top", 9000.0, 20.0, 60.0, 0.0, 9000.0},
                 {"too near the top", 10200.0, 20.0, 60.0, 0.0, NAN},
                 {"too short in one", 9000.0, 4.0, 10.0, 0.0, NAN},
                 {"too little of it all", 9000.0, 9.0, 60.0, 0.0, NAN},
                 {"it was lower as well", 9000.0, 20.0, 60.0, 4.0, NAN}};
    struct engine made;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const size_t lower = N - (size_t)(cases[k].below_s * RATE_HZ);
        run_engine(&made, 0.0, 0.0);
        for (size_t i = 0; i < N; i++) {
            const bool stays =
                fmod((double)i / RATE_HZ, cases[k].every_s) < cases[k].stay_s;
            made.rpm[i] = i >= lower ? 7000.0 + 20.0 * (double)(i - lower)
                          : stays    ? cases[k].stay_rpm
                                  : fmax(made.rpm[i], 1.12 * cases[k].stay_rpm);
        }
        check_near(cases[k].label, idle_rpm(&made), cases[k].expected_rpm,
                   0.03 * cases[k].stay_rpm);
    }
}

/* A starter turns the engine steadily too: outside the runs nothing counts. */
static void test_idle__is_looked_for_in_runs_only(void **state)
{
    (void)state;
    struct engine made;
    run_engine(&made, 1300.0, 8.0);
    made.span.from = (size_t)(8 * RATE_HZ);
    assert_true(isnan(idle_rpm(&made)));
    made.runs.n = 0;
    assert_true(isnan(idle_rpm(&made)));
}

/* Cold it idles at 1,300, and warm at 1,900 for ten times as long: the lower is
 * told, and the higher beside it. A clutch that slips at twice its idle is no
 * later one, nor is a short stay. */
static void test_idle__later_one_is_told_beside(void **state)
{
    (void)state;
    static const struct {
        double later_rpm;
        double for_s;
        double expected_rpm;
    } cases[] = {{1900.0, 20.0, 1900.0},
                 {1900.0, 6.0, NAN},
                 {2800.0, 20.0, NAN},
                 {5200.0, 20.0, 5200.0}};
    struct engine made;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        run_engine(&made, 1300.0, 2.0);
        const size_t to = (size_t)((2.0 + cases[k].for_s) * RATE_HZ);
        for (size_t i = (size_t)(2 * RATE_HZ); i < to; i++)
            made.rpm[i] = cases[k].later_rpm;
        const struct kw_idle idle =
            kw_find_idle(&made.session, &made.runs, TOP_RPM);
        check_near("lowest", idle.rpm, 1300.0, 40.0);
        check_near("later", idle.later_rpm, cases[k].expected_rpm,
                   0.03 * cases[k].later_rpm);
    }
}

/* Six seconds on the starter, then an idle no longer than that: below any
 * engine's idle, on a four-stroke whose highest RPM would allow it. */
static void test_idle__is_no_starter(void **state)
{
    (void)state;
    static const double FOUR_STROKE_TOP_RPM = 4000.0;
    struct engine made;
    run_engine(&made, 300.0, 6.0);
    const size_t to = (size_t)(14 * RATE_HZ);
    for (size_t i = (size_t)(6 * RATE_HZ); i < to; i++)
        made.rpm[i] = 1450.0;
    const struct kw_idle idle =
        kw_find_idle(&made.session, &made.runs, FOUR_STROKE_TOP_RPM);
    check_near("idle", idle.rpm, 1450.0, 45.0);
    assert_true(isnan(idle.later_rpm));
}

static void test_idle__of_flying_laps_alone_is_not_known(void **state)
{
    (void)state;
    struct engine made;
    run_engine(&made, NAN, 0.0);
    assert_true(isnan(idle_rpm(&made)));
    run_engine(&made, NAN, 60.0);
    assert_true(isnan(idle_rpm(&made)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_idle__is_where_the_engine_stays),
        cmocka_unit_test(test_idle__high_one_has_to_last),
        cmocka_unit_test(test_idle__of_the_yard_is_the_floor),
        cmocka_unit_test(test_idle__is_looked_for_in_runs_only),
        cmocka_unit_test(test_idle__later_one_is_told_beside),
        cmocka_unit_test(test_idle__is_no_starter),
        cmocka_unit_test(test_idle__of_flying_laps_alone_is_not_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
