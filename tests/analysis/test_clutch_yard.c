/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starts practised about the yard: the kart never comes near its top end, so
 * that a hold, and even the idle, are large shares of the highest RPM. */
#include "support/check.h"
#include "support/drive_script.h"

#include <math.h>

/* Every so often a start. */
enum { STARTS = 4 };
static const double EVERY_S = 25.0;
static const double FIRST_S = 12.0;
static const double HOLDS_S = 6.0;
static const double CLIMBS_S = 3.0;

/* quick         of the hold: as far the engine rises at once; it creeps_s more.
 * stated_rpm    the profile's for the clutch.
 * lifts_m_s     speed at which the driver lifts from the third start on, before
 *               a climb; NAN where all are followed by one, or the log has no
 *               speed.
 * lost_s        for so long about the lift the receiver reads far too low.
 * told          starts that are to be found. */
struct yard_case {
    const char *label;
    double idle_rpm, hold_rpm, top_rpm;
    double quick;
    double creeps_s;
    double stated_rpm;
    double lifts_m_s;
    double lost_s;
    size_t told;
};

/* At which they lock. */
static const double LOCKS_M_S = 10.0;

static const struct yard_case cases[] = {
    {"near the top", 1620, 6200, 9200, 1.0, 0.1, 4800, NAN, 0.0, 4},
    {"the same, stated far lower", 1620, 6200, 9200, 1.0, 0.1, 3600, NAN, 0.0,
     0},
    {"half the top is idle", 1470, 2400, 2900, 1.0, 0.1, 0, NAN, 0.0, 4},
    {"the driver opens up slowly", 2590, 6300, 7600, 0.88, 1.6, 0, NAN, 0.0, 4},
    {"the foot alone takes it up", 2590, 6300, 7600, 0.66, 1.2, 0, NAN, 0.0, 0},
    {"lifts as it locks", 1470, 2400, 2900, 1.0, 0.1, 0, 9.5, 0.0, 4},
    {"the same, a bad reading", 1470, 2400, 2900, 1.0, 0.1, 0, 9.5, 0.4, 4},
    {"lifts too early", 1470, 2400, 2900, 1.0, 0.1, 0, 6.0, 0.0, 2},
};

/* What stands at a moment after the foot went down. */
struct reading {
    double rpm;
    double speed_m_s;
};

static double fall(double from, double down_to, double by, double for_s)
{
    return fmax(from - by * from * fmax(for_s, 0.0), down_to);
}

static struct reading read_at(const struct yard_case *c,
                              double since_s,
                              bool lifts)
{
    const double locks_s = HOLDS_S;
    const double held_s = lifts ? HOLDS_S * c->lifts_m_s / LOCKS_M_S : HOLDS_S;
    const double quick_rpm = c->quick * c->hold_rpm;
    struct reading at = {c->idle_rpm, 0.0};
    if (since_s <= 0.0)
        return at;
    at.speed_m_s = LOCKS_M_S * fmin(since_s, held_s) / locks_s;
    if (since_s < 0.3)
        at.rpm += (quick_rpm - c->idle_rpm) * since_s / 0.3;
    else if (since_s < held_s)
        at.rpm = quick_rpm + (c->hold_rpm - quick_rpm) *
                                 fmin((since_s - 0.3) / c->creeps_s, 1.0);
    else if (!lifts && since_s < held_s + CLIMBS_S) {
        at.rpm = c->hold_rpm +
                 (c->top_rpm - c->hold_rpm) * (since_s - held_s) / CLIMBS_S;
        at.speed_m_s = LOCKS_M_S * at.rpm / c->hold_rpm;
    } else {
        const double past_s = since_s - held_s - (lifts ? 0.0 : CLIMBS_S);
        at.rpm =
            fall(lifts ? c->hold_rpm : c->top_rpm, c->idle_rpm, 0.35, past_s);
        at.speed_m_s = fall(at.speed_m_s, 0.0, 0.35, past_s);
    }
    return at;
}

/* A little hunting, so that no reading stands still. */
static void drive_about(const struct yard_case *c, struct drive_script *drive)
{
    for (size_t i = 0; i < drive->session.n_samples; i++) {
        const double time_s = drive->session.time_s[i];
        const int k = (int)floor((time_s - FIRST_S) / EVERY_S);
        const bool lifts = k >= 2 && !isnan(c->lifts_m_s);
        const double since_s = time_s - FIRST_S - EVERY_S * fmax(k, 0.0);
        drive->session.rpm[i] =
            read_at(c, since_s, lifts).rpm * (1.0 + 0.003 * sin(9.0 * time_s));
        if (drive->session.speed_m_s == NULL)
            continue;
        const double lifted_s = HOLDS_S * c->lifts_m_s / LOCKS_M_S;
        drive->session.speed_m_s[i] =
            lifts && fabs(since_s - lifted_s) < c->lost_s
                ? 0.5 * LOCKS_M_S
                : read_at(c, since_s, lifts).speed_m_s;
    }
}

static void test_clutch_yard__starts_are_told_as_on_the_track(void **state)
{
    (void)state;
    static const struct foot script[] = {
        {FIRST_S + STARTS * EVERY_S - 1.0, STAND}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct yard_case *c = &cases[i];
        struct drive_options options = drive_defaults();
        options.has_speed = !isnan(c->lifts_m_s);
        struct drive_script drive;
        drive_new(&options, script, 1, &drive);
        drive_about(c, &drive);
        drive.profile.clutch_rpm = c->stated_rpm > 0.0 ? c->stated_rpm : NAN;
        struct kw_events found;
        drive_find_starts(&drive, &found);
        check_near(c->label, (double)found.n, (double)c->told, 0.0);
        for (size_t k = 0; k < found.n; k++)
            check_near(c->label, found.items[k].start_s,
                       FIRST_S + EVERY_S * (double)k + 0.2, 0.3);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clutch_yard__starts_are_told_as_on_the_track),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
