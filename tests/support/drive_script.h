/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small made-up drive for tests of clutch, chain and engine: the driver's
 * feet as a script, a kart with a clutch, readings of RPM, speed and EGT.
 *
 *     static const struct foot script[] = {{5, STAND}, {15, PULL}, {18,
 * BRAKE}}; struct drive_options options = drive_defaults(); struct drive_script
 * drive = drive_new(&options, script, 3);
 *     ... drive.scene ...
 *     drive_free(&drive);
 *
 * Shapes with the right rates, not physics: the simulator is in tests/sim. */
#ifndef KARTWRIGHT_TESTS_DRIVE_SCRIPT_H
#define KARTWRIGHT_TESTS_DRIVE_SCRIPT_H

#include "analysis/scene.h"

/* STAND  throttle shut, wheels held.   PULL   full throttle.
 * BRAKE  throttle shut, brakes on.     COAST  throttle shut, rolling.
 * FREE   full throttle with the wheels off the ground. */
enum foot_does { STAND, PULL, BRAKE, COAST, FREE };

/* What the driver does until a time. */
struct foot {
    double until_s;
    enum foot_does does;
};

/* clutch_rpm     where the clutch takes hold; it holds the engine at hold_rpm.
 * launch_rpm_s   how fast the axle gathers speed; all in engine RPM.
 * rpm_per_m_s    gearing.
 * has_speed      the log has a speed channel, speed_noise_m_s its scatter. */
struct drive_options {
    double rate_hz;
    double idle_rpm;
    double clutch_rpm;
    double hold_rpm;
    double top_rpm;
    double launch_rpm_s;
    double rpm_per_m_s;
    double rpm_noise;
    double speed_noise_m_s;
    bool has_speed;
    bool has_egt;
};

/* A two-stroke at 20 Hz: idle 2,100, takes hold at 4,200, holds 5,000. */
struct drive_options drive_defaults(void);

/* The first start of the script: when the clutch took load, and when it had
 * locked (slip 3 %); NAN where there was none. scene points into the rest: do
 * not copy. Change rpm and gas freely before use. */
struct drive_script {
    struct kw_session session;
    struct kw_profile profile;
    struct kw_events before;
    struct kw_scene scene;
    double start_s;
    double locked_s;
};

void drive_new(const struct drive_options *options,
               const struct foot *script,
               size_t n,
               struct drive_script *out);
void drive_free(struct drive_script *drive);

/* The starts through the clutch that are found in it; the caller frees them. */
void drive_find_starts(const struct drive_script *drive,
                       struct kw_events *found);

/* The sample at or after a time. */
size_t drive_at(const struct drive_script *drive, double time_s);

#endif
