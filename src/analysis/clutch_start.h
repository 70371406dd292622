/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starts through the clutch, as the trace of RPM and speed shows them: up from
 * idle, a hold while the clutch slips and the kart gathers speed, and the knee
 * from which engine and kart climb together. */
#ifndef KARTWRIGHT_ANALYSIS_CLUTCH_START_H
#define KARTWRIGHT_ANALYSIS_CLUTCH_START_H

#include "analysis/gearing.h"
#include "analysis/scene.h"

/* One start.
 *
 * start_s, locked_s  as in the contract.
 * start_rpm    where the clutch takes hold; hold_rpm  mean while it slips.
 * climb_rpm_s  how fast RPM climbs after the knee; NAN when the driver lifted
 *              before there was one.
 * axle_rpm     of the axle at the start; NAN without speed.
 * by_speed     slip was seen in the speed channel. */
struct kw_start {
    double start_s;
    double locked_s;
    double start_rpm;
    double hold_rpm;
    double climb_rpm_s;
    double axle_rpm;
    bool by_speed;
};

struct kw_starts {
    struct kw_start *items;
    size_t n;
    size_t capacity;
};

/* Finds the starts, by time.
 *
 * out      the caller frees it with kw_starts_free(). Empty on error.
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_starts(const struct kw_scene *scene,
                              const struct kw_drive *drive,
                              struct kw_starts *out,
                              struct kw_error *error);
void kw_starts_free(struct kw_starts *starts);

#endif
