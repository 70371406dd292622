/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The truth about a session, from its true states: what the labels say.
 *
 * scorable is false for what is there but cannot, or need not, be found: too
 * weak or short to matter, or without anything to compare with. A finding there
 * is neither right nor wrong.
 */
#ifndef SIM_LABEL_H
#define SIM_LABEL_H

#include "sim_sensor.h"

enum { SIM_MAX_LABELS = 400 };

struct sim_lap {
    const char *kind; /* "out", "flying", "in" */
    double start_s, end_s;
};

struct sim_lean {
    double start_s, end_s, strength_percent;
    double fault_s; /* hot seconds of its fault, all stretches together */
    size_t fault;   /* which of the plan's faults it belongs to */
    const char *region;
    bool scorable;
};

struct sim_clutch {
    double start_s, locked_s, start_rpm, hold_rpm, slip_energy_kj;
    bool scorable;
};

struct sim_dropout {
    double start_s, end_s, depth_rpm;
    const char *cause;
    bool spark_cut; /* the engine misses, not only the signal */
    bool scorable;
};

struct sim_other {
    const char *kind;
    double start_s, end_s, strength;
    bool scorable;
};

struct sim_labels {
    struct sim_lap lap[SIM_MAX_LABELS];
    size_t n_laps;
    struct sim_lean lean[SIM_MAX_LABELS];
    size_t n_lean;
    struct sim_clutch clutch[SIM_MAX_LABELS];
    size_t n_clutch;
    struct sim_dropout dropout[SIM_MAX_LABELS];
    size_t n_dropouts;
    struct sim_other other[SIM_MAX_LABELS];
    size_t n_others;
    double running_s;
    int starts;
};

/* Fills `labels`, which is large: not for the stack. */
void sim_label(const struct sim_session *session,
               const struct sim_trace *trace,
               const struct sim_rows *rows,
               struct sim_labels *labels);

/* Parts, each looks at one thing. */
void sim_label_laps(const struct sim_session *session,
                    const struct sim_trace *trace,
                    struct sim_labels *labels);
void sim_label_clutch(const struct sim_session *session,
                      const struct sim_trace *trace,
                      struct sim_labels *labels);
void sim_label_lean(const struct sim_session *session,
                    const struct sim_trace *trace,
                    struct sim_labels *labels);
void sim_label_dropouts(const struct sim_session *session,
                        const struct sim_trace *trace,
                        const struct sim_rows *rows,
                        struct sim_labels *labels);

#endif
