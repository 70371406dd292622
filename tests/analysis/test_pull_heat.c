/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/pull_heat.h"

#include "analysis/detectors.h"
#include "support/check.h"
#include "support/made_scene.h"

#include <math.h>

/* Heat in one pull of a session.
 *
 * n_hungry  pulls that were told as short of fuel.
 * after_s   it begins so long after the pull.
 * for_s     and lasts so long; past the lift where that is longer.
 * heat_c    so much.
 * first_c   the pull is so hot until then.
 * hungry    it is the same restriction. */
struct heat {
    const char *label;
    size_t n_hungry;
    double after_s;
    double for_s;
    double heat_c;
    double first_c;
    bool hungry;
};

static const struct heat heats[] = {
    {"as in other pulls", 2, 3.0, 2.0, 60.0, 0.0, true},
    {"one other", 1, 3.0, 2.0, 60.0, 0.0, false},
    {"soon after the pull began", 2, 1.0, 4.0, 60.0, 0.0, false},
    {"hot from its first moment", 2, 3.0, 2.0, 60.0, 50.0, false},
    {"slight", 2, 3.0, 2.0, 18.0, 0.0, false},
    {"past the lift", 2, 3.0, 12.0, 60.0, 0.0, false},
};

enum { MOST_HUNGRY = 2 };

/* Gas straight from what is expected: the probe is not asked. */
static void heat_up(struct made_scene *made,
                    const struct heat *heat,
                    size_t pull,
                    const struct kw_span *span)
{
    for (size_t i = 0; i < made->session.n_samples; i++)
        made->session.gas_c[i] = made->expected_c[i];
    for (size_t i = pull; i < span->from; i++)
        made->session.gas_c[i] += heat->first_c;
    for (size_t i = span->from; i < span->to; i++)
        made->session.gas_c[i] += heat->heat_c;
}

static void test_pull_heat__late_heat_beside_hungry_pulls(void **state)
{
    (void)state;
    struct synthetic_options options = synthetic_defaults();
    struct synthetic made = synthetic_new(&options);
    struct made_scene scene;
    made_scene(&made, NAN, &scene);
    size_t from = synthetic_at(&made, made.lap_start_s[4]);
    size_t to = 0;
    assert_true(synthetic_next_longest(&made, &from, &to));
    const size_t pull = kw_pull_begin(&scene.scene, from + (to - from) / 2);
    const double pull_s = made.time_s[pull];
    for (size_t k = 0; k < sizeof heats / sizeof heats[0]; k++) {
        const struct heat *heat = &heats[k];
        struct kw_event items[MOST_HUNGRY] = {
            {.kind = KW_DROPOUT,
             .detail.dropout.cause = KW_CAUSE_FUEL_RESTRICTION},
            {.kind = KW_DROPOUT,
             .detail.dropout.cause = KW_CAUSE_FUEL_RESTRICTION},
        };
        const struct kw_events hungry = {.items = items, .n = heat->n_hungry};
        const struct kw_span span = {
            synthetic_at(&made, pull_s + heat->after_s),
            synthetic_at(&made, pull_s + heat->after_s + heat->for_s)};
        heat_up(&scene, heat, pull, &span);
        scene.scene.events = &hungry;
        check_true(heat->label, kw_is_heat_of_hunger(&scene.scene, span.from,
                                                     span.to) == heat->hungry);
    }
    made_scene_free(&scene);
    synthetic_free(&made);
}

/* What no sag of RPM showed is told as what the other pulls have. */
static void test_pull_heat__lean_tells_it_as_a_restriction(void **state)
{
    (void)state;
    for (size_t n_hungry = 0; n_hungry <= MOST_HUNGRY; n_hungry += 2) {
        struct synthetic_options options = synthetic_defaults();
        struct synthetic made = synthetic_new(&options);
        for (size_t lap = 4; lap <= 6; lap++) {
            size_t from = synthetic_at(&made, made.lap_start_s[lap]);
            size_t to = 0;
            assert_true(synthetic_next_longest(&made, &from, &to));
            synthetic_lean(&made, made.time_s[to] - 4.0, made.time_s[to], 90.0);
        }
        struct made_scene scene;
        made_scene(&made, NAN, &scene);
        struct kw_event items[MOST_HUNGRY] = {
            {.kind = KW_DROPOUT,
             .detail.dropout.cause = KW_CAUSE_FUEL_RESTRICTION},
            {.kind = KW_DROPOUT,
             .detail.dropout.cause = KW_CAUSE_FUEL_RESTRICTION},
        };
        const struct kw_events hungry = {.items = items, .n = n_hungry};
        scene.scene.events = &hungry;
        struct kw_events found = {0};
        assert_int_equal(kw_find_lean(&scene.scene, &found, NULL), KW_OK);
        assert_int_equal(found.n, 3);
        for (size_t i = 0; i < found.n; i++) {
            assert_int_equal(found.items[i].kind,
                             n_hungry > 0 ? KW_DROPOUT : KW_LEAN);
            if (n_hungry > 0)
                assert_true(isnan(found.items[i].detail.dropout.depth_rpm));
        }
        kw_events_free(&found);
        made_scene_free(&scene);
        synthetic_free(&made);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pull_heat__late_heat_beside_hungry_pulls),
        cmocka_unit_test(test_pull_heat__lean_tells_it_as_a_restriction),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
