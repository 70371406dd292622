/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A made-up session as a detector sees it. */
#include "support/made_scene.h"

#include "analysis/heat.h"
#include "analysis/laps.h"
#include "analysis/load.h"
#include "analysis/running.h"
#include "analysis/usual_pace.h"
#include "core/array.h"
#include "support/check.h"

#include <stdlib.h>

static void take_laps(const struct synthetic *made, struct made_scene *out)
{
    struct kw_laps *laps = &out->laps;
    laps->method = KW_LAPS_BY_RPM;
    laps->n = made->n_laps - 1;
    laps->items = kw_array_new(laps->n, sizeof *laps->items, NULL);
    laps->place = kw_array_new_nan(out->session.n_samples, NULL);
    assert_non_null(laps->items);
    assert_non_null(laps->place);
    for (size_t k = 0; k < laps->n; k++) {
        const double start_s = made->lap_start_s[k];
        const double end_s = made->lap_start_s[k + 1];
        laps->items[k] = (struct kw_lap){.number = k + 1,
                                         .kind = KW_LAP_FLYING,
                                         .start_s = start_s,
                                         .end_s = end_s};
        for (size_t i = 0; i < out->session.n_samples; i++) {
            const double t = out->session.time_s[i];
            if (t >= start_s && t < end_s)
                laps->place[i] = (t - start_s) / (end_s - start_s);
        }
    }
}

void made_scene(const struct synthetic *made,
                double limit_c,
                struct made_scene *out)
{
    *out = (struct made_scene){0};
    kw_profile_init(&out->profile);
    out->profile.egt_limit_c = limit_c;
    synthetic_session(made, &out->profile, &out->session);
    assert_int_equal(
        kw_find_running(&out->session, &out->profile, &out->running, NULL),
        KW_OK);
    assert_int_equal(kw_find_load(&out->session, &out->running, &out->load,
                                  &out->pulls, NULL),
                     KW_OK);
    take_laps(made, out);
    out->scene = (struct kw_scene){.session = &out->session,
                                   .profile = &out->profile,
                                   .running = &out->running,
                                   .laps = &out->laps,
                                   .load = out->load,
                                   .pulls = &out->pulls,
                                   .events = &out->before};
    assert_int_equal(kw_expect_heat(&out->scene, &out->expected_c,
                                    &out->spread_c, &out->scene.changed, NULL),
                     KW_OK);
    out->scene.expected_c = out->expected_c;
    out->scene.expected_spread_c = out->spread_c;
}

void made_scene_free(struct made_scene *made)
{
    kw_session_free(&made->session);
    kw_running_free(&made->running);
    kw_pulls_free(&made->pulls);
    free(made->laps.items);
    free(made->laps.place);
    kw_events_free(&made->before);
    free(made->load);
    free(made->expected_c);
    free(made->spread_c);
    *made = (struct made_scene){0};
}

void detect(kw_detector *detector,
            const struct synthetic *made,
            double limit_c,
            struct kw_events *found)
{
    struct made_scene scene;
    made_scene(made, limit_c, &scene);
    *found = (struct kw_events){0};
    assert_int_equal(detector(&scene.scene, found, NULL), KW_OK);
    made_scene_free(&scene);
}

size_t count_starved(fuel_search *search, const struct made_scene *made)
{
    struct kw_rate_limits limits;
    assert_int_equal(
        kw_find_rate_limits(&made->session, &made->profile, &limits, NULL),
        KW_OK);
    double *best_rpm = kw_array_new_nan(made->session.n_samples, NULL);
    assert_non_null(best_rpm);
    assert_int_equal(
        kw_find_usual_pace(&made->scene, KW_BEST_LAPS, best_rpm, NULL), KW_OK);
    struct kw_fuel_sags sags = {0};
    assert_int_equal(search(&made->scene, &limits, best_rpm, &sags, NULL),
                     KW_OK);
    free(best_rpm);
    free(sags.items);
    return sags.n;
}

static void check_quiet(kw_detector *detector,
                        const struct synthetic_options *options)
{
    struct synthetic made = synthetic_new(options);
    struct kw_events found;
    detect(detector, &made, NAN, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    synthetic_free(&made);
}

void check_quiet_when_healthy(kw_detector *detector)
{
    for (uint64_t seed = 21; seed < 25; seed++) {
        struct synthetic_options options = synthetic_defaults();
        options.seed = seed;
        options.egt_step_c = seed % 2 == 0 ? 5.0 : 0.5;
        check_quiet(detector, &options);
    }
}

void check_quiet_without_probe(kw_detector *detector)
{
    struct synthetic_options options = synthetic_defaults();
    options.has_egt = false;
    check_quiet(detector, &options);
}
