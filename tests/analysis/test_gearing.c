/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/gearing.h"

#include "support/check.h"
#include "support/drive_script.h"

#include <string.h>

static const struct foot laps[] = {{5, STAND},  {20, PULL},  {22, BRAKE},
                                   {34, PULL},  {36, BRAKE}, {48, PULL},
                                   {52, COAST}, {60, STAND}};

static void make(struct drive_options *options, struct drive_script *drive)
{
    options->has_speed = true;
    drive_new(options, laps, 8, drive);
}

/* Gearing is what slip is measured against: 1 % off is a third of locked. */
static void test_gearing__found_from_the_session(void **state)
{
    (void)state;
    static const double gearings[] = {150.0, 480.0, 640.0};
    for (size_t k = 0; k < 3; k++) {
        struct drive_options options = drive_defaults();
        options.rpm_per_m_s = gearings[k];
        options.speed_noise_m_s = 0.2;
        struct drive_script drive;
        make(&options, &drive);
        struct kw_drive found;
        assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
        check_near("gearing", found.rpm_per_m_s, gearings[k],
                   0.005 * gearings[k]);
        check_near("idle", found.idle_rpm, 2100.0, 60.0);
        check_true("axle", found.axle_rpm != NULL);
        kw_drive_free(&found);
        kw_drive_free(&found);
        drive_free(&drive);
    }
}

/* A receiver that is half a second late makes every start look slow. */
static void test_gearing__late_speed_is_put_right(void **state)
{
    (void)state;
    struct drive_options options = drive_defaults();
    struct drive_script drive;
    make(&options, &drive);
    const size_t late = 10; /* samples at 20 Hz */
    double *speed = drive.session.speed_m_s;
    memmove(speed + late, speed,
            (drive.session.n_samples - late) * sizeof *speed);
    struct kw_drive found;
    assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
    check_near("latency", found.latency_s, 0.5, 0.051);
    kw_drive_free(&found);
    drive_free(&drive);
}

struct raised_case {
    const char *label;
    double stated_rpm;
    double clutch_rpm;
    double expected_rpm;
    double other_rpm;
};

/* The engine idles at 2,100. */
static const struct raised_case raised_cases[] = {
    {"as an owner rounds it", 2000, NAN, 2000, NAN},
    {"lower than stated", 2600, NAN, 2600, NAN},
    {"plainly higher", 1500, NAN, 2100, 1500},
    {"plainly higher, close to the clutch", 1500, 2250, 2100, 1500},
    {"where the clutch takes hold", 1500, 2100, 1500, NAN},
    {"far above any idle", 1100, NAN, 1100, NAN},
};

/* An engine that leaks air idles above the profile's figure, and its starts
 * begin above the idle that it has. */
static void test_gearing__idle_above_the_profiles_counts(void **state)
{
    (void)state;
    const size_t n = sizeof raised_cases / sizeof raised_cases[0];
    for (size_t k = 0; k < n; k++) {
        const struct raised_case *c = &raised_cases[k];
        struct drive_options options = drive_defaults();
        struct drive_script drive;
        make(&options, &drive);
        drive.profile.idle_rpm = c->stated_rpm;
        drive.profile.clutch_rpm = c->clutch_rpm;
        struct kw_drive found;
        assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
        check_near(c->label, found.idle_rpm, c->expected_rpm, 60.0);
        check_true(c->label, isnan(c->other_rpm) ? isnan(found.other_idle_rpm)
                                                 : fabs(found.other_idle_rpm -
                                                        c->other_rpm) < 1.0);
        kw_drive_free(&found);
        drive_free(&drive);
    }
}

/* A kart without a clutch turns its engine at one RPM through each slow corner:
 * no idle, or each way out would be a start. The same RPM for longer is one. */
static void test_gearing__slow_corner_is_no_idle(void **state)
{
    (void)state;
    static const double CORNER_S[] = {1.3, 4.0};
    for (size_t k = 0; k < 2; k++) {
        struct drive_options options = drive_defaults();
        struct drive_script drive;
        make(&options, &drive);
        const double lap_s = 6.0 + CORNER_S[k];
        for (size_t i = 0; i < drive.session.n_samples; i++) {
            const double in_s = fmod(drive.session.time_s[i], lap_s);
            drive.session.rpm[i] =
                in_s < CORNER_S[k]
                    ? 6000.0
                    : 6000.0 + 2800.0 * fmin(in_s - CORNER_S[k], lap_s - in_s);
        }
        struct kw_drive found;
        assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
        check_true("idle", k == 0 ? isnan(found.idle_rpm)
                                  : fabs(found.idle_rpm - 6000.0) < 250.0);
        kw_drive_free(&found);
        drive_free(&drive);
    }
}

/* A speed that stands still while RPM moves is no speed. */
static void test_gearing__stuck_receiver_is_not_believed(void **state)
{
    (void)state;
    struct drive_options options = drive_defaults();
    struct drive_script drive;
    make(&options, &drive);
    const size_t from = drive_at(&drive, 10.0);
    for (size_t i = from; i < from + 60; i++)
        drive.session.speed_m_s[i] = drive.session.speed_m_s[from];
    struct kw_drive found;
    assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
    check_true("stuck", isnan(found.axle_rpm[from + 30]));
    check_true("before", isfinite(found.axle_rpm[from - 20]));
    kw_drive_free(&found);
    drive_free(&drive);
}

/* A car with a gearbox has no one gearing: nothing may be measured with it. */
static void test_gearing__no_fixed_ratio_is_not_known(void **state)
{
    (void)state;
    struct drive_options options = drive_defaults();
    struct drive_script drive;
    make(&options, &drive);
    for (size_t i = 0; i < drive.session.n_samples; i++)
        drive.session.speed_m_s[i] *= 0.4 + 0.037 * (double)(i % 41);
    struct kw_drive found;
    assert_int_equal(kw_find_drive(&drive.scene, &found, NULL), KW_OK);
    assert_null(found.axle_rpm);
    kw_drive_free(&found);
    drive_free(&drive);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gearing__found_from_the_session),
        cmocka_unit_test(test_gearing__late_speed_is_put_right),
        cmocka_unit_test(test_gearing__idle_above_the_profiles_counts),
        cmocka_unit_test(test_gearing__slow_corner_is_no_idle),
        cmocka_unit_test(test_gearing__stuck_receiver_is_not_believed),
        cmocka_unit_test(test_gearing__no_fixed_ratio_is_not_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
