/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The driver: how fast to be where, and what hands and feet do about it.
 *
 * For each lap a table of target speeds is made: grip in the bends, scattered
 * from lap to lap and bend to bend, then a pass backwards that leaves room to
 * brake. The pedals follow the table with the speed of a human foot. Events of
 * the plan (lifts, spins, traffic ...) bend the target or the kart.
 */
#ifndef SIM_DRIVER_H
#define SIM_DRIVER_H

#include "sim_model.h"

/* What the driver does to the kart in one step. */
struct sim_pedals {
    double throttle;   /* 0 .. 1 */
    double brake;      /* 0 .. 1 */
    double scrub_m_s2; /* sliding sideways */
    double shelter;    /* share of drag that a tow takes away */
    double grip_share; /* 1 = tyres on the ground */
    bool at_rest;      /* stands and waits */
    bool stalled;      /* the engine died in a spin */
};

struct sim_hand {
    double *target_m_s; /* for each step of the track */
    double *line_m;     /* offset of the line, knots along the track */
    size_t n_knots;
    long lap;       /* the lap that the tables are for */
    double top_m_s; /* highest speed so far */
    double throttle, brake;
    double wait_until_s; /* stands until then; 0 = does not stand */
    double launch_from_s;
    struct sim_event event[SIM_MAX_EVENTS];
    struct sim_random random;
};

/* Where the kart is. */
struct sim_seen {
    double time_s, distance_m, speed_m_s, end_m;
};

struct sim_hand sim_hand_open(const struct sim_session *session);
void sim_hand_free(struct sim_hand *hand);

struct sim_pedals sim_hand_step(struct sim_hand *hand,
                                const struct sim_session *session,
                                const struct sim_seen *seen,
                                double step_s);

/* Metres left of the centre line, pit lane included. */
double sim_hand_aside_m(const struct sim_hand *hand,
                        const struct sim_session *session,
                        const struct sim_seen *seen);

/* Fills `target_m_s` (one for each step of the track) for one lap. `random`
 * NULL gives the lap without scatter. */
void sim_lap_targets(const struct sim_session *session,
                     struct sim_random *random,
                     double *target_m_s);

#endif
