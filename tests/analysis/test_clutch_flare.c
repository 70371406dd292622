/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starts in which the engine has been above the hold before. */
#include "support/check.h"
#include "support/drive_script.h"

/* The driver blips, and goes before the engine has come down to its idle. */
static void test_clutch_flare__blip_into_the_start_is_none_of_its_own(
    void **state)
{
    (void)state;
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {34.0, PULL}, {36.0, COAST}};
    const struct drive_options options = drive_defaults();
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    double *rpm = drive.session.rpm;
    for (size_t i = 0; i < drive.session.n_samples; i++) {
        const double before_s = drive.start_s - drive.session.time_s[i];
        if (before_s > 0.15 && before_s < 0.9)
            rpm[i] = 0.8 * options.hold_rpm;
        else if (before_s > 0.0 && before_s < 0.15)
            rpm[i] = 0.72 * options.hold_rpm;
    }
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    check_near("locked", found.items[0].end_s, drive.locked_s, 0.12);
    kw_events_free(&found);
    drive_free(&drive);
}

/* A start whose engine flares before the clutch grips.
 *
 * from_s, to_s  the flare, after the start.
 * idled_s       for so long before it the engine idled, fast before that.
 * most          the climb ends at this many times the hold. */
struct flare_case {
    const char *label;
    double from_s, to_s;
    double idled_s;
    double most;
    double told;
};

static void flare(const struct flare_case *c,
                  const struct drive_options *options,
                  struct drive_script *drive)
{
    static const double FLARE = 1.15;
    double *rpm = drive->session.rpm;
    for (size_t i = 0; i < drive->session.n_samples; i++) {
        const double since_s = drive->session.time_s[i] - drive->start_s;
        if (since_s < -c->idled_s)
            rpm[i] = 0.6 * options->top_rpm;
        if (since_s > c->from_s && since_s < c->to_s)
            rpm[i] = FLARE * options->hold_rpm;
        if (since_s > c->to_s && since_s < 10.0)
            rpm[i] = fmin(rpm[i], c->most * options->hold_rpm);
    }
}

static void test_clutch_flare__engine_flares_before_the_clutch_grips(
    void **state)
{
    (void)state;
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {34.0, PULL}, {36.0, COAST}};
    static const struct flare_case cases[] = {
        {"flares", 0.2, 0.7, 9.0, 9.0, 1.0},
        {"after a stop on the track", 0.2, 0.7, 3.0, 9.0, 1.0},
        {"after a slow corner", 0.2, 0.7, 1.5, 9.0, 0.0},
        {"a foot that eases off", 0.2, 2.6, 9.0, 9.0, 0.0},
        {"climbs no higher", 0.2, 0.7, 9.0, 1.1, 0.0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct drive_options options = drive_defaults();
        struct drive_script drive;
        drive_new(&options, script, 5, &drive);
        flare(&cases[k], &options, &drive);
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(cases[k].label, (double)found.n, cases[k].told, 0.0);
        if (found.n > 0)
            check_near(cases[k].label, found.items[0].end_s, drive.locked_s,
                       0.12);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* Away from the stand at full throttle, then through the pit lane with less: a
 * clutch that slips holds lower then, and the speed shows that it slips. */
static void test_clutch_flare__less_throttle_holds_lower(void **state)
{
    (void)state;
    static const double FULL_S = 0.8;
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {34.0, PULL}, {36.0, COAST}};
    struct drive_options options = drive_defaults();
    options.has_speed = true;
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    for (size_t i = 0; i < drive.session.n_samples; i++) {
        const double into_s = drive.session.time_s[i] - drive.start_s;
        if (into_s > 0.0 && into_s < FULL_S)
            drive.session.rpm[i] *= 1.2;
    }
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, drive.start_s, 0.15);
    check_near("locked", found.items[0].end_s, drive.locked_s, 0.15);
    kw_events_free(&found);
    drive_free(&drive);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_clutch_flare__blip_into_the_start_is_none_of_its_own),
        cmocka_unit_test(
            test_clutch_flare__engine_flares_before_the_clutch_grips),
        cmocka_unit_test(test_clutch_flare__less_throttle_holds_lower),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
