/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole comparisons of made-up sessions, with a change put in or none. */
#include "support/check.h"

#include "kartwright/compare.h"
#include "support/synthetic.h"

#include <string.h>

/* A review of a made-up session; the caller frees it. */
static struct kw_review review_of(const struct synthetic_options *options)
{
    struct synthetic s = synthetic_new(options);
    struct kw_log log;
    struct kw_review review;
    synthetic_log(&s, &log);
    assert_int_equal(kw_review_log(&log, NULL, &review, NULL), KW_OK);
    kw_log_free(&log);
    synthetic_free(&s);
    return review;
}

/* Two sessions compared, with their reviews. */
struct pair {
    struct kw_review reviews[KW_N_SIDES];
    struct kw_comparison comparison;
};

static void compare(const struct synthetic_options *before,
                    const struct synthetic_options *after,
                    const struct kw_air *air,
                    struct pair *pair)
{
    pair->reviews[KW_BEFORE] = review_of(before);
    pair->reviews[KW_AFTER] = review_of(after);
    const struct kw_compare_sessions a = {&pair->reviews[KW_BEFORE], 1,
                                          air != NULL ? &air[0] : NULL};
    const struct kw_compare_sessions b = {&pair->reviews[KW_AFTER], 1,
                                          air != NULL ? &air[1] : NULL};
    assert_int_equal(kw_compare(&a, &b, NULL, &pair->comparison, NULL), KW_OK);
}

static void pair_free(struct pair *pair)
{
    kw_comparison_free(&pair->comparison);
    kw_review_free(&pair->reviews[KW_BEFORE]);
    kw_review_free(&pair->reviews[KW_AFTER]);
}

static struct synthetic_options seeded(uint64_t seed)
{
    struct synthetic_options options = synthetic_defaults();
    options.seed = seed;
    options.has_speed = true;
    return options;
}

/* The highest EGT band that is shown. */
static const struct kw_measure *top_band(const struct kw_comparison *comparison)
{
    const struct kw_measure *top = NULL;
    for (size_t i = 0; i < comparison->measures.n; i++) {
        if (strcmp(comparison->measures.items[i].name, "egt_c") == 0)
            top = &comparison->measures.items[i];
    }
    assert_non_null(top);
    return top;
}

/* With nothing changed the racer must not be sent to the jets. */
static void test_compare__nothing_changed_is_no_clear_change(void **state)
{
    const struct synthetic_options before = seeded(11);
    const struct synthetic_options after = seeded(12);
    struct pair pair;
    (void)state;
    compare(&before, &after, NULL, &pair);
    assert_true(pair.comparison.measures.n > 8);
    for (size_t i = 0; i < pair.comparison.measures.n; i++) {
        const struct kw_measure *measure = &pair.comparison.measures.items[i];
        check_true(measure->name,
                   measure->verdict != KW_ROSE && measure->verdict != KW_FELL);
    }
    assert_int_equal(pair.comparison.not_alike.n, 0);
    assert_non_null(strstr(pair.comparison.summary, "No clear change in EGT"));
    assert_non_null(
        strstr(pair.comparison.summary, "no clear change in lap time (0."));
    assert_null(strstr(pair.comparison.summary, "keep the richer"));
    assert_non_null(strstr(pair.comparison.suggestion, "cannot tell whether"));
    pair_free(&pair);
}

/* A jet that cools the top end by 25 C is found, with an interval that holds
 * 25, and the advice is to keep it. Turned round, the advice is to go back. */
static void test_compare__change_of_heat_is_found_both_ways(void **state)
{
    struct synthetic_options hot = seeded(21);
    struct synthetic_options cool = seeded(22);
    struct pair pair;
    (void)state;
    cool.egt_top_c = hot.egt_top_c - 25.0;
    compare(&hot, &cool, NULL, &pair);
    const struct kw_measure *top = top_band(&pair.comparison);
    assert_int_equal(top->verdict, KW_FELL);
    check_true("interval holds what was put in",
               top->low <= -20.0 && top->high >= -25.0);
    check_near("difference", top->difference,
               top->mean[KW_AFTER] - top->mean[KW_BEFORE], 1e-9);
    assert_non_null(strstr(pair.comparison.summary, "cooler"));
    assert_non_null(strstr(pair.comparison.summary, "Safe side: keep"));
    pair_free(&pair);
    compare(&cool, &hot, NULL, &pair);
    assert_int_equal(top_band(&pair.comparison)->verdict, KW_ROSE);
    assert_non_null(strstr(pair.comparison.summary, "hotter"));
    assert_non_null(strstr(pair.comparison.summary, "before the next run"));
    assert_non_null(strstr(pair.comparison.suggestion, "enrich"));
    pair_free(&pair);
}

/* A lap or two prove nothing, however hot they are. */
static void test_compare__few_laps_are_too_few(void **state)
{
    struct synthetic_options before = seeded(31);
    struct synthetic_options after = seeded(32);
    struct pair pair;
    (void)state;
    after.laps = 1;
    after.egt_top_c += 60.0;
    compare(&before, &after, NULL, &pair);
    for (size_t i = 0; i < pair.comparison.measures.n; i++)
        assert_int_equal(pair.comparison.measures.items[i].verdict,
                         KW_TOO_FEW_LAPS);
    assert_non_null(strstr(pair.comparison.summary, "Can't tell"));
    pair_free(&pair);
}

/* Out and in laps are named, and used and left out add up to all laps. */
static void test_compare__laps_left_out_are_named(void **state)
{
    const struct synthetic_options before = seeded(41);
    const struct synthetic_options after = seeded(42);
    struct pair pair;
    (void)state;
    compare(&before, &after, NULL, &pair);
    for (int which = 0; which < KW_N_SIDES; which++) {
        const struct kw_compare_side *side = &pair.comparison.sides[which];
        assert_int_equal(side->n_laps, pair.reviews[which].laps.n);
        assert_int_equal(side->n_used + side->n_left_out, side->n_laps);
        assert_true(side->n_used >= 6);
        assert_int_equal(side->laps[0].use, KW_LAP_IS_OUT);
        assert_int_equal(side->laps[side->n_laps - 1].use, KW_LAP_IS_IN);
    }
    pair_free(&pair);
}

/* One thing at a time is changed; what must be noticed. */
struct unlike_case {
    const char *label;
    double lap_s;
    double turns;
    double probe_lag_s;
    double egt_top_c;
    const char *noticed;
};

/* A comparison of two tracks, two gearings or two probes says nothing about the
 * jet, and must say that. */
static void test_compare__what_is_not_alike_is_said(void **state)
{
    static const struct unlike_case cases[] = {
        {"track", 66.0, 0.0, 0.0, 0.0, "two different tracks"},
        {"gearing", 0.0, 1.03, 0.0, 0.0, "gearing or the tyres differ"},
        {"probe", 0.0, 0.0, 4.8, 0.0, "two different EGT probes"},
        {"level", 0.0, 0.0, 0.0, -130.0, "than a jet can do"}};
    const struct kw_air air[] = {{20.0, 101325.0, 0.5}, {25.0, 100000.0, 0.5}};
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct synthetic_options before = seeded(51);
        struct synthetic_options after = seeded(52);
        struct pair pair;
        if (cases[k].lap_s > 0.0)
            after.lap_s = cases[k].lap_s;
        if (cases[k].turns > 0.0) {
            after.rpm_top *= cases[k].turns;
            after.rpm_slow *= cases[k].turns;
        }
        if (cases[k].probe_lag_s > 0.0)
            after.probe_lag_s = cases[k].probe_lag_s;
        after.egt_top_c += cases[k].egt_top_c;
        compare(&before, &after, air, &pair);
        bool noticed = false;
        for (size_t i = 0; i < pair.comparison.not_alike.n; i++)
            noticed = noticed || strstr(pair.comparison.not_alike.items[i].text,
                                        cases[k].noticed) != NULL;
        check_true(cases[k].label, noticed);
        check_true(cases[k].label,
                   strstr(pair.comparison.summary, "do not decide") != NULL);
        const char *summary = pair.comparison.summary;
        check_true("the air is told", strstr(summary, "The air alone") != NULL);
        check_near("no share of the jet", pair.comparison.air.left_percent, NAN,
                   0.0);
        check_true("ends with its sentence",
                   summary[strlen(summary) - 1] == '.');
        pair_free(&pair);
    }
}

/* What may be and may not be is asked, and no verdict hangs on it: a lag 2.6
 * times as long may be soot on the same probe; a speed that reads 3 % more may
 * be another wheel sensor, for the engine turned as often on each lap. */
static void test_compare__small_doubts_leave_the_verdict(void **state)
{
    const struct synthetic_options before = seeded(53);
    struct synthetic_options after = seeded(54);
    struct pair pair;
    (void)state;
    after.probe_lag_s = 2.6 * before.probe_lag_s;
    after.speed_top_m_s *= 1.03;
    after.egt_top_c -= 40.0;
    compare(&before, &after, NULL, &pair);
    assert_int_equal(pair.comparison.not_alike.n, 1);
    assert_non_null(
        strstr(pair.comparison.not_alike.items[0].text, "the same EGT probe"));
    assert_int_equal(top_band(&pair.comparison)->verdict, KW_FELL);
    assert_null(strstr(pair.comparison.summary, "do not decide"));
    assert_non_null(strstr(pair.comparison.summary,
                           "First make sure that it is the same EGT probe"));
    pair_free(&pair);
}

/* What cannot be compared at all is told, and nothing else: no number pleases
 * there. */
static void test_compare__two_karts_are_said_and_no_more(void **state)
{
    const struct synthetic_options before = seeded(55);
    struct synthetic_options after = seeded(56);
    struct pair pair;
    (void)state;
    after.rpm_top *= 0.5;
    after.rpm_slow *= 0.5;
    compare(&before, &after, NULL, &pair);
    assert_string_equal(pair.comparison.summary,
                        "These look like two different karts or engines: do "
                        "not decide on this.");
    pair_free(&pair);
}

/* Six seconds more on a lap and as many more turns are another layout, whatever
 * the sprockets; without speed nothing else tells. */
static void test_compare__another_layout_is_no_gearing(void **state)
{
    struct synthetic_options before = seeded(53);
    struct synthetic_options after = seeded(54);
    struct pair pair;
    (void)state;
    before.has_speed = false;
    after.has_speed = false;
    after.lap_s = 1.12 * before.lap_s;
    compare(&before, &after, NULL, &pair);
    assert_int_equal(pair.comparison.not_alike.n, 1);
    assert_non_null(
        strstr(pair.comparison.not_alike.items[0].text, "tracks or layouts"));
    assert_null(strstr(pair.comparison.summary, "gearing"));
    pair_free(&pair);
}

/* Mostly a slip: the other log was meant. */
static void test_compare__same_log_comes_first(void **state)
{
    const struct synthetic_options options = seeded(57);
    struct pair pair;
    (void)state;
    compare(&options, &options, NULL, &pair);
    assert_ptr_equal(
        strstr(pair.comparison.summary, "The same log stands on both sides"),
        pair.comparison.summary);
    assert_null(strstr(pair.comparison.summary, "richer"));
    pair_free(&pair);
}

/* Idling and a blip now and then in the pits: no laps, no drop-outs, and no
 * other probe, though its gas hardly moves. */
static void test_compare__an_engine_that_idled_was_not_driven(void **state)
{
    const struct synthetic_options before = seeded(58);
    struct synthetic_options after = seeded(59);
    struct pair pair;
    (void)state;
    after.rpm_top = 3700.0;
    after.rpm_slow = 2100.0;
    compare(&before, &after, NULL, &pair);
    assert_non_null(strstr(pair.comparison.summary, "was not driven after"));
    assert_int_equal(pair.comparison.not_alike.n, 1);
    assert_int_equal(pair.comparison.sides[KW_AFTER].n_used, 0);
    for (size_t i = 0; i < pair.comparison.measures.n; i++)
        assert_int_equal(pair.comparison.measures.items[i].verdict,
                         KW_TOO_FEW_LAPS);
    pair_free(&pair);
}

/* A logger five times as quick sees higher tops and other noise: no change. */
static void test_compare__other_logger_is_no_change(void **state)
{
    struct synthetic_options before = seeded(61);
    struct synthetic_options after = seeded(62);
    struct pair pair;
    (void)state;
    before.rate_hz = 10.0;
    after.rate_hz = 50.0;
    after.rpm_step = 50.0;
    after.egt_step_c = 2.0;
    compare(&before, &after, NULL, &pair);
    for (size_t i = 0; i < pair.comparison.measures.n; i++) {
        const struct kw_measure *measure = &pair.comparison.measures.items[i];
        check_true(measure->name,
                   measure->verdict != KW_ROSE && measure->verdict != KW_FELL);
    }
    assert_int_equal(pair.comparison.not_alike.n, 1);
    assert_non_null(
        strstr(pair.comparison.not_alike.items[0].text, "sample rates differ"));
    pair_free(&pair);
}

/* The air's part: fuel/air goes with the inverse square root of the density
 * (Heywood 1988, ch. 7, from memory); densities of air_moist_density_values.csv
 * (Picard et al. 2008, computed): 1.2 % between a cool and a warm day here. */
static void test_compare__air_is_taken_off(void **state)
{
    const struct synthetic_options before = seeded(71);
    struct synthetic_options after = seeded(72);
    const struct kw_air air[] = {{20.0, 101325.0, 0.5}, {25.0, 100000.0, 0.5}};
    struct pair pair;
    (void)state;
    after.egt_top_c -= 25.0;
    compare(&before, &after, air, &pair);
    const double then = pair.comparison.sides[KW_BEFORE].air_density_kg_m3;
    const double now = pair.comparison.sides[KW_AFTER].air_density_kg_m3;
    /* 1.19921 at 20 C, 1013.25 hPa, 50 %: Picard et al. 2008. */
    check_near("density", then, 1.1992, 3e-4);
    const struct kw_air_share *share = &pair.comparison.air;
    check_near("air", share->air_percent, 100.0 * (sqrt(then / now) - 1.0),
               1e-6);
    check_true("thinner air is richer", share->air_percent > 1.0);
    check_true("cooler is richer", share->seen_percent > 1.0);
    check_near("left", share->left_percent,
               share->seen_percent - share->air_percent, 1e-12);
    assert_non_null(strstr(pair.comparison.summary, "The air alone"));
    assert_non_null(strstr(pair.comparison.summary, "left for the jet"));
    pair_free(&pair);
}

/* A jet that is leaner in equal air, on a day so warm that it runs cooler all
 * the same: kept as it is, the next cold day costs the piston. */
static void test_compare__air_that_hides_a_leaner_jet_is_said(void **state)
{
    const struct synthetic_options before = seeded(73);
    struct synthetic_options after = seeded(74);
    const struct kw_air air[] = {{5.0, 103000.0, 0.5}, {38.0, 97000.0, 0.5}};
    struct pair pair;
    (void)state;
    after.egt_top_c -= 25.0;
    compare(&before, &after, air, &pair);
    check_true("leaner", pair.comparison.air.left_percent < -1.0);
    assert_non_null(strstr(pair.comparison.summary, "made it leaner"));
    assert_null(strstr(pair.comparison.summary, "Safe side: keep"));
    assert_null(strstr(pair.comparison.suggestion, "keep it"));
    pair_free(&pair);
}

/* Where no heat changed there is no change to explain, and none to be left. */
static void test_compare__air_explains_no_change_that_is_none(void **state)
{
    const struct synthetic_options before = seeded(11);
    const struct synthetic_options after = seeded(12);
    const struct kw_air air[] = {{20.0, 101325.0, 0.5}, {25.0, 100000.0, 0.5}};
    struct pair pair;
    (void)state;
    compare(&before, &after, air, &pair);
    assert_non_null(strstr(pair.comparison.summary, "No clear change in EGT"));
    assert_non_null(strstr(pair.comparison.summary, "The air alone"));
    assert_null(strstr(pair.comparison.summary, "explains"));
    assert_null(strstr(pair.comparison.summary, "left for the jet"));
    pair_free(&pair);
}

/* The same sessions give the same answer, to the last bit. */
static void test_compare__same_input_same_answer(void **state)
{
    const struct synthetic_options before = seeded(81);
    const struct synthetic_options after = seeded(82);
    struct pair one;
    struct pair two;
    (void)state;
    compare(&before, &after, NULL, &one);
    compare(&before, &after, NULL, &two);
    assert_string_equal(one.comparison.summary, two.comparison.summary);
    assert_int_equal(one.comparison.measures.n, two.comparison.measures.n);
    for (size_t i = 0; i < one.comparison.measures.n; i++)
        check_near(one.comparison.measures.items[i].name,
                   one.comparison.measures.items[i].p,
                   two.comparison.measures.items[i].p, 0.0);
    pair_free(&one);
    pair_free(&two);
}

/* A log without EGT still tells lap time and RPM, and says what it cannot. */
static void test_compare__without_egt_the_rest_is_told(void **state)
{
    const struct synthetic_options before = seeded(91);
    struct synthetic_options after = seeded(92);
    struct pair pair;
    (void)state;
    after.has_egt = false;
    compare(&before, &after, NULL, &pair);
    assert_null(kw_measure_named(&pair.comparison, "egt_mean_c", NAN));
    assert_non_null(kw_measure_named(&pair.comparison, "lap_time_s", NAN));
    assert_non_null(strstr(pair.comparison.summary, "No EGT to compare"));
    check_near("no air known", pair.comparison.air.air_percent, NAN, 0.0);
    pair_free(&pair);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_compare__nothing_changed_is_no_clear_change),
        cmocka_unit_test(test_compare__change_of_heat_is_found_both_ways),
        cmocka_unit_test(test_compare__few_laps_are_too_few),
        cmocka_unit_test(test_compare__laps_left_out_are_named),
        cmocka_unit_test(test_compare__what_is_not_alike_is_said),
        cmocka_unit_test(test_compare__small_doubts_leave_the_verdict),
        cmocka_unit_test(test_compare__two_karts_are_said_and_no_more),
        cmocka_unit_test(test_compare__another_layout_is_no_gearing),
        cmocka_unit_test(test_compare__same_log_comes_first),
        cmocka_unit_test(test_compare__an_engine_that_idled_was_not_driven),
        cmocka_unit_test(test_compare__other_logger_is_no_change),
        cmocka_unit_test(test_compare__air_is_taken_off),
        cmocka_unit_test(test_compare__air_that_hides_a_leaner_jet_is_said),
        cmocka_unit_test(test_compare__air_explains_no_change_that_is_none),
        cmocka_unit_test(test_compare__same_input_same_answer),
        cmocka_unit_test(test_compare__without_egt_the_rest_is_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
