/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parts of a draw; sim_draw() calls them in this order. */
#ifndef SIM_DRAW_H
#define SIM_DRAW_H

#include "sim_model.h"

/* What a draw shares: the random stream of its part, and a first guess of the
 * lap, from which faults and laps are placed. */
struct sim_guess {
    double lap_s;
    double top_m_s;
    double drive_s; /* time on the track */
    double from_s;  /* when the drive begins */
};

/* Torque curve and power of the engine, before the gearing is chosen. */
void sim_draw_engine(struct sim_session *session, struct sim_random *random);
void sim_draw_kart(struct sim_session *session, struct sim_random *random);
void sim_draw_driver(struct sim_session *session, struct sim_random *random);
void sim_draw_exhaust(struct sim_session *session, struct sim_random *random);

/* Lap time and top speed of an engine that gives its best power everywhere. */
struct sim_guess sim_guess_lap(const struct sim_session *session);

/* Phases and events of the session, faults, and the logger. */
void sim_draw_plan(struct sim_session *session,
                   struct sim_random *random,
                   struct sim_guess *guess);
void sim_draw_faults(struct sim_session *session,
                     struct sim_random *random,
                     const struct sim_guess *guess);
void sim_draw_logger(struct sim_session *session, struct sim_random *random);

/* One fault of the kind; used by the draw and by named scenarios. */
void sim_add_fault(struct sim_session *session,
                   struct sim_random *random,
                   const struct sim_guess *guess,
                   enum sim_fault_kind kind);

#endif
