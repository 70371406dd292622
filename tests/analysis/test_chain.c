/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/drive_script.h"

static const struct foot pulls[] = {{5, STAND}, {20, PULL},  {21, BRAKE},
                                    {30, PULL}, {31, BRAKE}, {40, PULL}};

/* RPM runs ahead of the kart for a time, n times, by a share at its peak.
 *
 * rise_s  how long it takes to get there and, at the end, to come back. */
struct ahead {
    const char *label;
    double rate_hz;
    size_t n;
    double for_s;
    double rise_s;
    double share;
    bool has_speed;
    size_t expected;
};

static const struct ahead cases[] = {
    {"three jumps", 50, 3, 0.15, 0.02, 0.12, true, 1},
    {"three jumps, 100 Hz", 100, 3, 0.12, 0.03, 0.15, true, 1},
    {"one alone: a wheel in the air", 50, 1, 0.15, 0.02, 0.12, true, 0},
    {"three small ones", 50, 3, 0.15, 0.02, 0.08, true, 1},
    {"glitches of the signal", 100, 3, 0.03, 0.001, 0.12, true, 0},
    {"wheels that spin", 50, 3, 1.2, 0.4, 0.12, true, 0},
    {"wheels off the ground", 100, 3, 0.3, 0.1, 0.25, true, 0},
    {"wheels off the ground, 20 Hz", 20, 3, 0.35, 0.18, 0.25, true, 0},
    {"a signal that is doubled by halves", 50, 3, 0.15, 0.02, 0.5, true, 0},
    {"nothing", 50, 0, 0.15, 0.02, 0.0, true, 0},
    {"no speed to compare with", 50, 3, 0.15, 0.02, 0.12, false, 0},
    {"odd readings of a slow log", 10, 3, 0.09, 0.02, 0.16, true, 0},
    {"a clutch that hunts in a slow log", 10, 5, 0.09, 0.02, 0.09, true, 0},
    {"more of them", 10, 5, 0.09, 0.02, 0.16, true, 1},
    {"too slow a log", 5, 5, 0.15, 0.02, 0.16, true, 0},
};

static void run_ahead(struct drive_script *drive, const struct ahead *c)
{
    static const double at_s[] = {11.95, 25.95, 36.95, 13.95, 27.95};
    for (size_t k = 0; k < c->n; k++) {
        for (size_t i = drive_at(drive, at_s[k]);
             i < drive_at(drive, at_s[k] + c->for_s); i++) {
            const double t = drive->session.time_s[i] - at_s[k];
            const double in = fmin(t / c->rise_s + 0.3, 1.0);
            const double out = fmin((c->for_s - t) / c->rise_s + 0.3, 1.0);
            drive->session.rpm[i] *= 1.0 + c->share * fmin(in, out);
        }
    }
}

/* Worn teeth throw the chain at full speed: the driver wants to know. A kart
 * that only slides must not send anyone to buy sprockets. */
static void test_chain__jumps_are_told_from_what_looks_like_them(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct drive_options options = drive_defaults();
        options.rate_hz = cases[k].rate_hz;
        options.has_speed = cases[k].has_speed;
        struct drive_script drive;
        drive_new(&options, pulls, 6, &drive);
        run_ahead(&drive, &cases[k]);
        struct kw_events found = {0};
        assert_int_equal(kw_find_chain_jumps(&drive.scene, &found, NULL),
                         KW_OK);
        check_near(cases[k].label, (double)found.n, (double)cases[k].expected,
                   0.0);
        if (found.n > 0)
            check_near(cases[k].label, found.items[0].start_s, 12.0, 0.1);
        kw_events_free(&found);
        drive_free(&drive);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_chain__jumps_are_told_from_what_looks_like_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
