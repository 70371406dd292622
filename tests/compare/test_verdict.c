/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From p-values to what is said. */
#include "support/check.h"

#include "compare/verdict.h"

/* As a caller has them: tested, with something in them. */
static double one[] = {1.0};
static double none[] = {0.0};

static struct kw_measure measure_of(const char *name,
                                    double rpm,
                                    double difference,
                                    double p)
{
    return (struct kw_measure){.name = name,
                               .unit = "C",
                               .rpm_from = rpm,
                               .rpm_to = rpm + 1000.0,
                               .values = {one, one},
                               .n = {1, 1},
                               .difference = difference,
                               .low = difference - 1.0,
                               .high = difference + 1.0,
                               .df = 10.0,
                               .p = p};
}

/* One band that stands alone against its neighbours is luck; two that go the
 * same way are a jet. */
static void test_verdict__a_band_alone_is_no_change(void **state)
{
    struct kw_measure items[] = {measure_of("egt_c", 9000.0, 1.0, 0.8),
                                 measure_of("egt_c", 10000.0, -9.0, 0.001),
                                 measure_of("egt_c", 11000.0, 2.0, 0.7)};
    struct kw_measures measures = {items, 3, 3};
    (void)state;
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    assert_int_equal(items[1].verdict, KW_NO_CLEAR_CHANGE);
    items[0].difference = -5.0;
    items[0].p = 0.02;
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    assert_int_equal(items[1].verdict, KW_FELL);
    /* 3 x 0.001 after Hochberg (1988): the neighbour's 0.02 holds nothing
     * back. */
    check_near("p adjusted", items[1].p_adjusted, 0.003, 1e-12);
    assert_int_equal(items[0].verdict, KW_FELL);
    assert_int_equal(items[2].verdict, KW_NO_CLEAR_CHANGE);
}

/* A band without neighbours, and a measure that is no band, stand for
 * themselves. */
static void test_verdict__what_has_no_neighbour_is_believed(void **state)
{
    struct kw_measure items[] = {measure_of("egt_c", 9000.0, 9.0, 0.001),
                                 measure_of("lap_time_s", NAN, -9.0, 0.002)};
    struct kw_measures measures = {items, 2, 2};
    (void)state;
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    assert_int_equal(items[0].verdict, KW_ROSE);
    assert_int_equal(items[1].verdict, KW_FELL);
}

/* Nothing seen on either side is no change, and costs the others nothing. */
static void test_verdict__silence_is_no_evidence(void **state)
{
    struct kw_measure items[] = {
        measure_of("lean_seconds_per_lap", NAN, 0.0, 1.0),
        measure_of("lap_time_s", NAN, -9.0, 0.04)};
    struct kw_measures measures = {items, 2, 2};
    (void)state;
    items[0].values[KW_BEFORE] = items[0].values[KW_AFTER] = none;
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    assert_int_equal(items[0].verdict, KW_NO_CLEAR_CHANGE);
    assert_int_equal(items[1].verdict, KW_FELL);
    check_near("p adjusted", items[1].p_adjusted, 0.04, 1e-12);
}

/* A weaker engine: three bands of pull, each at 1 in 70, are one finding, and
 * six bands of EGT beside them take nothing from it. */
static void test_verdict__bands_that_agree_are_one_finding(void **state)
{
    struct kw_measure items[10];
    struct kw_measures measures = {items, 10, 10};
    (void)state;
    for (size_t i = 0; i < 6; i++)
        items[i] = measure_of("egt_c", 8000.0 + 1000.0 * (double)i, 0.5, 0.7);
    items[6] = measure_of("lap_time_s", NAN, 0.2, 0.2);
    for (size_t i = 7; i < 10; i++)
        items[i] = measure_of("rpm_gain_rpm_s", 3000.0 + 1000.0 * (double)i,
                              -80.0, 0.014);
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(items[i].verdict, KW_NO_CLEAR_CHANGE);
    for (size_t i = 7; i < 10; i++)
        assert_int_equal(items[i].verdict, KW_FELL);
    /* Shares of 1.25 for heat, 1 for pace and 1 for pull: 3.25 in all. */
    check_near("p adjusted", items[8].p_adjusted, 3.25 * 0.014, 1e-12);
}

/* Too few laps have no p, and no verdict. */
static void test_verdict__too_few_laps_are_said(void **state)
{
    struct kw_measure items[] = {measure_of("egt_c", 9000.0, 9.0, NAN)};
    struct kw_measures measures = {items, 1, 1};
    (void)state;
    assert_int_equal(kw_judge_measures(&measures, NULL), KW_OK);
    assert_int_equal(items[0].verdict, KW_TOO_FEW_LAPS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_verdict__a_band_alone_is_no_change),
        cmocka_unit_test(test_verdict__what_has_no_neighbour_is_believed),
        cmocka_unit_test(test_verdict__silence_is_no_evidence),
        cmocka_unit_test(test_verdict__bands_that_agree_are_one_finding),
        cmocka_unit_test(test_verdict__too_few_laps_are_said)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
