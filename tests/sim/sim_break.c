/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Draws the faults of a session: each row of the trade's table of faults, at a
 * random time and strength. About half of the sessions have none. */
#include "sim_draw.h"

#include <math.h>

static struct sim_fault *add(struct sim_session *session,
                             enum sim_fault_kind kind)
{
    struct sim_plan *plan = &session->plan;
    if (plan->n_faults == SIM_MAX_FAULTS)
        plan->n_faults--;
    struct sim_fault *fault = &plan->fault[plan->n_faults++];
    *fault = (struct sim_fault){.kind = kind};
    return fault;
}

/* A time in the drive, from a share of it to another. */
static double when_s(const struct sim_guess *guess,
                     struct sim_random *random,
                     double from,
                     double to)
{
    return guess->from_s + guess->drive_s * sim_between(random, from, to);
}

static enum sim_region draw_region(struct sim_random *random)
{
    return (enum sim_region)sim_pick(random, 4);
}

/* Debris in a jet, a slosh of fuel, a jet that is wrong in one region. */
static void add_lean(struct sim_session *session,
                     struct sim_random *random,
                     const struct sim_guess *guess)
{
    const size_t shape = sim_pick(random, 4);
    const size_t n = shape == 0 ? 1 + sim_pick(random, 5) : 1;
    for (size_t i = 0; i < n; i++) {
        struct sim_fault *lean = add(session, SIM_LEAN);
        lean->strength = sim_log_span(random, 3.5, 15.0);
        lean->start_s = when_s(guess, random, 0.12, 0.85);
        lean->region = shape == 0 || sim_chance(random, 0.3)
                           ? SIM_ANYWHERE
                           : draw_region(random);
        double for_s = sim_log_span(random, 5.0, 40.0);
        lean->ramp_s = sim_log_span(random, 0.1, 1.5);
        if (shape == 1)
            for_s = guess->lap_s * sim_between(random, 0.7, 3.0);
        if (shape == 2) {
            for_s = sim_log_span(random, 20.0, 150.0);
            lean->ramp_s = sim_log_span(random, 0.5, 4.0);
            if (sim_chance(random, 0.5))
                lean->region = SIM_TOP;
        }
        if (shape == 3) /* stays until the end of the session */
            for_s = 1e5;
        lean->end_s = lean->start_s + for_s;
    }
}

static void add_whole(struct sim_session *session, struct sim_random *random)
{
    const bool lean = sim_chance(random, 0.6);
    struct sim_fault *fault = add(session, lean ? SIM_LEAN : SIM_RICH);
    fault->start_s = -1.0;
    fault->end_s = 1e6;
    fault->strength =
        lean ? sim_log_span(random, 5, 13) : sim_log_span(random, 8, 22);
    session->plan.whole_session = lean ? "lean" : "rich";
}

/* A hose that is pinched from the start, or a filter that clogs on the way. */
static void add_restriction(struct sim_session *session,
                            struct sim_random *random,
                            const struct sim_guess *guess)
{
    struct sim_fault *fault = add(session, SIM_RESTRICTION);
    const bool from_start = sim_chance(random, 0.3);
    fault->strength = sim_span(random, 0.35, 0.65);
    fault->start_s = from_start ? -1e4 : when_s(guess, random, 0.1, 0.6);
    fault->ramp_s = from_start ? 1e3 : sim_log_span(random, 20, 250);
    fault->end_s = 1e6;
}

/* Bursts of bad contact: over bumps, at random, more often later. */
static void add_loose(struct sim_session *session,
                      struct sim_random *random,
                      const struct sim_guess *guess)
{
    const size_t n = 1 + sim_pick(random, 12);
    const bool spark = sim_chance(random, 0.35);
    const double first = sim_between(random, 0.05, 0.6);
    const enum sim_signal habit = (enum sim_signal)(1 + sim_pick(random, 4));
    for (size_t i = 0; i < n; i++) {
        struct sim_fault *loose = add(session, SIM_LOOSE);
        const double u = sqrt(sim_between(random, 0.0, 1.0));
        loose->start_s = when_s(guess, random, 0.0, 0.0) +
                         guess->drive_s * (first + (0.95 - first) * u);
        double for_s = sim_log_span(random, 0.06, 1.5);
        loose->signal = sim_chance(random, 0.7)
                            ? habit
                            : (enum sim_signal)(1 + sim_pick(random, 4));
        if (spark) {
            loose->cuts_spark = true;
            loose->signal = sim_chance(random, 0.3) ? SIM_ZERO : SIM_TRUE;
            for_s = sim_log_span(random, 0.15, 1.5);
        }
        loose->end_s = loose->start_s + for_s;
    }
}

static void add_steady(struct sim_session *session,
                       struct sim_random *random,
                       const struct sim_guess *guess,
                       enum sim_fault_kind kind)
{
    struct sim_fault *fault = add(session, kind);
    const bool whole = kind == SIM_WORN_CLUTCH || kind == SIM_AIR_LEAK ||
                       (kind == SIM_EXHAUST_LEAK && sim_chance(random, 0.4));
    fault->start_s = whole ? -10.0 : when_s(guess, random, 0.15, 0.7);
    fault->end_s = 1e6;
    switch (kind) {
    case SIM_WORN_CLUTCH:
        fault->strength = sim_span(random, 0.3, 0.7);
        break;
    case SIM_AIR_LEAK:
        fault->strength = sim_log_span(random, 4, 15);
        break;
    case SIM_EXHAUST_LEAK:
        fault->strength = sim_span(random, 0.06, 0.3);
        fault->ramp_s = sim_log_span(random, 0.3, 20);
        break;
    case SIM_RICH:
        fault->strength = sim_log_span(random, 7, 22);
        fault->ramp_s = sim_log_span(random, 0.5, 4);
        fault->region = sim_chance(random, 0.5) ? SIM_ANYWHERE : SIM_TOP;
        fault->end_s = fault->start_s + sim_log_span(random, 15, 200);
        break;
    case SIM_SEIZURE:
        fault->start_s = when_s(guess, random, 0.3, 0.9);
        fault->strength = sim_span(random, 6, 14);
        fault->ramp_s = sim_log_span(random, 2, 9);
        break;
    default: /* an open probe has no strength */
        if (sim_chance(random, 0.5))
            fault->end_s = fault->start_s + sim_log_span(random, 1, 60);
        break;
    }
}

static void add_jumps(struct sim_session *session,
                      struct sim_random *random,
                      const struct sim_guess *guess)
{
    const size_t n = 1 + sim_pick(random, 6);
    for (size_t i = 0; i < n; i++) {
        struct sim_fault *jump = add(session, SIM_CHAIN_JUMP);
        jump->start_s = when_s(guess, random, 0.05, 0.95);
        jump->end_s = jump->start_s + sim_log_span(random, 0.04, 0.25);
    }
}

void sim_add_fault(struct sim_session *session,
                   struct sim_random *random,
                   const struct sim_guess *guess,
                   enum sim_fault_kind kind)
{
    switch (kind) {
    case SIM_LEAN:
        add_lean(session, random, guess);
        break;
    case SIM_RESTRICTION:
        add_restriction(session, random, guess);
        break;
    case SIM_LOOSE:
        add_loose(session, random, guess);
        break;
    case SIM_CHAIN_JUMP:
        add_jumps(session, random, guess);
        break;
    case SIM_GLITCH:
        break;
    default:
        add_steady(session, random, guess, kind);
        break;
    }
}

/* Odd readings shorter than 0.05 s: no fault, but there in every second log.
 * However wide the ranges are drawn, one that lasts longer is a drop-out
 * (contract). */
static const double LONGEST_GLITCH_S = 0.048;

static void add_glitches(struct sim_session *session,
                         struct sim_random *random,
                         const struct sim_guess *guess)
{
    const size_t n = sim_chance(random, 0.5) ? 1 + sim_pick(random, 6) : 0;
    for (size_t i = 0; i < n; i++) {
        struct sim_fault *glitch = add(session, SIM_GLITCH);
        glitch->start_s = when_s(guess, random, 0.0, 1.0);
        glitch->end_s =
            glitch->start_s +
            fmin(sim_log_span(random, 0.005, 0.04), LONGEST_GLITCH_S);
        glitch->signal = (enum sim_signal)(1 + sim_pick(random, 3));
    }
}

/* How often each kind is drawn among the sessions with a fault. The three that
 * the owner bets an engine on come most often. */
static const struct {
    enum sim_fault_kind kind;
    double share;
} OFTEN[] = {{SIM_LEAN, 0.37},       {SIM_RESTRICTION, 0.14},
             {SIM_LOOSE, 0.18},      {SIM_WORN_CLUTCH, 0.05},
             {SIM_AIR_LEAK, 0.05},   {SIM_RICH, 0.05},
             {SIM_OPEN_PROBE, 0.03}, {SIM_EXHAUST_LEAK, 0.04},
             {SIM_CHAIN_JUMP, 0.04}, {SIM_SEIZURE, 0.05}};

static enum sim_fault_kind draw_kind(struct sim_random *random)
{
    double dice = sim_between(random, 0.0, 1.0);
    for (size_t i = 0; i < sizeof OFTEN / sizeof OFTEN[0]; i++) {
        dice -= OFTEN[i].share;
        if (dice < 0.0)
            return OFTEN[i].kind;
    }
    return SIM_LEAN;
}

void sim_draw_faults(struct sim_session *session,
                     struct sim_random *random,
                     const struct sim_guess *guess)
{
    add_glitches(session, random, guess);
    if (session->plan.place != SIM_ON_TRACK || sim_chance(random, 0.5))
        return;
    if (sim_chance(random, 0.1)) {
        add_whole(session, random);
        return;
    }
    const enum sim_fault_kind kind = draw_kind(random);
    sim_add_fault(session, random, guess, kind);
    if (!sim_chance(random, 0.25))
        return;
    const enum sim_fault_kind second = draw_kind(random);
    if (second != kind && second != SIM_SEIZURE)
        sim_add_fault(session, random, guess, second);
}
