/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the logger makes of the true states: rows of readings. */
#ifndef SIM_SENSOR_H
#define SIM_SENSOR_H

#include "sim_model.h"

enum sim_column {
    SIM_TIME,
    SIM_RPM,
    SIM_EGT,
    SIM_EGT_TWO,
    SIM_SPEED,
    SIM_LATITUDE,
    SIM_LONGITUDE,
    SIM_LAP,
    SIM_MARKER,
    SIM_WATER,
    SIM_HEAD,
    SIM_THROTTLE,
    SIM_AXLE,
    SIM_ACCEL_LONG,
    SIM_ACCEL_LAT,
    SIM_BATTERY,
    SIM_N_COLUMNS
};

/* Row k of the log. NAN stands for a blank field. Temperatures in C, speed in
 * m/s, positions in degrees. true_s is when the row was really taken. */
struct sim_rows {
    size_t n;
    double *true_s;
    double *value[SIM_N_COLUMNS]; /* NULL = the log has no such column */
};

struct sim_rows sim_measure(const struct sim_session *session,
                            const struct sim_trace *trace);
void sim_rows_free(struct sim_rows *rows);

/* When the RPM that a row shows was measured: loggers update RPM in steps. */
double sim_rpm_moment_s(const struct sim_logger *logger, double row_s);

/* Degrees north and east of the logger's reference, WGS 84 ellipsoid. */
void sim_degrees(const struct sim_logger *logger,
                 double east_m,
                 double north_m,
                 double *latitude,
                 double *longitude);

#endif
