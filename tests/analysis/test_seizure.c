/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "analysis/detectors.h"

#include "support/check.h"
#include "support/drive_script.h"

#include <stdlib.h>

static const struct foot laps[] = {{5, STAND},  {20, PULL},  {22, BRAKE},
                                   {34, PULL},  {35, BRAKE}, {48, PULL},
                                   {51, COAST}, {60, STAND}};

/* How the engine ends.
 *
 * sinks_rpm_s  how fast RPM falls in the last three seconds before 47 s.
 * extra_c      how much hotter the gas is in them.
 * stops_s      how long it takes from there to stand.
 * cool_s       for how long before 47 s the gas is that of a lift. */
struct ending {
    const char *label;
    double sinks_rpm_s;
    double extra_c;
    double stops_s;
    double cool_s;
    size_t expected;
};

static const struct ending endings[] = {
    {"seizes", 500, 90, 0.2, 0.0, 1},
    {"seizes at once", 350, 90, 0.05, 0.0, 1},
    {"switched off while rolling", 600, 0, 4.0, 0.0, 0},
    {"hot, but brought to rest", 500, 90, 4.0, 0.0, 0},
    {"hot pull, then braked until it stalls", 500, 90, 0.2, 2.5, 0},
    {"lead falls off: no heat", 0, -60, 0.05, 0.0, 0},
};

static void end_as(struct drive_script *drive, const struct ending *c)
{
    const struct kw_session *s = &drive->session;
    const size_t stop = drive_at(drive, 47.0);
    for (size_t i = drive_at(drive, 44.0); i < s->n_samples; i++) {
        const double t = s->time_s[i] - 44.0;
        if (i < stop) {
            s->rpm[i] -= c->sinks_rpm_s * t;
            s->gas_c[i] += c->extra_c;
            if (s->time_s[i] > 47.0 - c->cool_s)
                s->gas_c[i] = 300.0;
            continue;
        }
        const double part = (s->time_s[i] - 47.0) / c->stops_s;
        s->rpm[i] = s->rpm[stop - 1] * fmax(1.0 - part, 0.0);
        s->gas_c[i] = 250.0;
    }
}

static size_t stands_at(const struct kw_session *s, size_t from)
{
    while (from < s->n_samples && s->rpm[from] > 400.0)
        from++;
    return from;
}

/* A seizing engine that is started again takes its cylinder along; an engine
 * that was switched off must not be taken apart. */
static void test_seizure__told_from_other_ends(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof endings / sizeof endings[0]; k++) {
        struct drive_options options = drive_defaults();
        options.has_egt = true;
        struct drive_script drive;
        drive_new(&options, laps, 8, &drive);
        const size_t n = drive.session.n_samples;
        double *load = calloc(n, sizeof *load);
        assert_non_null(load);
        for (size_t i = 0; i < n; i++)
            load[i] = drive.session.gas_c[i] > 400.0;
        end_as(&drive, &endings[k]);
        struct kw_span run = {
            0, stands_at(&drive.session, drive_at(&drive, 46.0))};
        const struct kw_running running = {.spans = {&run, 1, 1}};
        drive.scene.load = load;
        drive.scene.running = &running;
        struct kw_events found = {0};
        assert_int_equal(kw_find_seizure_onset(&drive.scene, &found, NULL),
                         KW_OK);
        check_near(endings[k].label, (double)found.n,
                   (double)endings[k].expected, 0.0);
        if (found.n > 0)
            check_true(endings[k].label,
                       found.items[0].severity == KW_BEFORE_NEXT_RUN);
        kw_events_free(&found);
        drive_free(&drive);
        free(load);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_seizure__told_from_other_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
