/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The dialect of a log: language, separators, units, time form, encoding. */
#ifndef SIM_DIALECT_H
#define SIM_DIALECT_H

#include "sim_sensor.h"

#include <stdio.h>

enum sim_time_form {
    SIM_SECONDS,
    SIM_MILLISECONDS,
    SIM_CLOCK,
    SIM_ISO_8601,
    SIM_NO_TIME
};

enum sim_units { SIM_UNITS_NOT_SAID, SIM_UNITS_IN_HEADING, SIM_UNITS_ROW };

enum sim_encoding { SIM_UTF8, SIM_UTF8_MARK, SIM_LATIN1, SIM_UTF16 };

struct sim_dialect {
    size_t language; /* row of the table of headings */
    char separator;
    char decimal;
    bool quoted;
    bool crlf;
    enum sim_encoding encoding;
    enum sim_time_form time_form;
    enum sim_units units;
    size_t speed_unit;       /* 0 km/h, 1 mph, 2 m/s, 3 kn */
    size_t temperature_unit; /* 0 C, 1 F, 2 K */
    bool notes_above;
    bool rate_in_notes; /* of a log without time: else it is an argument */
    bool stray_column;
    double clock_start_s; /* of the day */
    unsigned order;       /* turns the order of the columns */
};

struct sim_dialect sim_draw_dialect(const struct sim_session *session);

/* Writes the log to `path`, whole. Ends the program when it cannot. */
void sim_log_write(const struct sim_session *session,
                   const struct sim_dialect *dialect,
                   const struct sim_rows *rows,
                   const char *path);

/* Opens `path` to write; ends the program when it cannot. */
FILE *sim_open(const char *path);
void sim_close(FILE *file, const char *path);

#endif
