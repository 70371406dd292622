/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The excess of heat, made ready for the findings of too lean and too rich.
 *
 * Both ask the same question, how far the gas is from what this engine gives at
 * this RPM and load, and take the two ends of the answer. What makes heat of
 * its own is masked first: a cold pipe, a start, part throttle, a fuel
 * restriction. */
#include "analysis/mixture.h"

#include "analysis/idle.h"
#include "core/array.h"
#include "core/robust.h"

#include <math.h>
#include <stdlib.h>

/* Heat this long before and after an event that explains it belongs to it:
 * a probe and a pipe take some seconds. */
static const double TOLD_BEFORE_S = 3.0;
static const double TOLD_AFTER_S = 2.0;

/* While the pipe is this cold it gains heat faster than any model says. */
static const double COLD_S = 35.0;

/* Below this share of the top RPM under load for so long, or about at the idle,
 * which is higher on an engine that does not rev, the kart stands; for some
 * time after that nothing is judged. */
static const double STANDING_SHARE = 0.3;
static const double IDLE_ROOM = 1.15;
static const double STANDING_S = 3.0;
static const double START_S = 6.0;
/* After a stand that lets pipe and probe cool it takes so many times the
 * probe's lag, where that is longer: a lag that is a fifth too long makes 60 C
 * of the rise from cold, and three of it leave 3 of them. Common practice, no
 * source. */
static const double COOLS_S = 15.0;
static const double START_LAGS = 3.0;

/* Full throttle is what is expected in the hotter part of a band of RPM; this
 * much less is part throttle (common practice, no source: a lift is worth some
 * hundred degrees). */
enum { N_BANDS = 10 };
static const double FULL_QUANTILE = 0.75;
static const double PART_C = 35.0;

/* A starved engine runs hot because it is starved: one fault, one line. */
static bool explains_heat(const struct kw_event *event)
{
    if (event->kind == KW_DROPOUT)
        return event->detail.dropout.cause == KW_CAUSE_FUEL_RESTRICTION;
    return event->kind == KW_SEIZURE_ONSET;
}

/* Touching is enough: the heat outlasts the sag. */
bool kw_heat_is_explained(const struct kw_events *events,
                          double start_s,
                          double end_s)
{
    for (size_t e = 0; events != NULL && e < events->n; e++) {
        if (explains_heat(&events->items[e]) &&
            events->items[e].start_s - TOLD_BEFORE_S < end_s &&
            events->items[e].end_s + TOLD_AFTER_S > start_s)
            return true;
    }
    return false;
}

/* Cells are masked and not stretches removed, so that a fault next to a
 * restriction is still seen. */
static void mask_what_is_told(struct kw_mixture *m,
                              const struct kw_events *events)
{
    for (size_t e = 0; events != NULL && e < events->n; e++) {
        const struct kw_event *event = &events->items[e];
        if (!explains_heat(event))
            continue;
        for (size_t i = 0; i < m->grid.n; i++) {
            if (m->grid.time_s[i] > event->start_s - TOLD_BEFORE_S &&
                m->grid.time_s[i] < event->end_s + TOLD_AFTER_S)
                m->excess_c[i] = NAN;
        }
    }
}

/* Expected heat is one figure for each cell, so the first sample tells it. */
static void fill_excess(struct kw_mixture *m, const struct kw_scene *scene)
{
    const struct kw_heat_grid *g = &m->grid;
    for (size_t i = 0; i < g->n; i++) {
        const size_t at = g->first[i];
        m->excess_c[i] = g->gas_c[i] - scene->expected_c[at];
        if (g->worked_s[i] < COLD_S)
            m->excess_c[i] = NAN;
        const double spread_c = scene->expected_spread_c[at];
        if (kw_under_load(g->load[i]) && !isnan(spread_c))
            m->scatter_c = spread_c / 2.0;
    }
}

/* A start: the clutch slips at full load, or the pipe is cool from standing. A
 * bend so slow that the clutch lets go is no stand, and comes every lap. */
static void mask_starts(struct kw_mixture *m, const struct kw_scene *scene)
{
    const struct kw_heat_grid *g = &m->grid;
    const double idle_rpm =
        kw_find_idle(scene->session, &scene->running->spans, m->high_rpm).rpm;
    /* Not known is no floor. */
    const double standing_rpm =
        fmax(STANDING_SHARE * m->high_rpm, IDLE_ROOM * idle_rpm);
    const double cold_start_s =
        fmax(START_S, START_LAGS * scene->session->probe_lag_s);
    double start_s = START_S;
    double slow_since_s = NAN;
    double stood_s = -INFINITY;
    for (size_t i = 0; i < g->n; i++) {
        if (!(g->rpm[i] < standing_rpm))
            slow_since_s = NAN;
        else if (isnan(slow_since_s))
            slow_since_s = g->time_s[i];
        if (g->time_s[i] - slow_since_s > STANDING_S) {
            stood_s = g->time_s[i];
            start_s = stood_s - slow_since_s > COOLS_S ? cold_start_s : START_S;
        }
        if (g->time_s[i] - stood_s < start_s)
            m->excess_c[i] = NAN;
    }
}

/* Thirds of this range are the regions of the findings: low end, middle, top
 * end. The rarest cells at both ends are left out: over a kerb the
 * wheels leave the ground and RPM flares, and a pull out of the pits begins far
 * below any on the track. */
static void find_range(struct kw_mixture *m, double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < m->grid.n; i++) {
        if (kw_under_load(m->grid.load[i]))
            scratch[n++] = m->grid.rpm[i];
    }
    n = kw_finite_copy(scratch, n, scratch);
    m->high_rpm = kw_quantile(scratch, n, 0.995, scratch);
    m->low_rpm = kw_quantile(scratch, n, 0.01, scratch);
}

/* Band of RPM that a cell lies in. */
static size_t band_of(const struct kw_mixture *m, double rpm)
{
    const double width = (m->high_rpm - m->low_rpm) / N_BANDS;
    const double band = width > 0.0 ? (rpm - m->low_rpm) / width : 0.0;
    return (size_t)fmax(0.0, fmin(band, N_BANDS - 1.0));
}

/* Back from the excess; NAN where that is masked. */
static double expected_of(const struct kw_mixture *m, size_t cell)
{
    return m->grid.gas_c[cell] - m->excess_c[cell];
}

/* Where less is expected than full throttle gives at that RPM, the driver
 * mostly holds part throttle, and the one lap with more is hotter for that
 * reason. */
static void mask_part_throttle(struct kw_mixture *m, double *scratch)
{
    const struct kw_heat_grid *g = &m->grid;
    double full_c[N_BANDS];
    for (size_t band = 0; band < N_BANDS; band++) {
        size_t n = 0;
        for (size_t i = 0; i < g->n; i++) {
            if (kw_heat_cell_is_settled(g, i, true) &&
                band_of(m, g->rpm[i]) == band)
                scratch[n++] = expected_of(m, i);
        }
        full_c[band] = kw_quantile(scratch, n, FULL_QUANTILE, scratch);
    }
    for (size_t i = 0; i < g->n; i++) {
        if (kw_under_load(g->load[i]) && !isnan(g->rpm[i]) &&
            expected_of(m, i) < full_c[band_of(m, g->rpm[i])] - PART_C)
            m->excess_c[i] = NAN;
    }
}

/* The masks come after the range, which they need, and before anybody looks. */
enum kw_status kw_mixture_new(const struct kw_scene *scene,
                              struct kw_mixture *out,
                              struct kw_error *error)
{
    *out = (struct kw_mixture){.scatter_c = NAN, .low_rpm = NAN};
    if (scene->session->gas_c == NULL || scene->load == NULL ||
        scene->expected_c == NULL || scene->expected_spread_c == NULL)
        return KW_OK;
    const struct kw_heat_source source = {scene->session, scene->load,
                                          scene->laps};
    if (kw_heat_grid_new(&source, &out->grid, error) != KW_OK)
        return KW_NO_MEMORY;
    double *scratch = kw_array_new(out->grid.n, sizeof *scratch, error);
    out->excess_c = kw_array_new_nan(out->grid.n, error);
    if (scratch == NULL || out->excess_c == NULL) {
        free(scratch);
        kw_mixture_free(out);
        return KW_NO_MEMORY;
    }
    fill_excess(out, scene);
    mask_what_is_told(out, scene->events);
    find_range(out, scratch);
    mask_starts(out, scene);
    mask_part_throttle(out, scratch);
    free(scratch);
    return KW_OK;
}

/* Safe on the empty one that a log without a probe gives. */
void kw_mixture_free(struct kw_mixture *mixture)
{
    kw_heat_grid_free(&mixture->grid);
    free(mixture->excess_c);
    *mixture = (struct kw_mixture){0};
}

/* Lifts inside a stretch would pull the mean down and point at the wrong
 * jet. */
double kw_mixture_rpm(const struct kw_mixture *mixture, size_t from, size_t to)
{
    const struct kw_heat_grid *g = &mixture->grid;
    double sum = 0.0;
    double seconds = 0.0;
    for (size_t i = from; i < to; i++) {
        if (!kw_under_load(g->load[i]) || isnan(g->rpm[i]))
            continue;
        sum += g->rpm[i] * g->step_s[i];
        seconds += g->step_s[i];
    }
    return seconds > 0.0 ? sum / seconds : NAN;
}

/* Where in the range it is lean tells which part of the carburettor to turn
 * to. */
enum kw_rpm_region kw_mixture_region(const struct kw_mixture *mixture,
                                     double rpm)
{
    const double third = (mixture->high_rpm - mixture->low_rpm) / 3.0;
    if (rpm < mixture->low_rpm + third)
        return KW_REGION_LOW;
    return rpm < mixture->high_rpm - third ? KW_REGION_MIDDLE : KW_REGION_TOP;
}

/* No digits that the engine does not have. */
void kw_add_rpm(struct kw_text *text, double rpm)
{
    /* Beyond a million there is no engine, and no room in an int. */
    if (isnan(rpm) || rpm < 0.0 || rpm > 1e6) {
        kw_text_add(text, "unknown RPM");
        return;
    }
    const int hundreds = (int)(rpm / 100.0 + 0.5);
    if (hundreds >= 10)
        kw_text_addf(text, "%d,%d00 RPM", hundreds / 10, hundreds % 10);
    else
        kw_text_addf(text, "%d RPM", hundreds * 100);
}
