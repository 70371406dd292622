/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Draws the plan of a session: its phases and what happens on the way. None of
 * the events is a fault; each is there to be taken for one. */
#include "sim_draw.h"

#include <math.h>

static const double LONGEST_DRIVE_S = 900.0;

static struct sim_event *add_event(struct sim_plan *plan,
                                   enum sim_event_kind kind,
                                   double at_m)
{
    if (plan->n_events == SIM_MAX_EVENTS)
        plan->n_events--;
    struct sim_event *event = &plan->event[plan->n_events++];
    *event = (struct sim_event){.kind = kind, .at_m = at_m};
    return event;
}

static double somewhere_m(const struct sim_session *session,
                          struct sim_random *random,
                          double from_lap)
{
    const struct sim_plan *plan = &session->plan;
    return plan->pit_m +
           session->track.length_m *
               sim_between(random, from_lap, (double)plan->laps - 0.35);
}

/* A lift on the straight is the commonest thing to be taken for a drop-out. */
static void add_lifts(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    const double per_lap = sim_log_span(random, 0.1, 1.2);
    const size_t n = (size_t)(per_lap * plan->laps);
    for (size_t i = 0; i < n && i < 40; i++) {
        struct sim_event *lift =
            add_event(plan, SIM_LIFT, somewhere_m(session, random, 0.2));
        lift->size = sim_chance(random, 0.5) ? 0.0 : sim_between(random, 0, .6);
        lift->length_m = sim_log_span(random, 3, 30);
    }
}

/* A kerb that the rear wheels leave each lap: RPM leaps while they are in the
 * air. */
static void add_hops(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    if (!sim_chance(random, 0.5))
        return;
    const double place_m = sim_between(random, 0.0, session->track.length_m);
    for (int lap = 0; lap < plan->laps; lap++) {
        if (!sim_chance(random, 0.7))
            continue;
        struct sim_event *hop = add_event(
            plan, SIM_HOP,
            lap * session->track.length_m + place_m + sim_normal(random, 2.0));
        hop->size = sim_between(random, 0.02, 0.3);
        hop->length_m = sim_log_span(random, 0.4, 2.5);
    }
}

/* Slides, spinning tyres, and spins that end at a stand-still. */
static void add_slips(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    const bool learner = session->group[0] == 'l';
    const size_t slides = sim_pick(random, learner ? 6 : 3);
    for (size_t i = 0; i < slides; i++) {
        struct sim_event *slide =
            add_event(plan, SIM_SLIDE, somewhere_m(session, random, 0.3));
        slide->size = sim_between(random, 2.0, 6.0);
        slide->length_m = sim_between(random, 4.0, 18.0);
    }
    const size_t spinning = sim_pick(random, 4);
    for (size_t i = 0; i < spinning; i++) {
        struct sim_event *loose_tyres =
            add_event(plan, SIM_HOP, somewhere_m(session, random, 0.3));
        loose_tyres->size = sim_between(random, 0.12, 0.4);
        loose_tyres->length_m = sim_log_span(random, 3, 14);
    }
    if (!sim_chance(random, learner ? 0.45 : 0.25))
        return;
    const size_t spins = 1 + sim_pick(random, learner ? 3 : 2);
    for (size_t i = 0; i < spins; i++) {
        struct sim_event *spin =
            add_event(plan, SIM_SPIN, somewhere_m(session, random, 0.4));
        spin->size = sim_between(random, 0.4, 1.0);
        spin->wait_s = sim_log_span(random, 0.8, 9.0);
        spin->stalls = sim_chance(random, 0.25);
    }
}

/* Others on the track: slower karts, a tow that raises speed and heat on the
 * straight, a yellow flag for a lap or two. */
static void add_company(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    const double lap_m = session->track.length_m;
    const size_t meetings = sim_chance(random, 0.5) ? sim_pick(random, 6) : 0;
    for (size_t i = 0; i < meetings; i++) {
        struct sim_event *slow =
            add_event(plan, SIM_TRAFFIC, somewhere_m(session, random, 0.5));
        slow->size = sim_between(random, 0.75, 0.97);
        slow->length_m = sim_log_span(random, 60, lap_m);
    }
    const size_t tows = sim_chance(random, 0.4) ? sim_pick(random, 8) : 0;
    for (size_t i = 0; i < tows; i++) {
        struct sim_event *tow =
            add_event(plan, SIM_TOW, somewhere_m(session, random, 0.5));
        tow->size = sim_between(random, 0.1, 0.4);
        tow->length_m = sim_log_span(random, 50, 0.7 * lap_m);
    }
    if (sim_chance(random, 0.15)) {
        struct sim_event *yellow =
            add_event(plan, SIM_YELLOW, somewhere_m(session, random, 0.8));
        yellow->size = sim_between(random, 0.4, 0.7);
        yellow->length_m = sim_log_span(random, 0.3 * lap_m, 2.0 * lap_m);
    }
}

/* A slow lap and the hot one after it, a stop, a visit to the pits. */
static void add_pauses(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    const double lap_m = session->track.length_m;
    if (sim_chance(random, 0.2)) {
        struct sim_event *slow =
            add_event(plan, SIM_SLOW_LAP, somewhere_m(session, random, 1.0));
        slow->size = sim_between(random, 0.8, 0.93);
        slow->length_m = lap_m * sim_between(random, 0.6, 1.3);
    }
    if (sim_chance(random, 0.1)) {
        struct sim_event *stop =
            add_event(plan, SIM_STOP, somewhere_m(session, random, 0.8));
        stop->wait_s = sim_log_span(random, 3, 30);
        stop->stalls = sim_chance(random, 0.2);
    }
    if (plan->laps > 5 && !plan->rolling_start && sim_chance(random, 0.1)) {
        const double lap =
            floor(sim_between(random, 2.0, (double)plan->laps - 2.0));
        struct sim_event *visit =
            add_event(plan, SIM_PIT_VISIT, plan->pit_m + lap * lap_m);
        visit->wait_s = sim_log_span(random, 8, 90);
    }
}

/* Starts and stops on a straight road: every start is a clutch engagement. */
static void plan_yard(struct sim_session *session, struct sim_random *random)
{
    struct sim_plan *plan = &session->plan;
    const size_t starts = 3 + sim_pick(random, 7);
    double at_m = 0.0;
    for (size_t i = 0; i < starts; i++) {
        at_m += sim_log_span(random, 25, 160);
        struct sim_event *stop = add_event(plan, SIM_STOP, at_m);
        stop->wait_s = sim_log_span(random, 1.5, 12);
    }
    plan->pit_m = 0.0;
    plan->drive_m = at_m + sim_between(random, 30.0, 80.0);
}

void sim_draw_plan(struct sim_session *session,
                   struct sim_random *random,
                   struct sim_guess *guess)
{
    struct sim_plan *plan = &session->plan;
    plan->running_at_start = sim_chance(random, 0.35);
    plan->idle_before_s = sim_log_span(random, 2.0, 70.0);
    plan->idle_after_s = sim_log_span(random, 0.5, 25.0);
    plan->fuel_store_s = sim_log_span(random, 0.3, 3.0);
    guess->from_s = plan->idle_before_s + (plan->running_at_start ? 0 : 5.0);
    if (plan->place == SIM_ON_BENCH) {
        plan->laps = (int)sim_log_span(random, 60, 300);
        guess->drive_s = plan->laps;
        return;
    }
    if (plan->place == SIM_IN_YARD) {
        plan_yard(session, random);
        guess->drive_s = 100.0;
        return;
    }
    const double most = fmin(LONGEST_DRIVE_S / guess->lap_s, 17.0);
    plan->laps = (int)fmax(sim_span(random, 0.45, 1.0) * most, 4.0);
    plan->pit_m = session->track.length_m * sim_between(random, 0.12, 0.85);
    plan->drive_m = plan->laps * session->track.length_m;
    plan->rolling_start = sim_chance(random, 0.12);
    plan->ends_on_track = sim_chance(random, 0.15);
    if (plan->rolling_start) {
        plan->running_at_start = true;
        guess->from_s = 0.0;
    }
    guess->drive_s = plan->laps * guess->lap_s * 1.05;
    add_lifts(session, random);
    add_slips(session, random);
    add_company(session, random);
    add_pauses(session, random);
    add_hops(session, random);
}
