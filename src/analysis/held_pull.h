/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls in which RPM stops rising all at once and stays where it is until the
 * lift.
 *
 * A healthy engine gains less and less as drag grows: at full power, with 15 kW
 * and 165 kg at 33 m/s, its gain fades over some four seconds, and over one at
 * least where its torque falls away above its peak. A gain that is gone within
 * half a second was cut: by a bowl that ran empty, by a limiter, or by a foot.
 * Which of them it was, the exhaust and the other pulls have to tell; here it
 * is only measured. No other lap and no good pull is needed for it, so it shows
 * a fault that all pulls have. */
#ifndef KARTWRIGHT_ANALYSIS_HELD_PULL_H
#define KARTWRIGHT_ANALYSIS_HELD_PULL_H

#include "analysis/scene.h"

/* span            samples, from where the rise ends to the end of the pull.
 * rpm             where it ended.
 * before_rpm_s    gain in the 0.8 s before,
 * after_rpm_s     and in the 0.8 s after.
 * last_rpm_s      and in the 0.8 s before the highest reading of the last 0.8 s
 *                 of the hold, or in all of it where it is shorter;
 * again_rpm_s     and in those 0.8 s of it in which RPM gains most.
 * most_gained_rpm highest reading after it, less rpm.
 * regained_rpm    last reading, less the lowest after it.
 * sunk_rpm        rpm, less the last reading.
 * warming_c       hottest gas in it, noise apart, less the gas where it begins.
 * warmer_at_end_c the same for its last moments.
 * hottest_c       hottest gas in it.
 * excess_before_c gas above what is expected in the second or so before,
 * excess_c        and in it; NAN where nothing was expected. */
struct kw_held_pull {
    struct kw_span span;
    double rpm;
    double before_rpm_s;
    double after_rpm_s;
    double last_rpm_s;
    double again_rpm_s;
    double most_gained_rpm;
    double regained_rpm;
    double sunk_rpm;
    double warming_c;
    double warmer_at_end_c;
    double hottest_c;
    double excess_before_c;
    double excess_c;
};

struct kw_held_pulls {
    struct kw_held_pull *items;
    size_t n;
    size_t capacity;
};

/* At most one for each pull. A pull of less than 1.6 s is too short to have
 * both halves, and one that begins with a jump no loaded kart can make is an
 * engine that turns free.
 *
 * scene    with exhaust temperature and what is expected of it.
 * top_rpm  of the session.
 * out      by time. The caller frees items.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_held_pulls(const struct kw_scene *scene,
                                  double top_rpm,
                                  struct kw_held_pulls *out,
                                  struct kw_error *error);

#endif
