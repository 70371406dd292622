/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/drive_script.h"

enum { N = 8 };

struct start_case {
    const char *label;
    double rate_hz;
    double idle_rpm, clutch_rpm, hold_rpm, top_rpm, launch_rpm_s;
    bool has_speed;
    double tolerance_s;
};

static const struct start_case starts[] = {
    {"two-stroke, RPM alone", 20, 2100, 4200, 5000, 14500, 1300, false, 0.12},
    {"two-stroke, 5 Hz", 5, 2100, 4200, 5000, 14500, 1300, false, 0.35},
    {"two-stroke, 100 Hz", 100, 2100, 4200, 5000, 14500, 1300, false, 0.1},
    {"two-stroke, speed", 20, 2100, 4200, 5000, 14500, 1300, true, 0.08},
    {"two-stroke, speed, 10 Hz", 10, 2100, 4200, 5000, 14500, 1300, true, 0.12},
    {"rental four-stroke", 20, 1450, 2000, 2400, 6000, 450, false, 0.15},
    {"rental, speed", 20, 1450, 2000, 2400, 6000, 450, true, 0.12},
    {"rental, close above its idle", 20, 1610, 1750, 1900, 6000, 450, false,
     0.15},
};

/* How long the clutch slips tells how much lining is left. */
static void test_clutch__start_is_timed(void **state)
{
    (void)state;
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {34.0, PULL}, {36.0, COAST}};
    for (size_t k = 0; k < sizeof starts / sizeof starts[0]; k++) {
        const struct start_case *c = &starts[k];
        struct drive_options options = drive_defaults();
        options.rate_hz = c->rate_hz;
        options.idle_rpm = c->idle_rpm;
        options.clutch_rpm = c->clutch_rpm;
        options.hold_rpm = c->hold_rpm;
        options.top_rpm = c->top_rpm;
        options.launch_rpm_s = c->launch_rpm_s;
        options.rpm_per_m_s = c->top_rpm / 28.0;
        options.has_speed = c->has_speed;
        struct drive_script drive;
        drive_new(&options, script, 5, &drive);
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(c->label, (double)found.n, 1.0, 0.0);
        const struct kw_event *event = &found.items[0];
        check_near(c->label, event->start_s, drive.start_s,
                   0.06 + 1.0 / c->rate_hz);
        check_near(c->label, event->end_s - event->start_s,
                   drive.locked_s - drive.start_s, c->tolerance_s);
        check_near(c->label, event->detail.engagement.hold_rpm, c->hold_rpm,
                   0.03 * c->hold_rpm);
        check_true(c->label,
                   event->detail.engagement.method ==
                       (c->has_speed ? KW_CLUTCH_BY_SPEED : KW_CLUTCH_BY_RPM));
        check_true(c->label, isnan(event->detail.engagement.slip_energy_kj));
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* Rows are missing in the middle of the hold: a moment, while the logger wrote
 * to its card, or so long that the kart may have stood again. */
static void test_clutch__rows_missing_in_the_hold(void **state)
{
    (void)state;
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {34.0, PULL}, {36.0, COAST}};
    static const struct {
        const char *label;
        double missing_s;
        double told;
    } cases[] = {{"a moment", 0.5, 1.0}, {"a while", 1.5, 0.0}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct drive_options options = drive_defaults();
        struct drive_script drive;
        drive_new(&options, script, 5, &drive);
        const size_t gap = drive_at(&drive, drive.start_s + 1.0);
        for (size_t i = gap; i < drive.session.n_samples; i++)
            drive.session.time_s[i] += cases[k].missing_s;
        assert_int_equal(kw_spans_add(&drive.session.gaps, gap - 1, gap, NULL),
                         KW_OK);
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(cases[k].label, (double)found.n, cases[k].told, 0.0);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* Nothing was started: no clutch to judge. */
struct none_case {
    const char *label;
    struct foot script[N];
    size_t n;
};

static const struct none_case none[] = {
    {"kart on its stand",
     {{5, STAND}, {9, FREE}, {12, STAND}, {15, FREE}, {20, STAND}},
     5},
    {"idling only", {{30, STAND}}, 1},
    {"slow corner, the kart rolls on",
     {{0.1, STAND}, {0.2, FREE}, {12, PULL}, {14.6, BRAKE}, {20, PULL}},
     5},
};

static void test_clutch__nothing_started_is_none(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof none / sizeof none[0]; k++) {
        struct drive_options options = drive_defaults();
        options.has_speed = false;
        struct drive_script drive;
        drive_new(&options, none[k].script, none[k].n, &drive);
        struct kw_events found;
        drive_find_starts(&drive, &found);
        const size_t most = k == 2 ? 1 : 0;
        check_true(none[k].label, found.n <= most);
        for (size_t i = 0; i < found.n; i++)
            check_true(none[k].label, found.items[i].start_s < 2.0);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* After a spin the driver starts again: each start wears the lining. */
static void test_clutch__second_start_is_found(void **state)
{
    (void)state;
    static const struct foot script[] = {{5, STAND},  {17, PULL}, {21, BRAKE},
                                         {24, STAND}, {34, PULL}, {37, BRAKE}};
    for (int has_speed = 0; has_speed < 2; has_speed++) {
        struct drive_options options = drive_defaults();
        options.has_speed = has_speed == 1;
        struct drive_script drive;
        drive_new(&options, script, 6, &drive);
        struct kw_events found;
        drive_find_starts(&drive, &found);
        assert_int_equal(found.n, 2);
        check_near("second start", found.items[1].start_s, 24.15, 0.15);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* A leak raised the idle from 2,450 to 3,650; the profile still says the lower,
 * and RPM never comes down to that before a start. */
static void test_clutch__start_above_a_raised_idle(void **state)
{
    (void)state;
    static const struct foot script[] = {
        {10, STAND}, {25, PULL}, {28, BRAKE}, {35, STAND}, {50, PULL}};
    struct drive_options options = drive_defaults();
    options.idle_rpm = 3650;
    options.clutch_rpm = 4085;
    options.hold_rpm = 5050;
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    drive.profile.idle_rpm = 2450;
    drive.profile.clutch_rpm = 4085;
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 2);
    check_near("start", found.items[0].start_s, drive.start_s, 0.1);
    kw_events_free(&found);
    drive_free(&drive);
}

/* The kart rolls out of a slow corner, hardly slower than a walk. A measured
 * speed is believed; one derived from fixes is off by more than that, and the
 * climb says that the kart rolled. A start from a stand-still is found by
 * both. */
static void test_clutch__fixes_alone_tell_no_walk_from_a_roll(void **state)
{
    (void)state;
    static const struct foot script[] = {{6.0, STAND},
                                         {20.0, PULL},
                                         {22.72, BRAKE},
                                         {32.0, PULL},
                                         {34.0, COAST}};
    for (int derived = 0; derived < 2; derived++) {
        struct drive_options options = drive_defaults();
        options.has_speed = true;
        options.speed_noise_m_s = 0.6;
        struct drive_script drive;
        drive_new(&options, script, 5, &drive);
        drive.session.speed_is_derived = derived == 1;
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(derived == 1 ? "derived" : "measured", (double)found.n,
                   derived == 1 ? 1.0 : 2.0, 0.0);
        check_near("start", found.items[0].start_s, drive.start_s, 0.15);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* The profile says where the clutch starts to take load: on many karts just
 * below where it holds. A start is not thrown away for it. */
static void test_clutch__stated_take_up_just_below_the_hold(void **state)
{
    (void)state;
    static const struct foot script[] = {{5, STAND}, {20, PULL}, {22, COAST}};
    static const double stated_rpm[] = {3600.0, 4200.0, 4700.0, 4950.0, 5100.0};
    for (size_t k = 0; k < sizeof stated_rpm / sizeof stated_rpm[0]; k++) {
        struct drive_options options = drive_defaults();
        struct drive_script drive;
        drive_new(&options, script, 3, &drive);
        drive.profile.clutch_rpm = stated_rpm[k];
        struct kw_events found;
        drive_find_starts(&drive, &found);
        assert_int_equal(found.n, 1);
        check_near("duration", found.items[0].end_s - found.items[0].start_s,
                   drive.locked_s - drive.start_s, 0.15);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* The driver plays with the throttle until he goes, and the engine does not
 * come down to its idle in between: the speed shows the start. */
static void test_clutch__start_out_of_blips_is_seen_in_the_speed(void **state)
{
    (void)state;
    static const double STEP_S = 0.9;
    static const struct foot script[] = {{12.0, STAND},
                                         {30.0, PULL},
                                         {32.0, BRAKE},
                                         {40.0, PULL},
                                         {42.0, COAST}};
    struct drive_options options = drive_defaults();
    options.rate_hz = 20;
    options.has_speed = true;
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    for (size_t i = 0; i < drive.session.n_samples; i++) {
        const double time_s = drive.session.time_s[i];
        if (time_s < 5.0 || time_s >= drive.start_s)
            continue;
        const size_t step = (size_t)((time_s - 5.0) / STEP_S);
        drive.session.rpm[i] = options.idle_rpm * (step % 2 == 0 ? 1.27 : 1.4);
    }
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, drive.start_s, 0.1);
    kw_events_free(&found);
    drive_free(&drive);
}

/* A cold engine that came up to its idle, and blips with a foot that closes
 * slowly: held at one speed for a second, they look like short starts that end
 * in a lift, and the last runs into the true one. That has a climb behind it,
 * so the level that shows it counts. */
static void test_clutch__sure_start_stands_for_blips(void **state)
{
    (void)state;
    static const struct foot script[] = {{30.0, STAND},
                                         {44.0, PULL},
                                         {46.0, BRAKE},
                                         {54.0, PULL},
                                         {56.0, COAST}};
    struct drive_options options = drive_defaults();
    options.idle_rpm = 1600.0;
    options.clutch_rpm = 1850.0;
    options.hold_rpm = 2120.0;
    options.top_rpm = 5800.0;
    options.launch_rpm_s = 400.0;
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    for (size_t i = 0; i < drive.session.n_samples; i++) {
        const double time_s = drive.session.time_s[i];
        const double into_s = fmod(time_s - drive.start_s + 29.0, 9.0);
        if (time_s < 1.6)
            drive.session.rpm[i] = 1420.0;
        else if (time_s > 4.0 && time_s < drive.start_s && into_s < 3.0)
            drive.session.rpm[i] = 1940.0 - 130.0 * fmax(into_s - 0.6, 0.0);
    }
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, drive.start_s, 0.1);
    check_near("locked", found.items[0].end_s, drive.locked_s, 0.15);
    kw_events_free(&found);
    drive_free(&drive);
}

/* What RPM does from AT_S on, after so long at idle: up to a hold of 5,000, and
 * on from there; it stays at its peak for a second, and falls. */
struct shape_case {
    const char *label;
    double idle_s, hold_s, climb_rpm_s, peak_rpm, fall_rpm_s;
    double told;
};

static const double AT_S = 60.0;
static const double RISES_S = 0.2;

static double shape_rpm(const struct shape_case *c, double time_s)
{
    const double climbs_s = (c->peak_rpm - 5000.0) / c->climb_rpm_s;
    const double into_s = time_s - AT_S;
    const double held_s = into_s - RISES_S - c->hold_s;
    const double peak_for_s = c->climb_rpm_s > 0.0 ? 1.0 : 0.0;
    if (into_s < 0.0)
        return fmin(fmax(2100.0, 2100.0 - 4500.0 * (into_s + c->idle_s)),
                    7000.0);
    if (into_s < RISES_S)
        return 2100.0 + 2900.0 * into_s / RISES_S;
    if (held_s < 0.0)
        return 5000.0;
    if (c->climb_rpm_s > 0.0 && held_s < climbs_s)
        return 5000.0 + c->climb_rpm_s * held_s;
    const double past_s =
        held_s - peak_for_s - (c->climb_rpm_s > 0.0 ? climbs_s : 0.0);
    return fmax(c->peak_rpm - fmax(c->fall_rpm_s * past_s, 0.0), 2100.0);
}

/* A kart gathers speed no faster than its tyres let it, and one that idled for
 * long stood; what a foot does beside that is no start. */
static void test_clutch__tyres_tell_a_start_from_a_foot(void **state)
{
    (void)state;
    static const struct shape_case cases[] = {
        {"as fast as tyres let it", 15.0, 1.0, 4900.0, 9000.0, 3000.0, 1.0},
        {"a free engine", 15.0, 1.0, 8000.0, 9000.0, 8000.0, 0.0},
        {"a quick step of the foot", 15.0, 1.0, 4600.0, 5700.0, 3000.0, 0.0},
        {"a slow start", 15.0, 1.0, 3200.0, 9000.0, 3000.0, 1.0},
        {"eases off as it locks", 15.0, 1.0, 1500.0, 9000.0, 3000.0, 1.0},
        {"the same, rolls after a corner", 3.0, 1.0, 1500.0, 9000.0, 3000.0,
         0.0},
        {"hardly a knee", 15.0, 0.5, 1200.0, 9000.0, 3000.0, 0.0},
        {"a lift after two seconds", 15.0, 2.0, 0.0, 5000.0, 2500.0, 1.0},
        {"a blip held for a moment", 15.0, 0.6, 0.0, 5000.0, 2500.0, 0.0}};
    static const struct foot script[] = {
        {6.0, STAND}, {24.0, PULL}, {26.0, BRAKE}, {90.0, STAND}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const struct drive_options options = drive_defaults();
        struct drive_script drive;
        drive_new(&options, script, 4, &drive);
        for (size_t i = drive_at(&drive, 35.0); i < drive.session.n_samples;
             i++)
            drive.session.rpm[i] +=
                shape_rpm(&cases[k], drive.session.time_s[i]) - 2100.0;
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(cases[k].label, (double)found.n, 1.0 + cases[k].told, 0.0);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

/* On the stand a foot holds the engine for longer than any clutch does, and
 * then opens up: what climbs as only the best of karts could says less about
 * the clutch than what climbs as this one does. */
static double warmed_up_rpm(double time_s)
{
    static const double HELD_RPM = 3400.0;
    if (time_s < 4.0 || time_s > 16.0)
        return 2100.0;
    if (time_s < 13.0)
        return HELD_RPM;
    return time_s < 14.2 ? HELD_RPM + 4200.0 * (time_s - 13.0)
                         : fmax(8440.0 - 6000.0 * (time_s - 14.2), 2100.0);
}

static void test_clutch__foot_on_the_stand_is_not_the_measure(void **state)
{
    (void)state;
    static const struct foot script[] = {{25.0, STAND},
                                         {44.0, PULL},
                                         {46.0, BRAKE},
                                         {54.0, PULL},
                                         {56.0, COAST}};
    struct drive_options options = drive_defaults();
    options.has_speed = false;
    struct drive_script drive;
    drive_new(&options, script, 5, &drive);
    for (size_t i = 0; i < drive_at(&drive, 20.0); i++)
        drive.session.rpm[i] += warmed_up_rpm(drive.session.time_s[i]) - 2100.0;
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    check_near("start", found.items[0].start_s, drive.start_s, 0.1);
    kw_events_free(&found);
    drive_free(&drive);
}

/* With mass and gearing known the heat is known: the kart's kinetic energy at
 * lock-up, 0.94 m v^2 / 2 or a little more for rolling. */
static void test_clutch__energy_is_the_karts(void **state)
{
    (void)state;
    static const struct foot script[] = {{5, STAND}, {20, PULL}, {22, COAST}};
    struct drive_options options = drive_defaults();
    struct drive_script drive;
    drive_new(&options, script, 3, &drive);
    drive.profile.mass_kg = 165.0;
    drive.profile.tyre_circumference_m = 0.85;
    drive.profile.engine_teeth = 11.0;
    drive.profile.axle_teeth = 78.0;
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 1);
    const double speed_m_s = 5000.0 / 60.0 * 0.85 / (78.0 / 11.0);
    check_near("energy", found.items[0].detail.engagement.slip_energy_kj,
               1.05 * 165.0 * speed_m_s * speed_m_s / 2000.0, 1.0);
    kw_events_free(&found);
    drive_free(&drive);
}

/* RPM of a kart without a clutch that is pushed off and let roll out, twice. */
static double pushed_off_rpm(double time_s)
{
    const double since_s = fmod(time_s, 20.0) - 8.0;
    if (since_s < 0.0)
        return 2100.0;
    return since_s < 3.0 ? 2100.0 + 1200.0 * since_s
                         : fmax(5700.0 - 1500.0 * (since_s - 3.0), 2100.0);
}

/* Whoever has no clutch must not be told how it slips. */
static void test_clutch__pushed_off_is_none(void **state)
{
    (void)state;
    static const struct foot script[] = {{40, STAND}};
    struct drive_options options = drive_defaults();
    options.has_speed = false;
    struct drive_script drive;
    drive_new(&options, script, 1, &drive);
    for (size_t i = 0; i < drive.session.n_samples; i++)
        drive.session.rpm[i] = pushed_off_rpm(drive.session.time_s[i]);
    struct kw_events found;
    drive_find_starts(&drive, &found);
    assert_int_equal(found.n, 0);
    kw_events_free(&found);
    drive_free(&drive);
}

/* Logs of no length, of nothing, of a flat line. */
static void test_clutch__empty_logs_are_none(void **state)
{
    (void)state;
    static const struct foot script[] = {{10, STAND}};
    static const double fill[] = {NAN, 0.0, 5000.0};
    struct drive_options options = drive_defaults();
    options.has_speed = true;
    for (size_t k = 0; k < 3; k++) {
        struct drive_script drive;
        drive_new(&options, script, 1, &drive);
        for (size_t i = 0; i < drive.session.n_samples; i++)
            drive.session.rpm[i] = drive.session.speed_m_s[i] = fill[k];
        for (size_t n = 0; n <= 200; n += 100) {
            drive.session.n_samples = n == 100 ? 1 : n;
            struct kw_events found;
            drive_find_starts(&drive, &found);
            assert_int_equal(found.n, 0);
            kw_events_free(&found);
        }
        drive_free(&drive);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clutch__start_is_timed),
        cmocka_unit_test(test_clutch__rows_missing_in_the_hold),
        cmocka_unit_test(test_clutch__nothing_started_is_none),
        cmocka_unit_test(test_clutch__second_start_is_found),
        cmocka_unit_test(test_clutch__start_above_a_raised_idle),
        cmocka_unit_test(test_clutch__fixes_alone_tell_no_walk_from_a_roll),
        cmocka_unit_test(test_clutch__stated_take_up_just_below_the_hold),
        cmocka_unit_test(test_clutch__sure_start_stands_for_blips),
        cmocka_unit_test(test_clutch__tyres_tell_a_start_from_a_foot),
        cmocka_unit_test(test_clutch__foot_on_the_stand_is_not_the_measure),
        cmocka_unit_test(test_clutch__energy_is_the_karts),
        cmocka_unit_test(test_clutch__pushed_off_is_none),
        cmocka_unit_test(test_clutch__empty_logs_are_none),
        cmocka_unit_test(test_clutch__start_out_of_blips_is_seen_in_the_speed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
