/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Import: what a log file says. Columns, roles, units, clock and notices.
 *
 *     struct kw_log log;
 *     struct kw_error error;
 *     if (kw_log_read("session.csv", NULL, &log, &error) == KW_OK) {
 *         const struct kw_channel *rpm = kw_log_channel(&log, KW_ROLE_RPM, 0);
 *         ... rpm->values[0 .. log.rows_used - 1], log.time_s[...] ...
 *         kw_log_free(&log);
 *     }
 *
 * Only rows that could be read and whose time stamp goes forward are kept; the
 * others are counted and named in the notices. Values are in the project's
 * units: C, rpm, m/s, degrees, V, m/s2, and throttle as a fraction 0 to 1.
 */
#ifndef KARTWRIGHT_LOG_H
#define KARTWRIGHT_LOG_H

#include "kartwright/error.h"
#include "kartwright/notice.h"

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* What a column holds. The order is the order of the contract. */
enum kw_role {
    KW_ROLE_TIME,
    KW_ROLE_RPM,
    KW_ROLE_EGT,
    KW_ROLE_SPEED,
    KW_ROLE_LATITUDE,
    KW_ROLE_LONGITUDE,
    KW_ROLE_LAP,
    KW_ROLE_LAP_MARKER,
    KW_ROLE_WATER_TEMP,
    KW_ROLE_HEAD_TEMP,
    KW_ROLE_THROTTLE,
    KW_ROLE_AXLE_RPM,
    KW_ROLE_ACCEL_LONG,
    KW_ROLE_ACCEL_LAT,
    KW_ROLE_BATTERY_V,
    KW_N_ROLES
};

/* The role's name as the contract and `--column` write it ("rpm", "egt").
 *
 * returns  constant text; "" for a value outside the enum. */
const char *kw_role_name(enum kw_role role);

/* Finds a role by its contract name.
 *
 * returns  the role, or KW_N_ROLES when there is none of that name. */
enum kw_role kw_role_from_name(const char *name);

/* One column that was understood.
 *
 * probe    0 for the first channel of its role, 1 for the second (EGT only).
 * column   the heading as the file has it, in UTF-8; untrusted text.
 * unit     the unit as it was understood in the file: "rpm", "C", "F", "K",
 *          "km/h", "mph", "m/s", "knots", "s", "ms", "us", "ns", "days",
 *          "hhmmss", "hh:mm:ss", "ISO 8601", "deg", "semicircles", "V", "g",
 *          "m/s2", "%", "" where the role has none.
 * why      how role and unit were told, one short phrase for a person.
 * values   values[rows_used], NAN where missing. NULL for time: see time_s.
 * missing  number of NAN among them. */
struct kw_channel {
    enum kw_role role;
    size_t probe;
    char *column;
    char *unit;
    char *why;
    double *values;
    size_t missing;
};

/* A log as read. All counts are of data rows: not the heading, not blank lines.
 *
 * path             as given, "-" for standard input; untrusted text.
 * time_s           time_s[rows_used], strictly rising, 0 at the first data row.
 * sample_rate_hz   1 / median step; the stated rate where there is no time
 *                  column; NAN with fewer than 2 rows.
 * duration_s       from the first to the last row kept.
 * start_unix_s     wall-clock time of the first row in seconds since 1970 UTC
 *                  where the log has a date, else NAN.
 * start_has_zone   start_unix_s is that very moment: the clock gives its zone,
 *                  or counts seconds since 1970 UTC. false: it is what the
 *                  clock on the wall showed, as if that stood in Greenwich.
 * channels         in the order of the file's columns, time included. */
struct kw_log {
    char *path;
    size_t data_rows;
    size_t rows_used;
    size_t rows_rejected;
    double sample_rate_hz;
    double duration_s;
    double start_unix_s;
    bool start_has_zone;
    double *time_s;
    struct kw_channel *channels;
    size_t n_channels;
    struct kw_notices notices;
};

/* "This role is in that column", from --column or the profile.
 *
 * heading  as the file has it; compared without case and outer spaces. */
struct kw_column_choice {
    enum kw_role role;
    char *heading;
};

/* rate_hz    samples each second for a log without a time column; one that has
 *            it keeps its time, and a notice says so. NAN or 0 (default): there
 *            must be a time column or a note with the rate.
 * rpm_per_m_s  engine RPM for each m/s of kart by the teeth and the tyre that
 *            the owner stated: tells the unit of a speed that states none. NAN
 *            or 0 (default) where not known.
 * choices    choices[n_choices], the first one for a role wins; NULL for none.
 */
struct kw_import_options {
    double rate_hz;
    double rpm_per_m_s;
    const struct kw_column_choice *choices;
    size_t n_choices;
};

/* Reads a log.
 *
 * path     a file, "-" for standard input; gzip is recognised by its content.
 * options  NULL for the defaults.
 * out      the log; the caller frees it with kw_log_free(). Zeroed on error.
 * error    filled in when the result is not KW_OK, else untouched.
 * returns  KW_OK; KW_BAD_INPUT; KW_IO_FAILED; KW_NO_MEMORY.
 * memory   grows with the numbers kept, not with the text. */
enum kw_status kw_log_read(const char *path,
                           const struct kw_import_options *options,
                           struct kw_log *out,
                           struct kw_error *error);

/* Frees what kw_log_read() made. Takes a zeroed log, and may be called
 * twice. */
void kw_log_free(struct kw_log *log);

/* The probe-th channel of a role.
 *
 * returns  NULL when the log has none. */
const struct kw_channel *kw_log_channel(const struct kw_log *log,
                                        enum kw_role role,
                                        size_t probe);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
