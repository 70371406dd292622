/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive from engine to axle: what the log itself shows of it, and the few
 * speeds of the engine that several detectors ask for. */
#ifndef KARTWRIGHT_ANALYSIS_GEARING_H
#define KARTWRIGHT_ANALYSIS_GEARING_H

#include "analysis/scene.h"

/* Engine and axle side by side.
 *
 * axle_rpm     axle_rpm[n_samples]: what the engine would turn if the clutch
 *              were locked, from the axle's or the kart's speed; NAN where not
 *              known; NULL when the log has no speed or shows no fixed gearing.
 * rpm_per_m_s  engine RPM for each m/s of kart while locked; NAN when the axle
 *              was measured itself.
 * latency_s    by how much the speed comes later than RPM; taken out.
 * scatter      of engine over axle while locked, as a share (standard
 *              deviation).
 * top_rpm      highest RPM of the session that is no odd reading (99 %).
 * idle_seen_rpm  the lowest RPM at which the engine stays for some seconds; NAN
 *              when it never does.
 * other_idle_rpm  another that may be the idle: a higher stay, if that was a
 *              starter or the cold (idle.h); the profile's, where the engine
 *              plainly idles higher; NAN else.
 * idle_rpm     the profile's, unless the engine plainly idles higher; else the
 *              lowest.
 * noise_rpm    of one reading, resolution included.
 * fresh_s      usual time between two fresh RPM readings. */
struct kw_drive {
    double *axle_rpm;
    double rpm_per_m_s;
    double latency_s;
    double scatter;
    double top_rpm;
    double idle_seen_rpm;
    double other_idle_rpm;
    double idle_rpm;
    double noise_rpm;
    double fresh_s;
};

/* An idle is at most so many times the sound one, however much air leaks: no
 * throttle that is shut lets more in (common practice, no source). */
#define KW_NO_IDLE_TIMES 1.8

/* Learns the drive from the session.
 *
 * scene    session and profile; running where it is known.
 * out      the caller frees it with kw_drive_free(). Zeroed on error.
 * returns  KW_OK; KW_NO_MEMORY.
 * cost     O(n). */
enum kw_status kw_find_drive(const struct kw_scene *scene,
                             struct kw_drive *out,
                             struct kw_error *error);
void kw_drive_free(struct kw_drive *drive);

/* The scene's drive where it has one, else learned into *own.
 *
 * own      the caller frees it with kw_drive_free() in either case.
 * drive    untouched on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_borrow_drive(const struct kw_scene *scene,
                               struct kw_drive *own,
                               const struct kw_drive **drive,
                               struct kw_error *error);

#endif
