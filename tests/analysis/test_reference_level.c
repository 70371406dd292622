/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/reference_level.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <stdlib.h>

/* A session of a rental kart taken for the reference by a slip must not send
 * anybody to the carburettor. */
static void test_reference_level__other_rpm_is_another_kart(void **state)
{
    (void)state;
    enum { N = 400 };
    static const struct {
        const char *label;
        double reference_rpm; /* the highest; it begins at half of it */
        bool has_load;
        bool another;
    } cases[] = {
        {"same kart", 13000.0, true, false},
        {"another track", 15000.0, true, false},
        {"four-stroke", 6000.0, true, true},
        {"work not known", 6000.0, false, false},
    };
    double rpm[N];
    double reference_rpm[N];
    double load[N];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (size_t k = 0; k < N; k++) {
            const double share = 0.5 + 0.5 * (double)k / N;
            rpm[k] = 13000.0 * share;
            reference_rpm[k] = cases[i].reference_rpm * share;
            load[k] = 1.0;
        }
        const struct kw_session session = {.n_samples = N, .rpm = rpm};
        const struct kw_session reference = {.n_samples = N,
                                             .rpm = reference_rpm};
        bool another = false;
        assert_int_equal(kw_reference_is_of_another(
                             &reference, &session,
                             cases[i].has_load ? load : NULL, &another, NULL),
                         KW_OK);
        check_true(cases[i].label, another == cases[i].another);
    }
}

/* What the reference gives is what a plot shows as its band: the same level as
 * is told, sample by sample. */
static void check_drawn(const struct made_scene *scene,
                        const struct kw_reference_level *level,
                        double from_s)
{
    size_t n = 0;
    double sum_c = 0.0;
    assert_non_null(level->gas_c);
    assert_true(level->spread_c > 0.0);
    for (size_t i = 0; i < scene->session.n_samples; i++) {
        const double above_c = scene->session.gas_c[i] - level->gas_c[i];
        if (isnan(above_c))
            continue;
        sum_c += above_c;
        n++;
    }
    assert_true(n > scene->session.n_samples / 10);
    if (from_s <= 0.0)
        check_near("drawn", sum_c / (double)n, level->above_c, 15.0);
}

/* The level of one made session above another that differs by so much from
 * from_s on. */
static double level_c(double from_s, double more_c)
{
    struct synthetic_options options = synthetic_defaults();
    struct synthetic good = synthetic_new(&options);
    options.seed = 2;
    struct synthetic other = synthetic_new(&options);
    synthetic_lean(&other, from_s, other.time_s[other.n - 1], more_c);
    struct made_scene reference;
    struct made_scene scene;
    struct kw_reference_level level;
    made_scene(&good, NAN, &reference);
    made_scene(&other, NAN, &scene);
    scene.scene.reference = &reference.session;
    assert_int_equal(kw_level_above_reference(&scene.scene, &level, NULL),
                     KW_OK);
    check_drawn(&scene, &level, from_s);
    free(level.gas_c);
    made_scene_free(&scene);
    made_scene_free(&reference);
    synthetic_free(&good);
    synthetic_free(&other);
    return level.above_c;
}

/* A probe that reads cold, or a mixture far from right, hides behind "nothing
 * was found"; a fault of the last laps is not the level of the session. */
static void test_reference_level__is_that_of_the_whole_session(void **state)
{
    (void)state;
    check_near("as then", level_c(0.0, 0.0), 0.0, 5.0);
    check_near("all colder", level_c(0.0, -80.0), -80.0, 12.0);
    check_near("hotter at last", level_c(380.0, 80.0), 0.0, 5.0);
}

/* Without a reference there is no level, and no crash. */
static void test_reference_level__needs_a_reference(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    struct kw_reference_level level;
    made_scene(&made, NAN, &scene);
    assert_int_equal(kw_level_above_reference(&scene.scene, &level, NULL),
                     KW_OK);
    assert_true(isnan(level.above_c));
    assert_null(level.gas_c);
    made_scene_free(&scene);
    synthetic_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reference_level__other_rpm_is_another_kart),
        cmocka_unit_test(test_reference_level__is_that_of_the_whole_session),
        cmocka_unit_test(test_reference_level__needs_a_reference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
