/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laps, running, clutch engagements and the other faults; see sim_label.h. */
#include "sim_label.h"

#include "sim_trace.h"

#include <math.h>
#include <string.h>

/* The clutch turns engine and axle together when slip falls below this. */
static const double LOCKED_SLIP = 0.03;
/* A walk: the axle turns at less than this share of engagement speed. */
static const double WALK_SHARE = 0.75;
/* How well a log can tell that share. With a speed and the engagement speed in
 * the profile, what is left is the scatter of the two. Else the engagement
 * speed is taken from the hold, which stands 6 to 30 % above it. Slow corners
 * with the axle so near to a walk are starts or none: the log cannot tell. */
static const double WALK_KNOWN = 0.04;
static const double WALK_GUESSED = 0.12;

static double end_of_s(const struct sim_trace *trace)
{
    return trace->step_s * (double)(trace->n - 1);
}

static void add_lap(struct sim_labels *labels,
                    const char *kind,
                    double start_s,
                    double end_s)
{
    if (labels->n_laps < SIM_MAX_LABELS)
        labels->lap[labels->n_laps++] = (struct sim_lap){kind, start_s, end_s};
}

/* When the kart stands for good, at the end. */
static double stopped_s(const struct sim_trace *trace)
{
    size_t i = trace->n;
    while (i > 0 && trace->speed_m_s[i - 1] < 0.05)
        i--;
    return trace->step_s * (double)i;
}

void sim_label_laps(const struct sim_session *session,
                    const struct sim_trace *trace,
                    struct sim_labels *labels)
{
    if (session->plan.place != SIM_ON_TRACK)
        return;
    const double lap_m = session->track.length_m;
    const double first_m = trace->distance_m[0];
    const double left_s = session->plan.rolling_start
                              ? 0.0
                              : sim_trace_time_at_m(trace, first_m + 0.5);
    if (left_s < 0.0)
        return;
    double before_s = left_s;
    const char *kind = "out";
    double line_m = (floor(first_m / lap_m) + 1.0) * lap_m;
    double line_s = sim_trace_time_at_m(trace, line_m);
    while (line_s >= 0.0) {
        add_lap(labels, kind, before_s, line_s);
        before_s = line_s;
        kind = "flying";
        line_m += lap_m;
        line_s = sim_trace_time_at_m(trace, line_m);
    }
    add_lap(labels, labels->n_laps == 0 ? "out" : "in", before_s,
            fmax(stopped_s(trace), before_s));
}

static void label_running(const struct sim_trace *trace,
                          struct sim_labels *labels)
{
    size_t n = 0;
    for (size_t i = 0; i < trace->n; i++) {
        n += trace->running[i] ? 1 : 0;
        if (i > 0 && trace->running[i] && !trace->running[i - 1])
            labels->starts++;
    }
    labels->running_s = trace->step_s * (double)n;
}

/* One try of the clutch to take hold. */
struct attempt {
    bool open;
    size_t from;
    size_t loose_since; /* last step with load */
    double lowest_rpm;  /* of the axle */
    double energy_j;
};

/* Has a label already. */
static bool is_told(const struct sim_labels *labels, double from_s, double to_s)
{
    for (size_t i = 0; i < labels->n_clutch; i++)
        if (labels->clutch[i].start_s < to_s &&
            labels->clutch[i].locked_s > from_s)
            return true;
    return false;
}

static void close_attempt(const struct sim_trace *trace,
                          const struct attempt *attempt,
                          size_t locked,
                          bool scorable,
                          struct sim_labels *labels)
{
    const double start_s = trace->step_s * (double)attempt->from;
    const double locked_s = trace->step_s * (double)locked;
    if (labels->n_clutch == SIM_MAX_LABELS ||
        is_told(labels, start_s, locked_s))
        return;
    double sum = 0.0;
    for (size_t i = attempt->from; i < locked; i++)
        sum += trace->engine_rpm[i];
    labels->clutch[labels->n_clutch++] = (struct sim_clutch){
        .start_s = start_s,
        .locked_s = locked_s,
        .start_rpm = trace->engine_rpm[attempt->from],
        .hold_rpm = sum / fmax((double)(locked - attempt->from), 1.0),
        .slip_energy_kj = attempt->energy_j / 1000.0,
        .scorable = scorable};
}

/* The tries that begin with the axle below `walk_rpm`; they need be found where
 * it came below `sure_rpm`. */
static void label_attempts(const struct sim_session *session,
                           const struct sim_trace *trace,
                           double walk_rpm,
                           double sure_rpm,
                           struct sim_labels *labels)
{
    const double load_nm = 0.01 * session->engine.torque_peak_nm;
    const size_t patience = (size_t)(0.3 / trace->step_s);
    struct attempt attempt = {0};
    for (size_t i = 1; i < trace->n; i++) {
        const double engine = trace->engine_rpm[i];
        const double axle = trace->axle_rpm[i];
        const double slip = (engine - axle) / fmax(engine, 1.0);
        const bool loaded = trace->clutch_nm[i] > load_nm;
        if (!attempt.open && loaded && slip > LOCKED_SLIP && axle < walk_rpm)
            attempt =
                (struct attempt){.open = true, .from = i, .lowest_rpm = axle};
        if (!attempt.open)
            continue;
        if (loaded)
            attempt.loose_since = i;
        attempt.lowest_rpm = fmin(attempt.lowest_rpm, axle);
        attempt.energy_j += trace->step_s * trace->clutch_w[i];
        if (slip < LOCKED_SLIP && loaded && axle > walk_rpm) {
            close_attempt(trace, &attempt, i, attempt.lowest_rpm < sure_rpm,
                          labels);
            attempt.open = false;
        } else if (i - attempt.loose_since > patience) {
            attempt.open = false;
        }
    }
}

void sim_label_clutch(const struct sim_session *session,
                      const struct sim_trace *trace,
                      struct sim_labels *labels)
{
    const struct sim_logger *logger = &session->logger;
    const double doubt =
        logger->has_profile && (logger->has_speed || logger->has_position)
            ? WALK_KNOWN
            : WALK_GUESSED;
    const double take_rpm = session->kart.clutch_rpm;
    label_attempts(session, trace, WALK_SHARE * take_rpm,
                   (WALK_SHARE - doubt) * take_rpm, labels);
    label_attempts(session, trace, (WALK_SHARE + doubt) * take_rpm, 0.0,
                   labels);
}

static const char *name_of(enum sim_fault_kind kind)
{
    switch (kind) {
    case SIM_RICH:
        return "rich";
    case SIM_AIR_LEAK:
        return "air_leak";
    case SIM_CHAIN_JUMP:
        return "chain_jump";
    case SIM_SEIZURE:
        return "seizure";
    case SIM_EXHAUST_LEAK:
        return "exhaust_leak";
    case SIM_WORN_CLUTCH:
        return "clutch_worn";
    case SIM_OPEN_PROBE:
        return "open_probe";
    default:
        return NULL;
    }
}

static bool is_worth_finding(const struct sim_session *session,
                             const struct sim_fault *fault,
                             double for_s)
{
    const struct sim_logger *logger = &session->logger;
    switch (fault->kind) {
    case SIM_RICH:
        return fault->strength >= 8.0 && for_s > 10.0 &&
               session->plan.whole_session == NULL;
    case SIM_CHAIN_JUMP:
        return logger->has_speed && logger->rate_hz >= 20.0 && for_s > 0.1;
    case SIM_EXHAUST_LEAK:
        return fault->strength >= 0.1 && fault->start_s > 0.0;
    case SIM_OPEN_PROBE:
        return for_s > 2.0;
    case SIM_WORN_CLUTCH: /* nothing to compare with inside one session */
        return false;
    case SIM_AIR_LEAK:
        return fault->strength >= 6.0;
    default:
        return true;
    }
}

static void label_others(const struct sim_session *session,
                         const struct sim_trace *trace,
                         struct sim_labels *labels)
{
    const double last_s = end_of_s(trace);
    for (size_t i = 0; i < session->plan.n_faults; i++) {
        const struct sim_fault *fault = &session->plan.fault[i];
        const char *kind = name_of(fault->kind);
        const double from_s = fmax(fault->start_s, 0.0);
        const double to_s = fmin(fault->end_s, last_s);
        if (kind == NULL || to_s <= from_s ||
            labels->n_others == SIM_MAX_LABELS)
            continue;
        labels->other[labels->n_others++] =
            (struct sim_other){kind, from_s, to_s, fault->strength,
                               is_worth_finding(session, fault, to_s - from_s)};
    }
}

void sim_label(const struct sim_session *session,
               const struct sim_trace *trace,
               const struct sim_rows *rows,
               struct sim_labels *labels)
{
    memset(labels, 0, sizeof *labels);
    label_running(trace, labels);
    sim_label_laps(session, trace, labels);
    sim_label_clutch(session, trace, labels);
    sim_label_lean(session, trace, labels);
    sim_label_dropouts(session, trace, rows, labels);
    label_others(session, trace, labels);
}
