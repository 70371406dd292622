/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kartwright/trackside.h"
#include "support/check.h"
#include "support/synthetic.h"

/* A review of a made-up session with speed: 14,800 RPM at 30 m/s. */
static void review_of(bool has_speed, struct kw_review *review)
{
    struct synthetic_options options = synthetic_defaults();
    options.has_speed = has_speed;
    options.rpm_top = 14800.0;
    options.speed_top_m_s = 30.0;
    struct synthetic made = synthetic_new(&options);
    struct kw_log made_log;
    synthetic_log(&made, &made_log);
    struct kw_session session;
    synthetic_session(&made, NULL, &session);
    *review = (struct kw_review){.session = session};
    review->laps.method = KW_LAPS_BY_SPEED;
    review->laps.n = options.laps;
    review->laps.items = test_calloc(options.laps, sizeof(struct kw_lap));
    for (size_t i = 0; i < options.laps; i++) {
        review->laps.items[i] = (struct kw_lap){
            .number = i + 1,
            .kind = KW_LAP_FLYING,
            .start_s = made.lap_start_s[i + 1],
            .end_s = made.lap_start_s[i + 2],
            .rpm_max = 14000.0 + 100.0 * (double)i,
        };
    }
    kw_log_free(&made_log);
    synthetic_free(&made);
}

static void free_review(struct kw_review *review)
{
    kw_session_free(&review->session);
    test_free(review->laps.items);
}

/* A worn tyre or a wrong entry shows: the log knows its own ratio. */
static void test_gearing_seen__ratio_is_the_one_that_was_driven(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_gearing_seen seen;
    review_of(true, &review);
    assert_int_equal(kw_gearing_look(&review, 0.85, NAN, &seen, NULL), KW_OK);
    const double driven = 14800.0 / 60.0 / (30.0 / 0.85);
    check_near("ratio", seen.ratio, driven, 0.01 * driven);
    check_true("interval",
               seen.ratio_low <= seen.ratio && seen.ratio <= seen.ratio_high &&
                   seen.ratio_high - seen.ratio_low < 0.05 * driven);
    kw_gearing_seen_free(&seen);
    free_review(&review);
}

static void test_gearing_seen__no_speed_means_no_ratio(void **state)
{
    (void)state;
    struct kw_review review;
    struct kw_gearing_seen seen;
    review_of(false, &review);
    assert_int_equal(kw_gearing_look(&review, 0.85, 20000.0, &seen, NULL),
                     KW_OK);
    check_true("ratio", isnan(seen.ratio));
    check_near("peak", seen.peak_rpm, 14350.0, 1e-9);
    check_near("above", seen.laps[0].above_s, 0.0, 1e-9);
    kw_gearing_seen_free(&seen);
    kw_gearing_seen_free(&seen);
    free_review(&review);
}

/* 78 teeth at 14,400 RPM: 15,200 want 82.3. */
static void test_gearing_seen__teeth_follow_the_peak(void **state)
{
    (void)state;
    check_near("teeth", kw_axle_teeth_for(78, 14400, 15200), 82.3333, 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gearing_seen__ratio_is_the_one_that_was_driven),
        cmocka_unit_test(test_gearing_seen__no_speed_means_no_ratio),
        cmocka_unit_test(test_gearing_seen__teeth_follow_the_peak),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
