/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kart profile: an INI file in which every key is optional.
 *
 * Numbers that the profile does not state are NAN, texts are NULL. The keys are
 * those of the contract, and two of ours: [engine] probe_lag_s, and a section
 * [columns] with lines `role = heading`.
 */
#ifndef KARTWRIGHT_PROFILE_H
#define KARTWRIGHT_PROFILE_H

#include "kartwright/error.h"
#include "kartwright/log.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* What is beyond is a slip of the pen, in a profile as on a command line:
 * metres for millimetres, sprockets that were swapped. Wide enough for every
 * kart (common practice, no source). */
enum {
    KW_FEWEST_ENGINE_TEETH = 5,
    KW_MOST_ENGINE_TEETH = 60,
    KW_FEWEST_AXLE_TEETH = 10,
    KW_MOST_AXLE_TEETH = 150,
    KW_SMALLEST_TYRE_MM = 400,
    KW_LARGEST_TYRE_MM = 2000
};

/* name                   of the kart, UTF-8, untrusted text, or NULL.
 * mass_kg                kart and driver, ready to race.
 * tyre_circumference_m   driven wheels, rolling.
 * engine_teeth, axle_teeth  sprocket teeth.
 * idle_rpm, max_rpm      the engine's own idle and highest speed.
 * clutch_rpm             where the clutch starts to take load.
 * egt_limit_c            the owner's own limit for this probe position.
 * probe_lag_s            time constant of the EGT probe.
 * line_lat_deg, line_lon_deg  the two ends of the start/finish line, WGS 84.
 * columns                columns[n_columns]: stated columns. */
struct kw_profile {
    char *name;
    double mass_kg;
    double tyre_circumference_m;
    double engine_teeth;
    double axle_teeth;
    double idle_rpm;
    double max_rpm;
    double clutch_rpm;
    double egt_limit_c;
    double probe_lag_s;
    double line_lat_deg[2];
    double line_lon_deg[2];
    struct kw_column_choice *columns;
    size_t n_columns;
    size_t columns_capacity;
};

/* Makes a profile that states nothing: every number NAN, no text. */
void kw_profile_init(struct kw_profile *profile);

/* Reads a profile.
 *
 * out      the caller frees it with kw_profile_free(); on error it is as
 *          kw_profile_init() leaves it.
 * error    names the file and the line.
 * returns  KW_OK; KW_BAD_INPUT (unknown key, a key given twice, impossible
 *          value, no text); KW_IO_FAILED (missing file); KW_NO_MEMORY. */
enum kw_status kw_profile_read(const char *path,
                               struct kw_profile *out,
                               struct kw_error *error);

/* Takes a profile from kw_profile_init(), and may be called twice. */
void kw_profile_free(struct kw_profile *profile);

/* Engine turns for each turn of the axle, axle_teeth / engine_teeth.
 *
 * returns  NAN where the profile does not state both. */
double kw_profile_gearing(const struct kw_profile *profile);

/* Engine RPM for each m/s of kart while the clutch is locked, by the teeth and
 * the tyre.
 *
 * returns  NAN where the profile does not state all three. */
double kw_profile_rpm_per_m_s(const struct kw_profile *profile);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
