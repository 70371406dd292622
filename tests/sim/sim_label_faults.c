/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lean episodes and drop-outs, from the true states; see sim_label.h. */
#include "sim_label.h"

#include "sim_engine.h"
#include "sim_fault.h"
#include "sim_trace.h"

#include <math.h>
#include <stdlib.h>

/* An engine that works less than this does not get hot from a lean mixture. */
static const double UNDER_LOAD = 0.4;
/* Hot stretches that a lift shorter than this parts are one. */
static const double LIFT_S = 2.0;
/* Torque lost before a starving engine can be felt. */
static const double STARVED_FROM = 0.03;
/* An odd reading shorter than this is no drop-out (contract). */
static const double GLITCH_S = 0.05;

/* Range of RPM under load, thirds of which are low, middle and top; and from
 * when to when the kart was driven. */
struct span {
    double low_rpm, high_rpm;
    double from_s, until_s;
};

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static struct span loaded_span(const struct sim_trace *trace)
{
    double *rpm = sim_allocate(trace->n / 10 + 1, sizeof(double));
    size_t n = 0;
    for (size_t i = 0; i < trace->n; i += 10)
        if (trace->load[i] > UNDER_LOAD)
            rpm[n++] = trace->engine_rpm[i];
    struct span span = {.high_rpm = 1.0};
    for (size_t i = 0; i < trace->n; i++)
        if (trace->speed_m_s[i] > 1.0) {
            span.until_s = trace->step_s * (double)i;
            if (span.from_s <= 0.0)
                span.from_s = span.until_s;
        }
    if (n > 0) {
        qsort(rpm, n, sizeof(double), by_value);
        span.low_rpm = rpm[n * 2 / 100];
        span.high_rpm = rpm[n - 1 - n * 2 / 100];
    }
    free(rpm);
    return span;
}

static const char *region_name(const struct span *span, double rpm)
{
    const double x =
        (rpm - span->low_rpm) / fmax(span->high_rpm - span->low_rpm, 1.0);
    return x < 1.0 / 3.0 ? "low" : x < 2.0 / 3.0 ? "middle" : "top";
}

/* Strength of the strongest mixture fault that is on at this time, and which
 * of them (for telling whether two stretches have one cause). */
static double strength_at(const struct sim_plan *plan,
                          double time_s,
                          size_t *which)
{
    double strongest = 0.0;
    for (size_t i = 0; i < plan->n_faults; i++) {
        const struct sim_fault *fault = &plan->fault[i];
        if (fault->kind != SIM_LEAN && fault->kind != SIM_AIR_LEAK &&
            fault->kind != SIM_SEIZURE)
            continue;
        if (sim_fault_share(fault, time_s) >= 0.5 &&
            fault->strength > strongest) {
            strongest = fault->strength;
            *which = i;
        }
    }
    return strongest;
}

/* A stretch while it grows. */
struct stretch {
    bool open;
    size_t which;
    double start_s, end_s;
    double sum_percent, sum_rpm;
    double step_s;
    size_t n;
};

/* Most of the drive must be sound, or there is nothing to stand out from. */
static const double MOST_OF_DRIVE = 0.6;

static bool is_judged_inside(const struct sim_session *session,
                             const struct span *span,
                             size_t which)
{
    const struct sim_fault *fault = &session->plan.fault[which];
    const double on_s =
        fmin(fault->end_s, span->until_s) - fmax(fault->start_s, span->from_s);
    return fault->kind == SIM_LEAN && session->plan.whole_session == NULL &&
           on_s < MOST_OF_DRIVE * (span->until_s - span->from_s);
}

/* Nobody can see a mixture through a broken probe or a leaking joint. */
static bool is_hidden(const struct sim_plan *plan,
                      const struct stretch *stretch)
{
    for (size_t i = 0; i < plan->n_faults; i++) {
        const struct sim_fault *fault = &plan->fault[i];
        const bool hides =
            fault->kind == SIM_OPEN_PROBE ||
            (fault->kind == SIM_EXHAUST_LEAK && fault->strength > 0.08);
        if (hides && fault->start_s < stretch->end_s &&
            fault->end_s + 3.0 > stretch->start_s)
            return true;
    }
    return false;
}

static void add_dropout(struct sim_labels *labels,
                        const struct sim_dropout *dropout)
{
    if (labels->n_dropouts < SIM_MAX_LABELS)
        labels->dropout[labels->n_dropouts++] = *dropout;
}

/* An engine so lean that it loses torque starves, whatever made it lean: a sag
 * told there is neither right nor wrong. */
static void excuse_sags(const struct stretch *stretch,
                        double percent,
                        struct sim_labels *labels)
{
    if (1.0 - sim_mixture_torque(percent) > STARVED_FROM)
        add_dropout(labels, &(struct sim_dropout){.start_s = stretch->start_s,
                                                  .end_s = stretch->end_s,
                                                  .cause = "fuel_restriction"});
}

static void close_stretch(const struct sim_session *session,
                          const struct span *span,
                          struct stretch *stretch,
                          struct sim_labels *labels)
{
    if (stretch->open && labels->n_lean < SIM_MAX_LABELS &&
        stretch->end_s - stretch->start_s > 0.3) {
        const double n = (double)stretch->n;
        const double percent = stretch->sum_percent / n;
        labels->lean[labels->n_lean++] = (struct sim_lean){
            .start_s = stretch->start_s,
            .end_s = stretch->end_s,
            .strength_percent = percent,
            .fault_s = n * stretch->step_s,
            .fault = stretch->which,
            .region = region_name(span, stretch->sum_rpm / n),
            .scorable = percent >= 3.0 &&
                        stretch->end_s - stretch->start_s >= 2.0 &&
                        is_judged_inside(session, span, stretch->which) &&
                        !is_hidden(&session->plan, stretch)};
        excuse_sags(stretch, percent, labels);
    }
    stretch->open = false;
}

static void grow(struct stretch *stretch,
                 const struct sim_trace *trace,
                 size_t i,
                 size_t which)
{
    const double now_s = trace->step_s * (double)i;
    if (!stretch->open)
        *stretch = (struct stretch){.open = true,
                                    .which = which,
                                    .start_s = now_s,
                                    .step_s = trace->step_s};
    stretch->end_s = now_s;
    stretch->sum_percent += trace->lean_percent[i];
    stretch->sum_rpm += trace->engine_rpm[i];
    stretch->n++;
}

/* Each stretch knows how long its whole fault was hot. */
static void sum_faults(struct sim_labels *labels)
{
    double hot_s[SIM_MAX_FAULTS + 1] = {0.0};
    for (size_t i = 0; i < labels->n_lean; i++)
        hot_s[labels->lean[i].fault] += labels->lean[i].fault_s;
    for (size_t i = 0; i < labels->n_lean; i++)
        labels->lean[i].fault_s = hot_s[labels->lean[i].fault];
}

void sim_label_lean(const struct sim_session *session,
                    const struct sim_trace *trace,
                    struct sim_labels *labels)
{
    const struct span span = loaded_span(trace);
    struct stretch stretch = {0};
    for (size_t i = 0; i < trace->n; i++) {
        const double now_s = trace->step_s * (double)i;
        size_t which = 0;
        const double strength = strength_at(&session->plan, now_s, &which);
        const bool hot = strength > 0.0 && trace->load[i] >= UNDER_LOAD &&
                         trace->lean_percent[i] >= fmax(0.5 * strength, 1.5);
        if (stretch.open &&
            (now_s - stretch.end_s > LIFT_S || (hot && which != stretch.which)))
            close_stretch(session, &span, &stretch, labels);
        if (hot)
            grow(&stretch, trace, i, which);
    }
    close_stretch(session, &span, &stretch, labels);
    sum_faults(labels);
}

/* A sag too weak to be a drop-out is still heat: it is lean, and optional. */
static void close_sag(const struct sim_session *session,
                      const struct sim_trace *trace,
                      struct sim_dropout *sag,
                      struct sim_labels *labels)
{
    const struct span span = loaded_span(trace);
    const double for_s = sag->end_s - sag->start_s;
    sag->scorable =
        sag->depth_rpm >= 0.025 * session->engine.max_rpm && for_s >= 1.0;
    add_dropout(labels, sag);
    if (!sag->scorable && for_s > 0.3 && labels->n_lean < SIM_MAX_LABELS)
        labels->lean[labels->n_lean++] = (struct sim_lean){
            .start_s = sag->start_s,
            .end_s = sag->end_s,
            .strength_percent = 5.0,
            .fault = SIM_MAX_FAULTS,
            .region = region_name(
                &span, sim_trace_at(trace, trace->engine_rpm, sag->start_s))};
}

static void label_sags(const struct sim_session *session,
                       const struct sim_trace *trace,
                       struct sim_labels *labels)
{
    struct sim_dropout sag = {.cause = "fuel_restriction"};
    bool open = false;
    for (size_t i = 0; i < trace->n; i++) {
        const double now_s = trace->step_s * (double)i;
        const bool pulls = trace->load[i] > 0.5;
        const bool starves = pulls && trace->starved[i] > STARVED_FROM;
        if (!open && starves) {
            open = true;
            sag.start_s = now_s;
            sag.depth_rpm = 0.0;
        }
        if (!open)
            continue;
        if (starves)
            sag.end_s = now_s;
        sag.depth_rpm = fmax(sag.depth_rpm, trace->lost_rpm[i]);
        if (!pulls || i + 1 == trace->n) {
            close_sag(session, trace, &sag, labels);
            open = false;
        }
    }
}

/* Rows whose RPM was measured inside the fault. */
static size_t rows_inside(const struct sim_session *session,
                          const struct sim_rows *rows,
                          const struct sim_fault *fault)
{
    size_t n = 0;
    for (size_t k = 0; k < rows->n; k++) {
        const double s = sim_rpm_moment_s(&session->logger, rows->true_s[k]);
        n += s >= fault->start_s && s < fault->end_s ? 1 : 0;
    }
    return n;
}

/* How far the reading is from what the engine did, at worst. */
static double signal_depth_rpm(const struct sim_trace *trace,
                               const struct sim_fault *fault)
{
    const double held = sim_trace_at(trace, trace->engine_rpm, fault->start_s);
    double depth = 0.0;
    for (double s = fault->start_s; s < fault->end_s; s += 0.01) {
        const double rpm = sim_trace_at(trace, trace->engine_rpm, s);
        double off = 0.0;
        if (fault->signal == SIM_ZERO || fault->signal == SIM_DOUBLE)
            off = rpm;
        else if (fault->signal == SIM_HALF)
            off = rpm / 2.0;
        else if (fault->signal == SIM_FROZEN)
            off = fabs(rpm - held);
        depth = fmax(depth, off);
    }
    return depth;
}

/* A cut of the spark shows by how far the engine falls behind itself. */
static double spark_depth_rpm(const struct sim_trace *trace,
                              const struct sim_fault *fault)
{
    const double from = sim_trace_at(trace, trace->engine_rpm, fault->start_s);
    const double before =
        sim_trace_at(trace, trace->engine_rpm, fault->start_s - 0.3);
    const double to = sim_trace_at(trace, trace->engine_rpm, fault->end_s);
    const double rise_rpm_s = fmax((from - before) / 0.3, 0.0);
    return fmax(from + rise_rpm_s * (fault->end_s - fault->start_s) - to, 0.0);
}

static bool is_seen(const struct sim_session *session,
                    const struct sim_trace *trace,
                    const struct sim_rows *rows,
                    const struct sim_fault *fault,
                    double depth_rpm)
{
    const double rpm = sim_trace_at(trace, trace->engine_rpm, fault->start_s);
    const size_t inside = rows_inside(session, rows, fault);
    const double for_s = fault->end_s - fault->start_s;
    const bool shows = inside >= 2 || (inside == 1 && for_s >= 0.1);
    const bool pulls =
        sim_trace_at(trace, trace->load, fault->start_s - 0.05) > 0.5;
    if (fault->kind == SIM_GLITCH || for_s < GLITCH_S)
        return false;
    if (fault->cuts_spark && fault->signal == SIM_TRUE)
        return pulls && inside >= 3 && for_s >= 0.3 &&
               depth_rpm > 0.05 * session->engine.max_rpm;
    return shows && rpm > 0.5 * session->engine.idle_rpm &&
           depth_rpm > 0.15 * rpm;
}

static void label_contacts(const struct sim_session *session,
                           const struct sim_trace *trace,
                           const struct sim_rows *rows,
                           struct sim_labels *labels)
{
    const double last_s = trace->step_s * (double)(trace->n - 1);
    for (size_t i = 0; i < session->plan.n_faults; i++) {
        const struct sim_fault *fault = &session->plan.fault[i];
        if ((fault->kind != SIM_LOOSE && fault->kind != SIM_GLITCH) ||
            fault->end_s > last_s || fault->start_s < 0.0)
            continue;
        /* A glitch is an odd row: at a low rate it looks like a drop-out. */
        if (fault->kind == SIM_GLITCH && session->logger.rate_hz >= 25.0 &&
            session->logger.rpm_update_hz >= 25.0)
            continue;
        struct sim_dropout dropout = {.start_s = fault->start_s,
                                      .end_s = fault->end_s,
                                      .cause = "loose_connection",
                                      .spark_cut = fault->cuts_spark &&
                                                   fault->signal == SIM_TRUE};
        dropout.depth_rpm = signal_depth_rpm(trace, fault);
        if (fault->cuts_spark)
            dropout.depth_rpm =
                fmax(dropout.depth_rpm, spark_depth_rpm(trace, fault));
        dropout.scorable =
            is_seen(session, trace, rows, fault, dropout.depth_rpm);
        add_dropout(labels, &dropout);
    }
}

static int by_start(const void *a, const void *b)
{
    const struct sim_dropout *x = a, *y = b;
    return (x->start_s > y->start_s) - (x->start_s < y->start_s);
}

/* Bursts less than a third of a second apart are one to anybody who looks. */
static void join_close_ones(struct sim_labels *labels)
{
    size_t kept = 0;
    for (size_t i = 0; i < labels->n_dropouts; i++) {
        struct sim_dropout *last = &labels->dropout[kept > 0 ? kept - 1 : 0];
        const struct sim_dropout *next = &labels->dropout[i];
        if (kept > 0 && next->start_s - last->end_s < 0.34 &&
            next->cause[0] == last->cause[0]) {
            last->end_s = fmax(last->end_s, next->end_s);
            last->depth_rpm = fmax(last->depth_rpm, next->depth_rpm);
            last->scorable = last->scorable || next->scorable;
            last->spark_cut = last->spark_cut && next->spark_cut;
        } else {
            labels->dropout[kept++] = *next;
        }
    }
    labels->n_dropouts = kept;
}

void sim_label_dropouts(const struct sim_session *session,
                        const struct sim_trace *trace,
                        const struct sim_rows *rows,
                        struct sim_labels *labels)
{
    label_sags(session, trace, labels);
    label_contacts(session, trace, rows, labels);
    qsort(labels->dropout, labels->n_dropouts, sizeof labels->dropout[0],
          by_start);
    join_close_ones(labels);
}
