/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Undoing a first-order lag without blowing up the noise.
 *
 * The inverse of the lag multiplies the slope of the reading by the time
 * constant, and the noise of that slope with it. The slope and the level are
 * therefore those of a straight line through a short window, whose width
 * follows from the noise, the resolution and how often the probe is read. */
#include "signal/gas.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Scatter of the gas that harms no finding: a sixth of what a mixture 3 % lean
 * adds (10 C for each percent: common practice, no source). */
static const double GAS_SCATTER_C = 5.0;
/* The gas of a two-stroke pull changes over seconds; below a quarter of one
 * there is only noise to be seen (common practice, no source). */
static const double SHORTEST_WINDOW_S = 0.25;
/* Wider than this the edges of a short fault are lost. */
static const double LONGEST_WINDOW_S = 2.0;
/* Standard deviation of a value that was rounded to steps of 1. */
static const double ROUNDING_SD = 0.288675;
/* A second difference of white noise scatters by sqrt(6) times the noise. */
static const double SECOND_DIFFERENCE_SD = 2.449490;
/* Readings looked at for noise and resolution. Noise is known well from so
 * many; more would only take time. */
enum { MOST_READINGS = 20000 };

/* Only changes within two seconds of each other count: a flat stretch is a
 * steady temperature, not a slow converter. Blank rows are passed over: of a
 * logger that writes EGT once a second each reading is new. */
double kw_egt_refresh_s(const struct kw_session *session)
{
    size_t n_changes = 0;
    double moving_s = 0.0;
    double changed_s = NAN;
    double reading_c = NAN;
    for (size_t i = 0; i < session->n_samples; i++) {
        const double now_c = session->egt_raw_c[i];
        if (isnan(now_c))
            continue;
        const bool changed = fabs(now_c - reading_c) > 0.0;
        reading_c = now_c;
        if (!changed)
            continue;
        if (session->time_s[i] - changed_s < 2.0) {
            moving_s += session->time_s[i] - changed_s;
            n_changes++;
        }
        changed_s = session->time_s[i];
    }
    return n_changes > 0 ? moving_s / (double)n_changes
                         : 1.0 / session->rate_hz;
}

/* The new readings only, without those that repeat the one before. The cleaned
 * ones may have been joined by straight lines: the raw ones tell the noise. */
static size_t collect_readings(const struct kw_session *session,
                               double *readings)
{
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples && n < MOST_READINGS; i++) {
        const double value = session->egt_raw_c[i];
        if (!isnan(value) && !isnan(session->egt_c[i]) &&
            (n == 0 || fabs(value - readings[n - 1]) > 0.0))
            readings[n++] = value;
    }
    return n;
}

/* Noise and resolution as one standard deviation. */
static double noise_of(const double *readings, size_t n, double *scratch)
{
    for (size_t i = 1; i < n; i++)
        scratch[i - 1] = fabs(readings[i] - readings[i - 1]);
    /* A small quantile and not the smallest: one conversion of units may round
     * two equal readings apart. */
    const double step = n > 1 ? kw_quantile(scratch, n - 1, 0.02, scratch) : 0;
    for (size_t i = 2; i < n; i++)
        scratch[i - 2] = readings[i] - 2.0 * readings[i - 1] + readings[i - 2];
    const double noise =
        n > 2 ? kw_mad_sd(scratch, n - 2, 0.0, scratch) / SECOND_DIFFERENCE_SD
              : 0.0;
    return fmax(noise, ROUNDING_SD * step);
}

/* From the noise of a slope to the width that brings it down to what is
 * allowed, then held between what the converter gives and what a fault
 * lasts. */
enum kw_status kw_gas_window_s(const struct kw_session *session,
                               double lag_s,
                               double *out,
                               struct kw_error *error)
{
    const size_t most =
        session->n_samples < MOST_READINGS ? session->n_samples : MOST_READINGS;
    double *readings = kw_array_new(most, sizeof *readings, error);
    double *scratch = kw_array_new(most, sizeof *scratch, error);
    enum kw_status status = KW_NO_MEMORY;
    if (readings == NULL || scratch == NULL)
        goto done;
    const size_t n = collect_readings(session, readings);
    const double noise_c = noise_of(readings, n, scratch);
    const double refresh_s =
        fmax(kw_egt_refresh_s(session), 1.0 / session->rate_hz);
    /* The slope of n readings a step apart scatters by s sqrt(12 / n^3) / step
     * (textbook least squares); times the lag it may be GAS_SCATTER_C, solved
     * for n steps. */
    const double demanded_s =
        cbrt(12.0 * refresh_s * pow(lag_s * noise_c / GAS_SCATTER_C, 2.0));
    /* Two new readings at least, or the slope is that of a staircase. */
    const double least_s = fmax(SHORTEST_WINDOW_S, 2.0 * refresh_s);
    *out = fmax(least_s, fmin(demanded_s, LONGEST_WINDOW_S));
    status = KW_OK;
done:
    free(readings);
    free(scratch);
    return status;
}

/* Level and slope come from the same line, so that a steady climb is undone
 * exactly. */
enum kw_status kw_take_out_lag(struct kw_session *session,
                               double lag_s,
                               struct kw_error *error)
{
    const size_t n = session->n_samples;
    double window_s = 0.0;
    if (kw_gas_window_s(session, lag_s, &window_s, error) != KW_OK)
        return KW_NO_MEMORY;
    double *slope = kw_array_new(n, sizeof *slope, error);
    if (slope == NULL)
        return KW_NO_MEMORY;
    kw_slope(session, session->egt_c, window_s, slope);
    /* Same window for both, or level and slope would belong to different
     * moments. */
    kw_smooth(session, session->egt_c, window_s, session->gas_c);
    for (size_t i = 0; i < n; i++) {
        /* At an end of a stretch with too few readings the probe itself is the
         * best guess of the gas. */
        const bool known = !isnan(session->egt_c[i]) && !isnan(slope[i]);
        session->gas_c[i] =
            known ? session->gas_c[i] + lag_s * slope[i] : session->egt_c[i];
    }
    free(slope);
    return KW_OK;
}
