/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How slow the EGT probe is, from the session itself.
 *
 * For each time constant of a ladder the gas is a sum of bells over RPM, once
 * for a rising and once for a falling engine, sent through the lag; the one
 * that leaves the least of the reading unexplained wins. Heat that creeps (a
 * pipe that warms up) is kept out by taking a slow mean from both sides: the
 * lag and that filter commute. Lean stretches weigh little in the second round,
 * because they fit badly in the first. */
#include "signal/probe_lag.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/gas.h"
#include "signal/least_squares.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Kart probes have 0.5 to 3 s (common practice, no source); the ladder goes
 * well past both. A bare wire in the gas is faster, but its lag does no
 * harm. */
static const double FASTEST_S = 0.12;
static const double SLOWEST_S = 8.0;
/* Rungs, and how many around the best are climbed again. Rungs 28 % apart: the
 * parabola through three of them does the rest. */
enum { STEPS = 18, AROUND = 3 };
/* A cell of the fit: short against any lag that matters. */
static const double CELL_S = 0.1;
/* 10 minutes hold dozens of lifts. Half a minute is one lap, the least from
 * which anything is learned (common practice, no source). */
enum { MOST_CELLS = 6000, FEWEST_CELLS = 300 };
/* Slow heat is taken out with a mean of this time constant, or of so many cells
 * where the log is slow: what a lift does to the reading within the next second
 * tells the probe from the pipe. */
static const double SLOW_S = 1.5;
static const double SLOW_CELLS = 6.0;
/* At idle hardly any gas flows and every probe is slow: below this share of the
 * usual top RPM, and some seconds around it, nothing is learned. The gas flow
 * goes with RPM, and the heat that reaches a probe with some root of the flow;
 * a lag learned at idle would be that of standing air (common practice, no
 * source). */
static const double IDLE_SHARE = 0.35;
static const double IDLE_AROUND_S = 4.0;
/* Level of RPM that idle is a share of, for a drive that is a part of the log;
 * and what is kept of the time before and after it: a kart waits in its place
 * for a minute (common practice, no source). */
static const double DRIVEN_TOP = 0.995;
static const double STANDS_S = 60.0;
enum { TRENDS = 3, BELLS = 5, TERMS = TRENDS * BELLS };
/* Less than this share of the reading explained: RPM does not drive it. Below,
 * the ladder may have a best rung by chance (common practice, no source). */
static const double LEAST_EXPLAINED = 0.5;
/* A swing of EGT smaller than this over the session shows no lag. */
static const double LEAST_SWING_C = 15.0;
/* An error larger than this share of the time constant is no knowledge. */
static const double LARGEST_ERROR = 0.35;
/* A coefficient of this many times the scatter of the reading is plausible. */
static const double PLAUSIBLE_SIZE = 30.0;
/* Standard deviations from which a cell weighs less, and weighs nothing. */
static const double NEAR_SD = 1.345;
static const double FAR_SD = 4.685;

/* The session in even cells. */
struct cells {
    size_t n;
    double step_s;
    double slow_share; /* how much of a step the slow mean follows */
    double *rpm;       /* last known where missing */
    double *egt;       /* slow mean taken out; NAN where missing */
    double *trend;     /* -1 falls, 0 holds, 1 rises */
    double *weight;
    bool *known; /* may weigh anything at all */
    double *row; /* row[TERMS * n]: the terms, lagged, slow mean taken out */
    double knot_rpm;
    double knot_step_rpm;
};

/* Accepts what cells_new() left half made. */
static void cells_free(struct cells *c)
{
    free(c->rpm);
    free(c->egt);
    free(c->trend);
    free(c->weight);
    free(c->known);
    free(c->row);
}

/* Rows are made anew for each rung, in place. */
static enum kw_status cells_new(struct cells *c,
                                size_t n,
                                struct kw_error *error)
{
    c->n = n;
    c->rpm = kw_array_new(n, sizeof *c->rpm, error);
    c->egt = kw_array_new(n, sizeof *c->egt, error);
    c->trend = kw_array_new(n, sizeof *c->trend, error);
    c->weight = kw_array_new(n, sizeof *c->weight, error);
    c->known = kw_array_new(n, sizeof *c->known, error);
    c->row = kw_array_new(n * TERMS, sizeof *c->row, error);
    if (c->rpm == NULL || c->egt == NULL || c->trend == NULL ||
        c->weight == NULL || c->known == NULL || c->row == NULL)
        return KW_NO_MEMORY;
    return KW_OK;
}

/* Means over each cell, from start_s on. */
static void fill_cells(struct cells *c,
                       const struct kw_session *session,
                       double start_s)
{
    size_t i = 0;
    double rpm = 0.0;
    while (i < session->n_samples && session->time_s[i] < start_s)
        i++;
    for (size_t cell = 0; cell < c->n; cell++) {
        const double end_s = start_s + (double)(cell + 1) * c->step_s;
        double sum_rpm = 0.0;
        double sum_egt = 0.0;
        size_t n_rpm = 0;
        size_t n_egt = 0;
        for (; i < session->n_samples && session->time_s[i] < end_s; i++) {
            if (!isnan(session->rpm[i])) {
                sum_rpm += session->rpm[i];
                n_rpm++;
            }
            if (!isnan(session->egt_c[i])) {
                sum_egt += session->egt_c[i];
                n_egt++;
            }
        }
        if (n_rpm > 0)
            /* A cell without a reading keeps the one before: the engine turned
             * on. */
            rpm = sum_rpm / (double)n_rpm;
        c->rpm[cell] = rpm;
        c->egt[cell] = n_egt > 0 ? sum_egt / (double)n_egt : NAN;
        c->weight[cell] = n_egt > 0 ? 1.0 : 0.0;
    }
}

/* -1 to 1 from the slope of RPM, by how steep the usual slopes are. */
static void tell_trend(struct cells *c, double *scratch)
{
    const size_t n = c->n;
    /* 0.2 s to both sides: long enough for the pickup's noise, short beside a
     * pull. */
    const size_t reach = (size_t)fmax(1.0, 0.2 / c->step_s + 0.5);
    for (size_t i = 0; i < n; i++) {
        const size_t from = i >= reach ? i - reach : 0;
        const size_t to = i + reach < n ? i + reach : n - 1;
        c->trend[i] = c->rpm[to] - c->rpm[from];
    }
    for (size_t i = 0; i < n; i++)
        scratch[i] = fabs(c->trend[i]);
    /* From a third of the steep slopes on an engine counts as rising or falling
     * in full. */
    const double usual = 0.3 * kw_quantile(scratch, n, 0.75, scratch);
    for (size_t i = 0; i < n; i++) {
        const double share = usual > 0.0 ? c->trend[i] / usual : 0.0;
        c->trend[i] = fmax(-1.0, fmin(1.0, share));
    }
}

/* Over the RPM that the session was in; the rare ends are left to the outer
 * bells. */
static void place_bells(struct cells *c, double *scratch)
{
    /* Pit lane and over-revs are too rare to carry a bell of their own. */
    const double low = kw_quantile(c->rpm, c->n, 0.03, scratch);
    const double high = kw_quantile(c->rpm, c->n, 0.98, scratch);
    c->knot_rpm = low;
    c->knot_step_rpm = fmax((high - low) / (BELLS - 1), 1.0);
}

/* A mean shorter than some cells would take the signal with it. */
static double slow_share(double step_s)
{
    return step_s / (fmax(SLOW_S, SLOW_CELLS * step_s) + step_s);
}

/* The slow mean, one exponential: subtracted from the value. */
static double without_slow(double *slow, double value, double share)
{
    *slow += (value - *slow) * share;
    return value - *slow;
}

/* Cells near an idle, a stop or a lost signal weigh nothing. */
static void leave_idle_out(struct cells *c, double *scratch)
{
    const double idle_rpm =
        IDLE_SHARE * kw_quantile(c->rpm, c->n, 0.98, scratch);
    const size_t around = (size_t)(IDLE_AROUND_S / c->step_s);
    size_t until = 0;
    for (size_t i = 0; i < c->n; i++) {
        if (c->rpm[i] >= idle_rpm)
            continue;
        const size_t from = i > around ? i - around : 0;
        for (size_t k = from > until ? from : until;
             k < c->n && k <= i + around; k++)
            c->weight[k] = 0.0;
        until = i + around + 1 < c->n ? i + around + 1 : c->n;
    }
}

/* The same filter as on the terms, or the two sides would not match. */
static void take_slow_from_egt(struct cells *c)
{
    double slow = NAN;
    for (size_t i = 0; i < c->n; i++) {
        if (isnan(c->egt[i]))
            continue;
        if (isnan(slow))
            slow = c->egt[i];
        c->egt[i] = without_slow(&slow, c->egt[i], c->slow_share);
    }
}

/* The terms of one cell before the lag: straight-sided bells over RPM. */
static void terms_of(const struct cells *c, size_t i, double *terms)
{
    memset(terms, 0, TERMS * sizeof *terms);
    const double at = fmax(
        0.0, fmin((c->rpm[i] - c->knot_rpm) / c->knot_step_rpm, BELLS - 1.0));
    const size_t below = at < BELLS - 1.0 ? (size_t)at : BELLS - 2;
    const double part = at - (double)below;
    const double trend[TRENDS] = {
        fmax(-c->trend[i], 0.0),
        1.0 - fabs(c->trend[i]),
        fmax(c->trend[i], 0.0),
    };
    for (size_t k = 0; k < TRENDS; k++) {
        terms[k * BELLS + below] = (1.0 - part) * trend[k];
        terms[k * BELLS + below + 1] = part * trend[k];
    }
}

/* Each term goes through the lag, exactly for steps between cells: the
 * reading shown is the mean over the cell, as the logger's readings are. */
static void make_rows(struct cells *c, double lag_s)
{
    /* Exact for an input that is constant within the cell (textbook; from
     * memory). */
    const double keep = exp(-c->step_s / lag_s);
    const double mean = lag_s / c->step_s;
    double reading[TERMS];
    double slow[TERMS];
    double terms[TERMS];
    terms_of(c, 0, reading);
    memcpy(slow, reading, sizeof slow);
    for (size_t i = 0; i < c->n; i++) {
        double *row = &c->row[i * TERMS];
        terms_of(c, i, terms);
        for (size_t k = 0; k < TERMS; k++) {
            const double before = reading[k];
            reading[k] = terms[k] + (before - terms[k]) * keep;
            const double shown = terms[k] + (before - reading[k]) * mean;
            row[k] = without_slow(&slow[k], shown, c->slow_share);
        }
    }
}

/* The ridge is far smaller than any real effect; it only keeps a bell that
 * was never visited from breaking the sum. */
static bool fit_rows(const struct cells *c,
                     double *coefficients,
                     double *residual,
                     double *total)
{
    struct kw_least_squares fit;
    double ridge[TERMS];
    kw_least_squares_start(&fit, TERMS);
    for (size_t i = 0; i < c->n; i++) {
        if (c->weight[i] > 0.0)
            kw_least_squares_add(&fit, &c->row[i * TERMS], c->egt[i],
                                 c->weight[i]);
    }
    for (size_t k = 0; k < TERMS; k++)
        ridge[k] = 1.0 / (PLAUSIBLE_SIZE * PLAUSIBLE_SIZE);
    if (!kw_least_squares_solve(&fit, ridge, coefficients))
        return false;
    *residual = kw_least_squares_residual(&fit, coefficients);
    *total = fit.square;
    return true;
}

/* Even in ratio: a tenth of a second matters at 0.5 s and not at 5 s. */
static double rung_s(double rung)
{
    return FASTEST_S * pow(SLOWEST_S / FASTEST_S, rung / (STEPS - 1.0));
}

/* What the ladder said. */
struct ladder {
    double residual[STEPS];
    double total;
    size_t best;
};

/* The rungs from .. to - 1; those outside keep what an earlier climb found. */
static bool climb(struct cells *c,
                  struct ladder *ladder,
                  size_t from,
                  size_t to)
{
    double coefficients[TERMS];
    ladder->best = from;
    for (size_t k = from; k < to; k++) {
        make_rows(c, rung_s((double)k));
        if (!fit_rows(c, coefficients, &ladder->residual[k], &ladder->total))
            return false;
        if (ladder->residual[k] < ladder->residual[ladder->best])
            ladder->best = k;
    }
    return true;
}

/* What the fit leaves of one cell. */
static double misfit(const struct cells *c,
                     size_t i,
                     const double *coefficients)
{
    double sum = c->egt[i];
    for (size_t k = 0; k < TERMS; k++)
        sum -= c->row[i * TERMS + k] * coefficients[k];
    return sum;
}

/* By how much neighbours' misfits are alike, as the number of cells that say
 * one thing. Each counts by its weight: a lean lap is alike from end to end,
 * and would make a session of a thousand lifts look like one of ten. */
static double cells_alike(const struct cells *c, const double *misfits)
{
    double both = 0.0;
    double own = 0.0;
    for (size_t i = 1; i < c->n; i++) {
        if (isnan(misfits[i]) || isnan(misfits[i - 1]))
            continue;
        const double size = c->weight[i] * misfits[i];
        both += size * c->weight[i - 1] * misfits[i - 1];
        own += size * size;
    }
    /* An AR(1) series of n cells is worth n (1 - r) / (1 + r) (textbook; from
     * memory). */
    const double alike = own > 0.0 ? fmin(fmax(both / own, 0.0), 0.995) : 0.0;
    return (1.0 + alike) / (1.0 - alike);
}

/* Cells that fit badly weigh less. The first time gently (Huber 1964: 1.345
 * standard deviations), because the fit itself is still pulled by what is
 * wrong; then those far out weigh nothing (the bisquare of Beaton and Tukey
 * 1974: 4.685).
 *
 * returns  see cells_alike(); NAN where nothing can be fitted. */
static double weigh(struct cells *c, double lag_s, bool gently, double *scratch)
{
    double coefficients[TERMS];
    double residual;
    double total;
    make_rows(c, lag_s);
    if (!fit_rows(c, coefficients, &residual, &total))
        return NAN;
    for (size_t i = 0; i < c->n; i++)
        scratch[i] = c->known[i] ? misfit(c, i, coefficients) : NAN;
    const double sd = fmax(kw_mad_sd(scratch, c->n, 0.1, scratch), 1e-9);
    for (size_t i = 0; i < c->n; i++) {
        const double size = c->known[i] ? misfit(c, i, coefficients) : NAN;
        const double far = fabs(size) / (FAR_SD * sd);
        scratch[i] = size;
        c->weight[i] = 0.0;
        if (gently && !isnan(size))
            c->weight[i] = fmin(1.0, NEAR_SD * sd / fmax(fabs(size), 1e-9));
        else if (far < 1.0)
            c->weight[i] = (1.0 - far * far) * (1.0 - far * far);
    }
    return cells_alike(c, scratch);
}

/* The bottom of the parabola through the best rung and its neighbours, and the
 * error that its width means. */
static bool read_ladder(const struct ladder *ladder,
                        double n_independent,
                        double *lag_s,
                        double *error_s)
{
    const size_t k = ladder->best;
    /* At an end of the ladder the best rung may lie beyond it: not known. */
    if (k == 0 || k + 1 == STEPS)
        return false;
    const double low = ladder->residual[k - 1];
    const double middle = ladder->residual[k];
    const double high = ladder->residual[k + 1];
    const double curve = low - 2.0 * middle + high;
    if (!(curve > 0.0) || !(middle < (1.0 - LEAST_EXPLAINED) * ladder->total))
        return false;
    *lag_s = rung_s((double)k + 0.5 * (low - high) / curve);
    /* One standard deviation off the best rung adds one cell's share,
     * middle / n, to the sum of squares: middle + curve / 2 * rungs^2. */
    const double rungs = sqrt(2.0 * middle / n_independent / curve);
    const double each = log(SLOWEST_S / FASTEST_S) / (STEPS - 1.0);
    *error_s = *lag_s * rungs * each;
    return *error_s < LARGEST_ERROR * *lag_s;
}

/* Climbs again around the best rung, or everywhere where the new weights moved
 * it to the edge of that. */
static bool climb_around(struct cells *c, struct ladder *ladder)
{
    const size_t from = ladder->best > AROUND ? ladder->best - AROUND : 0;
    const size_t to =
        ladder->best + AROUND < STEPS ? ladder->best + AROUND + 1 : STEPS;
    if (!climb(c, ladder, from, to))
        return false;
    const bool at_edge = ladder->best == from || ladder->best + 1 == to;
    return !at_edge || climb(c, ladder, 0, STEPS);
}

/* Three times: each climb tells which cells fit badly (lean stretches, spikes
 * that got through, a spin), the next gives them little weight, then none. */
static bool fit_lag(struct cells *c,
                    double *scratch,
                    double *lag_s,
                    double *error_s)
{
    struct ladder ladder;
    if (!climb(c, &ladder, 0, STEPS))
        return false;
    double alike = 1.0;
    for (int round = 0; round < 2; round++) {
        const double best_s = rung_s((double)ladder.best);
        alike = weigh(c, best_s, round == 0, scratch);
        if (isnan(alike) || !climb_around(c, &ladder))
            return false;
    }
    double known = 0.0;
    for (size_t i = 0; i < c->n; i++)
        known += c->weight[i];
    return read_ladder(&ladder, fmax(known / alike, 1.0), lag_s, error_s);
}

/* The stretch of time that is learned from. */
struct stretch {
    double from_s;
    double for_s;
};

/* From a while before the kart drives until a while after, and of that the
 * middle of what is driven, where it is longer than the fit needs. A logger
 * that was left on for an hour in the pits would hide the drive in its idling.
 *
 * scratch  scratch[n_samples].
 * returns  no more than most_s; nothing where the engine never turned. */
static struct stretch drive_of(const struct kw_session *session,
                               double most_s,
                               double *scratch)
{
    const double *time_s = session->time_s;
    const double idle_rpm =
        IDLE_SHARE * kw_quantile_of_sample(session->rpm, session->n_samples,
                                           DRIVEN_TOP, scratch);
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        if (session->rpm[i] > idle_rpm)
            scratch[n++] = time_s[i];
    }
    if (n == 0)
        return (struct stretch){0.0, 0.0};
    const double from_s = fmax(scratch[0] - STANDS_S, 0.0);
    const double to_s =
        fmin(scratch[n - 1] + STANDS_S, time_s[session->n_samples - 1]);
    const double for_s = fmin(to_s - from_s, most_s);
    const double middle_s = scratch[n / 2];
    return (struct stretch){
        fmin(fmax(middle_s - for_s / 2.0, from_s), to_s - for_s), for_s};
}

/* By least squares over the drive. */
static enum kw_status estimate(const struct kw_session *session,
                               double *lag_s,
                               double *error_s,
                               struct kw_error *error)
{
    struct cells c = {.step_s = fmax(CELL_S, 1.0 / session->rate_hz)};
    c.slow_share = slow_share(c.step_s);
    /* The cells may be more than the samples: time goes on in a gap. */
    const size_t room = session->n_samples + MOST_CELLS;
    double *scratch = kw_array_new(room, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const struct stretch drive =
        drive_of(session, MOST_CELLS * c.step_s, scratch);
    const double n = floor(drive.for_s / c.step_s);
    enum kw_status status = KW_OK;
    if (n < FEWEST_CELLS)
        goto done;
    status = cells_new(&c, (size_t)n, error);
    if (status != KW_OK)
        goto done;
    /* Half a cell early: samples that are one cell apart fall inside cells and
     * not on their edges. */
    fill_cells(&c, session, drive.from_s - c.step_s / 2.0);
    /* An engine that was never let go in earnest shows no step to measure a lag
     * by. */
    const double swing_c = kw_quantile(c.egt, c.n, 0.95, scratch) -
                           kw_quantile(c.egt, c.n, 0.2, scratch);
    tell_trend(&c, scratch);
    place_bells(&c, scratch);
    leave_idle_out(&c, scratch);
    take_slow_from_egt(&c);
    for (size_t i = 0; i < c.n; i++)
        c.known[i] = c.weight[i] > 0.0;
    if (!(swing_c > LEAST_SWING_C) || !fit_lag(&c, scratch, lag_s, error_s))
        *lag_s = *error_s = NAN;
done:
    free(scratch);
    cells_free(&c);
    return status;
}

/* What the owner states is believed without a fit. */
enum kw_status kw_estimate_probe_lag(struct kw_session *session,
                                     const struct kw_profile *profile,
                                     struct kw_error *error)
{
    session->probe_lag_s = session->probe_lag_error_s = NAN;
    session->probe_lag_origin = KW_ORIGIN_NOT_KNOWN;
    if (session->egt_c == NULL || session->gas_c == NULL)
        return KW_OK;
    if (profile != NULL && profile->probe_lag_s > 0.0) {
        session->probe_lag_s = profile->probe_lag_s;
        session->probe_lag_origin = KW_ORIGIN_PROFILE;
        return kw_take_out_lag(session, profile->probe_lag_s, error);
    }
    double lag_s = NAN;
    double error_s = NAN;
    const enum kw_status status = estimate(session, &lag_s, &error_s, error);
    if (status != KW_OK || isnan(lag_s))
        return status;
    session->probe_lag_s = lag_s;
    session->probe_lag_error_s = error_s;
    session->probe_lag_origin = KW_ORIGIN_SESSION;
    return kw_take_out_lag(session, lag_s, error);
}
