/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/trackside.h"
#include "support/check.h"

/* Air of the standard atmosphere, dry, at 1000 m: sigma = 0.907463. */
static const struct kw_air sea_level = {15.0, 101325.0, 0.0};
static const struct kw_air at_1000_m = {8.5, 89874.6, 0.0};

static struct kw_jet jet_for(const struct kw_air *then,
                             const struct kw_air *today,
                             double known_good,
                             enum kw_jet_number number)
{
    const struct kw_jet_options options = {known_good, number, 1.0};
    struct kw_jet jet = {0};
    assert_int_equal(kw_jet_for_air(then, today, &options, &jet, NULL), KW_OK);
    return jet;
}

/* Heywood ch. 7 (from memory) for the standard atmosphere at 1000 m: area
 * factor 0.952608, diameter factor 0.976017, mixture 4.9749 % richer. Real air
 * departs from the ideal gas by a few 1e-5 between the two. */
static void test_jet__height_asks_for_the_textbook_factor(void **state)
{
    (void)state;
    const struct kw_jet flow =
        jet_for(&sea_level, &at_1000_m, 100.0, KW_JET_BY_FLOW);
    const struct kw_jet bore =
        jet_for(&sea_level, &at_1000_m, 100.0, KW_JET_BY_DIAMETER);
    check_near("area", flow.exact, 95.2608, 0.005);
    check_near("diameter", bore.exact, 97.6017, 0.005);
    check_near("mixture",
               kw_mixture_change_percent(kw_air_density_kg_m3(&sea_level),
                                         kw_air_density_kg_m3(&at_1000_m)),
               4.9749, 0.01);
}

/* Between two sizes the richer one is safe, the leaner one costs a piston. */
static void test_jet__between_two_sizes_the_richer_is_taken(void **state)
{
    (void)state;
    const struct kw_jet leaner =
        jet_for(&sea_level, &at_1000_m, 142.0, KW_JET_BY_DIAMETER);
    const struct kw_jet richer =
        jet_for(&at_1000_m, &sea_level, 142.0, KW_JET_BY_DIAMETER);
    check_near("down to", leaner.exact, 138.59, 0.02);
    check_near("fit", leaner.fit, 139.0, 1e-9);
    check_near("up to", richer.exact, 145.49, 0.02);
    check_near("fit", richer.fit, 146.0, 1e-9);
    check_true("range holds it",
               leaner.low < leaner.exact && leaner.exact < leaner.high);
}

static void test_jet__same_air_asks_for_the_same_jet(void **state)
{
    (void)state;
    const struct kw_jet same =
        jet_for(&sea_level, &sea_level, 142.0, KW_JET_BY_DIAMETER);
    check_near("exact", same.exact, 142.0, 1e-9);
    check_near("fit", same.fit, 142.0, 1e-9);
}

static void test_jet__impossible_jet_is_refused(void **state)
{
    (void)state;
    const struct kw_jet_options options = {0.0, KW_JET_BY_FLOW, 1.0};
    struct kw_jet jet = {0};
    struct kw_error error = {0};
    assert_int_equal(
        kw_jet_for_air(&sea_level, &at_1000_m, &options, &jet, &error),
        KW_BAD_USAGE);
    assert_string_equal(error.what,
                        "a jet number and its step must be above 0");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_jet__height_asks_for_the_textbook_factor),
        cmocka_unit_test(test_jet__between_two_sizes_the_richer_is_taken),
        cmocka_unit_test(test_jet__same_air_asks_for_the_same_jet),
        cmocka_unit_test(test_jet__impossible_jet_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
