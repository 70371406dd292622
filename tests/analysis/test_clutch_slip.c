/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/drive_script.h"

#include <stdlib.h>

static void find(struct drive_script *drive, struct kw_events *found)
{
    *found = (struct kw_events){0};
    assert_int_equal(
        kw_find_clutch_engagements(&drive->scene, &drive->before, NULL), KW_OK);
    assert_int_equal(kw_find_clutch_slip(&drive->scene, found, NULL), KW_OK);
}

static const struct foot one_start[] = {{5, STAND},
                                        {20, PULL},
                                        {22, BRAKE},
                                        {30, PULL},
                                        {32, COAST}};

/* lasts_s: from taking load to locked. */
struct hold_case {
    const char *label;
    double hold_rpm;
    double stated_rpm;
    double lasts_s;
    size_t expected;
};

static const struct hold_case holds[] = {
    {"holds where a sound one does", 5000, 4200, 5.0, 0},
    {"holds high within what is sound", 5300, 4200, 5.0, 0},
    {"little lining to spare", 5850, 4200, 5.0, 0},
    {"drags early", 6450, 4200, 2.5, 0},
    {"glazed", 6450, 4200, 5.0, 1},
    {"worn out", 7000, 4200, 2.5, 1},
    {"nobody said where it takes hold", 7000, NAN, 5.0, 0},
};

/* A worn lining is told before it leaves the kart on the grid; a sound one must
 * not cost an evening. */
static void test_clutch_slip__height_of_hold_against_the_profile(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof holds / sizeof holds[0]; k++) {
        struct drive_options options = drive_defaults();
        options.hold_rpm = holds[k].hold_rpm;
        options.clutch_rpm = 0.84 * holds[k].hold_rpm;
        options.launch_rpm_s = holds[k].hold_rpm / holds[k].lasts_s;
        struct drive_script drive;
        drive_new(&options, one_start, 5, &drive);
        drive.profile.clutch_rpm = holds[k].stated_rpm;
        struct kw_events found;
        find(&drive, &found);
        check_near(holds[k].label, (double)found.n, (double)holds[k].expected,
                   0.0);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* Under load the engine runs ahead of the axle by `share`, three times; the
 * speed may be made from positions. */
static size_t flares_of(double share, double speed_noise_m_s, bool is_derived)
{
    struct drive_options options = drive_defaults();
    options.has_speed = true;
    options.speed_noise_m_s = speed_noise_m_s;
    struct drive_script drive;
    drive_new(&options, one_start, 5, &drive);
    const size_t n = drive.session.n_samples;
    double *load = calloc(n, sizeof *load);
    assert_non_null(load);
    for (size_t i = 0; i < n; i++)
        load[i] = 1.0;
    static const double at_s[] = {12.0, 15.0, 18.0};
    for (size_t k = 0; k < 3; k++) {
        for (size_t i = drive_at(&drive, at_s[k]);
             i < drive_at(&drive, at_s[k] + 1.2); i++)
            drive.session.rpm[i] *= 1.0 + share;
    }
    drive.scene.load = load;
    drive.session.speed_is_derived = is_derived;
    struct kw_events found;
    find(&drive, &found);
    const size_t n_found = found.n;
    kw_events_free(&found);
    drive_free(&drive);
    free(load);
    return n_found;
}

/* A clutch that lets go again out of slow corners burns its lining. */
static void test_clutch_slip__flare_is_found(void **state)
{
    (void)state;
    assert_int_equal(flares_of(0.15, 0.05, false), 1);
}

/* Neither a locked clutch nor a noisy receiver is a flare, and positions tell
 * none. */
static void test_clutch_slip__locked_is_none(void **state)
{
    (void)state;
    assert_int_equal(flares_of(0.0, 0.05, false), 0);
    assert_int_equal(flares_of(0.03, 0.05, false), 0);
    assert_int_equal(flares_of(0.0, 0.5, false), 0);
    assert_int_equal(flares_of(0.15, 0.05, true), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clutch_slip__height_of_hold_against_the_profile),
        cmocka_unit_test(test_clutch_slip__flare_is_found),
        cmocka_unit_test(test_clutch_slip__locked_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
