/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The simulated driver, see sim_driver.h. */
#include "sim_driver.h"

#include <math.h>
#include <stdlib.h>

static const double GRAVITY_M_S2 = 9.80665;
static const double NO_LIMIT_M_S = 70.0;
/* Scatter from bend to bend changes along about this length. */
static const double BEND_LENGTH_M = 45.0;
/* The pit lane lies this far aside and is joined over this length. */
static const double PIT_ASIDE_M = 9.0;
static const double PIT_LENGTH_M = 35.0;
static const double PIT_SPEED_M_S = 9.0;
/* Lifts and slides are for karts at speed; one that crawls would never leave.
 */
static const double AT_SPEED_M_S = 6.0;
/* A driver looks this far ahead with the pedals. */
static const double LOOK_AHEAD_S = 0.12;
static const double GENTLE_STOP_M_S2 = 3.0;

static void limit_by_bends(const struct sim_session *session,
                           struct sim_random *random,
                           double *target_m_s)
{
    const struct sim_track *track = &session->track;
    const struct sim_driver *driver = &session->driver;
    const double lap =
        random == NULL ? 0.0 : sim_normal(random, driver->lap_scatter);
    const size_t per_knot = (size_t)(BEND_LENGTH_M / track->step_m) + 1;
    double here = 0.0, next = 0.0;
    for (size_t i = 0; i < track->n; i++) {
        if (random != NULL && i % per_knot == 0) {
            here = next;
            next = sim_normal(random, driver->corner_scatter);
        }
        const double part = (double)(i % per_knot) / (double)per_knot;
        const double scatter = lap + here + part * (next - here);
        const double bend = fmax(fabs(track->curvature_1_m[i]), 1e-5);
        const double grip_m_s2 =
            driver->pace * session->kart.grip * GRAVITY_M_S2;
        target_m_s[i] = fmin(sqrt(grip_m_s2 / bend) * fmax(1.0 + scatter, 0.5),
                             NO_LIMIT_M_S);
    }
}

void sim_lap_targets(const struct sim_session *session,
                     struct sim_random *random,
                     double *target_m_s)
{
    const struct sim_track *track = &session->track;
    limit_by_bends(session, random, target_m_s);
    const double brake_m_s2 =
        session->kart.brake_m_s2 * session->driver.brake_share;
    const double limit_m_s2 = session->kart.grip * GRAVITY_M_S2;
    /* Twice round: what lies behind the line limits what comes before it. */
    for (size_t k = 2 * track->n; k-- > 0;) {
        const size_t i = k % track->n;
        const double after = target_m_s[(i + 1) % track->n];
        const double side =
            after * after * fabs(track->curvature_1_m[i]) / limit_m_s2;
        const double left = sqrt(fmax(1.0 - side * side, 0.04));
        const double reach =
            sqrt(after * after + 2.0 * brake_m_s2 * left * track->step_m);
        target_m_s[i] = fmin(target_m_s[i], reach);
    }
}

static void draw_line(struct sim_hand *hand, const struct sim_session *session)
{
    for (size_t i = 0; i < hand->n_knots; i++)
        hand->line_m[i] = sim_normal(&hand->random, session->driver.aside_m);
}

struct sim_hand sim_hand_open(const struct sim_session *session)
{
    struct sim_hand hand = {
        .lap = -1,
        .top_m_s = 12.0,
        .n_knots = (size_t)(session->track.length_m / 60.0) + 2,
        .random = sim_random_open(session->seed, 4, session->widen)};
    hand.target_m_s = sim_allocate(session->track.n, sizeof(double));
    hand.line_m = sim_allocate(hand.n_knots, sizeof(double));
    for (size_t i = 0; i < session->plan.n_events; i++)
        hand.event[i] = session->plan.event[i];
    return hand;
}

void sim_hand_free(struct sim_hand *hand)
{
    free(hand->target_m_s);
    free(hand->line_m);
    sim_random_close(&hand->random);
    hand->target_m_s = NULL;
    hand->line_m = NULL;
}

/* Fast enough for the clutch to lock, or it would slip all along the lane. */
static double pit_speed_m_s(const struct sim_kart *kart)
{
    const double engaged_m_s =
        kart->clutch_rpm / sim_ratio(kart) / 60.0 * kart->tyre_m;
    return fmax(PIT_SPEED_M_S, 1.6 * engaged_m_s);
}

/* A smooth step from 1 at the pits to 0 where the lane joins the track. */
static double lane_share(double away_m)
{
    const double x = fabs(away_m) / PIT_LENGTH_M;
    return x >= 1.0 ? 0.0 : 0.5 + 0.5 * cos(3.141592653589793 * x);
}

static double in_pit_lane(const struct sim_hand *hand,
                          const struct sim_session *session,
                          const struct sim_seen *seen)
{
    const struct sim_plan *plan = &session->plan;
    double share = 0.0;
    if (plan->place != SIM_ON_TRACK)
        return 0.0;
    if (!plan->rolling_start)
        share = lane_share(seen->distance_m - plan->pit_m);
    if (!plan->ends_on_track)
        share = fmax(share, lane_share(seen->end_m - seen->distance_m));
    for (size_t i = 0; i < plan->n_events; i++)
        if (hand->event[i].kind == SIM_PIT_VISIT)
            share =
                fmax(share, lane_share(seen->distance_m - hand->event[i].at_m));
    return share;
}

double sim_hand_aside_m(const struct sim_hand *hand,
                        const struct sim_session *session,
                        const struct sim_seen *seen)
{
    const double length_m = session->track.length_m;
    const double place = fmod(seen->distance_m, length_m) / length_m *
                         (double)(hand->n_knots - 1);
    const size_t i = (size_t)place;
    const double part = place - (double)i;
    const double line =
        hand->line_m[i] +
        part * (hand->line_m[(i + 1) % hand->n_knots] - hand->line_m[i]);
    return line + PIT_ASIDE_M * in_pit_lane(hand, session, seen);
}

/* What a step of the hand works on. */
struct intent {
    double target_m_s;
    double throttle_most;
    struct sim_pedals pedals;
};

static bool is_within(const struct sim_event *event, double distance_m)
{
    return distance_m >= event->at_m &&
           distance_m < event->at_m + event->length_m;
}

/* Comes to rest, waits, goes on. Used for stops, pit visits and spins. */
static void rest(struct sim_hand *hand,
                 struct sim_event *event,
                 const struct sim_seen *seen,
                 struct intent *intent)
{
    if (seen->speed_m_s > 0.15) {
        intent->target_m_s = 0.0;
        return;
    }
    if (!event->done) {
        event->done = true;
        hand->wait_until_s = seen->time_s + event->wait_s;
        intent->pedals.stalled = event->stalls;
    }
}

static void spin(struct sim_hand *hand,
                 struct sim_event *event,
                 const struct sim_seen *seen,
                 struct intent *intent)
{
    if (seen->distance_m < event->at_m || event->done)
        return;
    event->begun = true;
    intent->throttle_most = 0.0;
    intent->pedals.brake = event->size;
    intent->pedals.scrub_m_s2 = 5.0;
    rest(hand, event, seen, intent);
}

static void stop(struct sim_hand *hand,
                 struct sim_event *event,
                 const struct sim_seen *seen,
                 struct intent *intent)
{
    const double left_m = event->at_m - seen->distance_m;
    if (event->done || left_m > 150.0)
        return;
    intent->target_m_s =
        fmin(intent->target_m_s,
             sqrt(2.0 * GENTLE_STOP_M_S2 * fmax(left_m, 0.0)) + 0.2);
    if (left_m < 0.5) {
        intent->throttle_most = 0.0;
        rest(hand, event, seen, intent);
    }
}

static void slower(const struct sim_hand *hand,
                   const struct sim_event *event,
                   struct intent *intent)
{
    intent->target_m_s = fmin(intent->target_m_s, hand->top_m_s) * event->size;
}

static void meet(struct sim_hand *hand,
                 struct sim_event *event,
                 const struct sim_seen *seen,
                 struct intent *intent)
{
    if (event->kind == SIM_SPIN) {
        spin(hand, event, seen, intent);
        return;
    }
    if (event->kind == SIM_STOP || event->kind == SIM_PIT_VISIT) {
        stop(hand, event, seen, intent);
        return;
    }
    if (!is_within(event, seen->distance_m))
        return;
    const bool at_speed = seen->speed_m_s > AT_SPEED_M_S;
    if (!at_speed && (event->kind == SIM_LIFT || event->kind == SIM_SLIDE))
        return;
    switch (event->kind) {
    case SIM_LIFT:
        intent->throttle_most = event->size;
        break;
    case SIM_SLIDE:
        intent->throttle_most = 0.2;
        intent->pedals.scrub_m_s2 = event->size;
        break;
    case SIM_TOW:
        intent->pedals.shelter = event->size;
        break;
    case SIM_HOP:
        intent->pedals.grip_share = event->size;
        break;
    case SIM_YELLOW:
        intent->target_m_s =
            fmin(intent->target_m_s, hand->top_m_s * event->size);
        break;
    case SIM_TRAFFIC:
    case SIM_SLOW_LAP:
    default:
        slower(hand, event, intent);
        break;
    }
}

/* The end of the drive is a stop that lasts. */
static void end(const struct sim_session *session,
                const struct sim_seen *seen,
                struct intent *intent)
{
    const double left_m = seen->end_m - seen->distance_m;
    if (session->plan.ends_on_track || left_m > 150.0)
        return;
    intent->target_m_s =
        fmin(intent->target_m_s,
             sqrt(2.0 * GENTLE_STOP_M_S2 * fmax(left_m, 0.0)) + 0.2);
    if (left_m < 0.5) {
        intent->target_m_s = 0.0;
        intent->throttle_most = 0.0;
    }
}

/* From rest the driver opens the throttle in his own manner. */
static double launch_limit(const struct sim_hand *hand,
                           const struct sim_session *session,
                           const struct sim_seen *seen)
{
    const struct sim_driver *driver = &session->driver;
    const double since_s = seen->time_s - hand->launch_from_s;
    if (since_s > 8.0 || seen->speed_m_s > 14.0)
        return 1.0;
    const double ramp = fmin(since_s / driver->launch_s, 1.0);
    return driver->launch_throttle * ramp + 0.03;
}

static void move_feet(struct sim_hand *hand,
                      const struct sim_session *session,
                      const struct sim_seen *seen,
                      struct intent *intent,
                      double step_s)
{
    const double error_m_s = intent->target_m_s - seen->speed_m_s;
    double throttle = fmin(fmax(0.9 * error_m_s, 0.0), 1.0);
    throttle = fmin(throttle, intent->throttle_most);
    throttle = fmin(throttle, launch_limit(hand, session, seen));
    const double brake = fmax(intent->pedals.brake,
                              fmin(fmax(-0.9 * (error_m_s + 0.4), 0.0), 1.0));
    const double open_step = step_s / session->driver.throttle_s;
    hand->throttle = fmin(fmax(throttle, hand->throttle - 2.0 * open_step),
                          hand->throttle + open_step);
    hand->brake = fmin(fmax(brake, hand->brake - step_s / 0.1),
                       hand->brake + step_s / 0.15);
    if (throttle > 0.0)
        hand->brake = 0.0;
    intent->pedals.throttle = hand->throttle;
    intent->pedals.brake = hand->brake;
}

static bool stands(struct sim_hand *hand, const struct sim_seen *seen)
{
    if (hand->wait_until_s <= 0.0)
        return false;
    if (seen->time_s < hand->wait_until_s)
        return true;
    hand->wait_until_s = 0.0;
    hand->launch_from_s = seen->time_s;
    return false;
}

struct sim_pedals sim_hand_step(struct sim_hand *hand,
                                const struct sim_session *session,
                                const struct sim_seen *seen,
                                double step_s)
{
    const struct sim_track *track = &session->track;
    const long lap = (long)floor(seen->distance_m / track->length_m);
    if (lap != hand->lap) {
        hand->lap = lap;
        sim_lap_targets(session, &hand->random, hand->target_m_s);
        draw_line(hand, session);
    }
    if (stands(hand, seen)) {
        hand->throttle = 0.0;
        return (struct sim_pedals){
            .brake = 1.0, .grip_share = 1.0, .at_rest = true};
    }
    hand->top_m_s = fmax(hand->top_m_s, seen->speed_m_s);
    struct intent intent = {.throttle_most = 1.0,
                            .pedals = {.grip_share = 1.0}};
    intent.target_m_s =
        sim_track_at(track, hand->target_m_s,
                     seen->distance_m + LOOK_AHEAD_S * seen->speed_m_s);
    if (in_pit_lane(hand, session, seen) > 0.5)
        intent.target_m_s =
            fmin(intent.target_m_s, pit_speed_m_s(&session->kart));
    for (size_t i = 0; i < session->plan.n_events; i++)
        meet(hand, &hand->event[i], seen, &intent);
    end(session, seen, &intent);
    move_feet(hand, session, seen, &intent, step_s);
    return intent.pedals;
}
