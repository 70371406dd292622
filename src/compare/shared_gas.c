/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gas on both sides, with one lag taken out of both.
 *
 * The lag of one probe is estimated a little longer in one session and a little
 * shorter in the next. Undone with each its own, that alone would make one side
 * hotter; with one lag for both it cancels. */
#include "compare/shared_gas.h"

#include "core/array.h"
#include "signal/gas.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Two probes are not alike when their lags differ by this factor, and by so
 * many standard errors. The lag of one probe hangs on the flow of gas around
 * it, and is estimated up to three times too long or short in one session of
 * forty (simulated pairs that are not scored); a sheath twice as thick has
 * three to four times the lag (its heat goes with the area of its section).
 * From the smaller factor it is worth a look; at 1.8 most who were asked had
 * one probe (the same pairs). */
static const double PROBE_FACTOR = 3.0;
static const double DOUBTFUL_FACTOR = 2.3;
static const double PROBE_ERRORS = 4.0;

/* Standard error of a lag that comes without one, as a share of it (common
 * practice, no source). */
static const double USUAL_ERROR = 0.2;

/* Nobody knows a lag better than to a twentieth, whatever the fit says of
 * itself: its scatter from session to session is larger. */
static const double LEAST_ERROR = 0.05;

/* Mean of some lags, each weighted by how well it is known. */
struct lag_sum {
    double weight;
    double weighted_s;
};

static void add_lag(struct lag_sum *sum, const struct kw_session *session)
{
    const double lag_s = session->probe_lag_s;
    double error_s = session->probe_lag_error_s;
    if (!(lag_s > 0.0))
        return;
    if (!(error_s > LEAST_ERROR * lag_s))
        error_s = (isnan(error_s) ? USUAL_ERROR : LEAST_ERROR) * lag_s;
    sum->weight += 1.0 / (error_s * error_s);
    sum->weighted_s += lag_s / (error_s * error_s);
}

static double mean_lag_s(const struct lag_sum *sum)
{
    return sum->weight > 0.0 ? sum->weighted_s / sum->weight : NAN;
}

/* Both the factor and the errors have to say so: of two lags that are known
 * well a small difference is real and still no other probe. */
static bool are_apart(const struct lag_sum sides[KW_N_SIDES], double factor)
{
    const double a_s = mean_lag_s(&sides[KW_BEFORE]);
    const double b_s = mean_lag_s(&sides[KW_AFTER]);
    const double error_s =
        sqrt(1.0 / sides[KW_BEFORE].weight + 1.0 / sides[KW_AFTER].weight);
    return fmax(a_s, b_s) > factor * fmin(a_s, b_s) &&
           fabs(a_s - b_s) > PROBE_ERRORS * error_s;
}

/* The widest window that any of the sessions needs. A finer logger would show
 * more of each pull, and two loggers of one engine would seem to differ. */
static enum kw_status widest_window_s(
    const struct kw_compare_sessions *const sessions[KW_N_SIDES],
    double lag_s,
    double *out,
    struct kw_error *error)
{
    *out = 0.0;
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t log = 0; log < sessions[side]->n; log++) {
            const struct kw_session *session =
                &sessions[side]->reviews[log].session;
            double window_s = 0.0;
            if (session->egt_c == NULL || session->egt_raw_c == NULL)
                continue;
            if (kw_gas_window_s(session, lag_s, &window_s, error) != KW_OK)
                return KW_NO_MEMORY;
            *out = fmax(*out, window_s);
        }
    }
    return KW_OK;
}

/* The gas of one session with this lag, in an array of its own: level and slope
 * of a straight line through the window, as kw_take_out_lag() has it. */
static enum kw_status make_gas(const struct kw_session *session,
                               double lag_s,
                               double window_s,
                               double **gas,
                               struct kw_error *error)
{
    const size_t n = session->n_samples;
    double *slope = kw_array_new(n, sizeof *slope, error);
    *gas = kw_array_new(n, sizeof **gas, error);
    if (slope == NULL || *gas == NULL) {
        free(slope);
        return KW_NO_MEMORY;
    }
    kw_slope(session, session->egt_c, window_s, slope);
    kw_smooth(session, session->egt_c, window_s, *gas);
    for (size_t i = 0; i < n; i++) {
        const bool known = !isnan(session->egt_c[i]) && !isnan(slope[i]);
        (*gas)[i] = known ? (*gas)[i] + lag_s * slope[i] : session->egt_c[i];
    }
    free(slope);
    return KW_OK;
}

/* All logs of one side. */
static enum kw_status make_side(const struct kw_compare_sessions *sessions,
                                double lag_s,
                                double window_s,
                                double **gas,
                                struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t log = 0; log < sessions->n && status == KW_OK; log++) {
        const struct kw_session *session = &sessions->reviews[log].session;
        if (session->egt_c != NULL && session->egt_raw_c != NULL)
            status = make_gas(session, lag_s, window_s, &gas[log], error);
    }
    return status;
}

/* One lag for both sides: an error in it then moves both alike, and hardly
 * their difference. */
enum kw_status kw_share_gas(
    const struct kw_compare_sessions *const sessions[KW_N_SIDES],
    struct kw_shared_gas *out,
    struct kw_error *error)
{
    struct lag_sum sums[KW_N_SIDES] = {{0}};
    enum kw_status status = KW_OK;
    *out = (struct kw_shared_gas){.lag_s = NAN};
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t log = 0; log < sessions[side]->n; log++)
            add_lag(&sums[side], &sessions[side]->reviews[log].session);
        out->side_lag_s[side] = mean_lag_s(&sums[side]);
        out->gas[side] =
            kw_array_new(sessions[side]->n, sizeof(double *), error);
        out->n[side] = out->gas[side] == NULL ? 0 : sessions[side]->n;
        status = out->gas[side] == NULL ? KW_NO_MEMORY : status;
    }
    /* Probes of two kinds keep a lag each: one for both would undo too much of
     * one side. */
    out->apart = are_apart(sums, PROBE_FACTOR);
    out->doubtful = !out->apart && are_apart(sums, DOUBTFUL_FACTOR);
    if (!out->apart) {
        const struct lag_sum all = {
            sums[KW_BEFORE].weight + sums[KW_AFTER].weight,
            sums[KW_BEFORE].weighted_s + sums[KW_AFTER].weighted_s};
        out->lag_s = mean_lag_s(&all);
    }
    double window_s = 0.0;
    if (status == KW_OK && out->lag_s > 0.0)
        status = widest_window_s(sessions, out->lag_s, &window_s, error);
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        if (out->lag_s > 0.0)
            status = make_side(sessions[side], out->lag_s, window_s,
                               out->gas[side], error);
    }
    if (status != KW_OK)
        kw_shared_gas_free(out);
    return status;
}

void kw_shared_gas_free(struct kw_shared_gas *shared)
{
    for (int side = 0; side < KW_N_SIDES; side++) {
        for (size_t log = 0; log < shared->n[side]; log++)
            free(shared->gas[side][log]);
        free(shared->gas[side]);
    }
    *shared = (struct kw_shared_gas){0};
}
