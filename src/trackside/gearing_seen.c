/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gearing that a log shows: the ratio while locked, lap by lap, and the RPM
 * at the end of the longest straight.
 *
 * Engine turns against axle turns while the clutch is locked, by the median of
 * each lap and Student's t over laps: a tyre's growth and a worn tread are in
 * it, which no count of teeth knows. */
#include "kartwright/trackside.h"

#include "analysis/gearing.h"
#include "core/array.h"
#include "core/robust.h"
#include "core/student.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

static const double SECONDS_A_MINUTE = 60.0;

/* Engine against axle within this share is a locked clutch: slip and wheelspin
 * are more, the scatter of a speed sensor less. Common practice, no source. */
static const double LOCKED_WITHIN = 0.08;

/* From this share of the top end on the clutch is locked for certain, and the
 * speed large against its error: 0.5 m/s of GPS noise is 2 % at 25 m/s. Common
 * practice, no source. */
static const double FAST_SHARE = 0.5;

/* Parts of a log without laps, each counting as one. */
enum { N_PARTS = 10 };

void kw_gearing_seen_free(struct kw_gearing_seen *seen)
{
    free(seen->laps);
    *seen = (struct kw_gearing_seen){0};
}

/* RPM goes with the teeth while the speed at the end of the straight stays:
 * true for a tooth or two, and a first guess beyond. */
double kw_axle_teeth_for(double axle_teeth, double peak_rpm, double target_rpm)
{
    return axle_teeth * target_rpm / peak_rpm;
}

/* ---- laps ---------------------------------------------------------------- */

/* Each reading holds until the next, whatever the rate of the logger. */
static double seconds_above(const struct kw_session *session,
                            const struct kw_lap *lap,
                            double above_rpm)
{
    double seconds = 0.0;
    for (size_t i = 0; i + 1 < session->n_samples; i++) {
        const double time_s = session->time_s[i];
        if (time_s >= lap->start_s && time_s < lap->end_s &&
            session->rpm[i] > above_rpm)
            seconds += session->time_s[i + 1] - time_s;
    }
    return seconds;
}

/* The middle of the peaks and not the highest: a tow, or one lap of wheelspin
 * over a kerb, must not choose a sprocket. */
static enum kw_status look_at_laps(const struct kw_review *review,
                                   double above_rpm,
                                   struct kw_gearing_seen *out,
                                   struct kw_error *error)
{
    const struct kw_laps *laps = &review->laps;
    out->laps = kw_array_new(laps->n, sizeof *out->laps, error);
    double *peaks = kw_array_new(laps->n, sizeof *peaks, error);
    if (out->laps == NULL || peaks == NULL) {
        free(peaks);
        return KW_NO_MEMORY;
    }
    for (size_t i = 0; i < laps->n; i++) {
        const struct kw_lap *lap = &laps->items[i];
        if (lap->kind != KW_LAP_FLYING || lap->spoilt)
            continue;
        peaks[out->n_laps] = lap->rpm_max;
        out->laps[out->n_laps++] = (struct kw_lap_gearing){
            .number = lap->number,
            .time_s = lap->end_s - lap->start_s,
            .peak_rpm = lap->rpm_max,
            .above_s = isnan(above_rpm)
                           ? NAN
                           : seconds_above(&review->session, lap, above_rpm),
        };
    }
    out->peak_rpm = kw_median(peaks, out->n_laps, peaks);
    free(peaks);
    return KW_OK;
}

/* ---- ratio --------------------------------------------------------------- */

/* Median of engine over axle within a stretch of time, as a share of the
 * gearing that the whole session shows; NAN with little to see. */
static double share_between(const struct kw_session *session,
                            const struct kw_drive *drive,
                            double from_s,
                            double to_s,
                            double *scratch)
{
    /* A second at 10 Hz; fewer may be one bump (common practice, no source). */
    enum { FEWEST_READINGS = 10 };
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples; i++) {
        const double share = session->rpm[i] / drive->axle_rpm[i];
        if (session->time_s[i] >= from_s && session->time_s[i] < to_s &&
            session->rpm[i] > FAST_SHARE * drive->top_rpm &&
            fabs(share - 1.0) < LOCKED_WITHIN)
            scratch[n++] = share;
    }
    return n < FEWEST_READINGS ? NAN : kw_median(scratch, n, scratch);
}

/* One share for each lap; where there are none, one for each tenth of the
 * log. */
static size_t collect_shares(const struct kw_review *review,
                             const struct kw_drive *drive,
                             double *shares,
                             double *scratch)
{
    const struct kw_session *session = &review->session;
    const double end_s = session->time_s[session->n_samples - 1];
    size_t n = 0;
    for (size_t i = 0; i < review->laps.n; i++) {
        const struct kw_lap *lap = &review->laps.items[i];
        shares[n] =
            share_between(session, drive, lap->start_s, lap->end_s, scratch);
        n += isnan(shares[n]) ? 0U : 1U;
    }
    for (size_t i = 0; review->laps.n == 0 && i < N_PARTS; i++) {
        shares[n] = share_between(session, drive, end_s * (double)i / N_PARTS,
                                  end_s * (double)(i + 1) / N_PARTS, scratch);
        n += isnan(shares[n]) ? 0U : 1U;
    }
    return n;
}

/* The interval is Student's over the laps: readings within a lap hang together
 * and would promise too much. */
static void summarise(const double *shares,
                      size_t n,
                      double whole,
                      struct kw_gearing_seen *out)
{
    const double mean = gsl_stats_mean(shares, 1, n);
    out->ratio = whole * mean;
    if (n < 2)
        return;
    const double reach = kw_student_reach((double)(n - 1)) *
                         gsl_stats_sd(shares, 1, n) / sqrt((double)n);
    out->ratio_low = whole * (mean - reach);
    out->ratio_high = whole * (mean + reach);
}

/* Without a profile on purpose: what the owner states is to be checked against
 * what the log shows, not mixed into it. */
static enum kw_status look_at_ratio(const struct kw_review *review,
                                    double tyre_m,
                                    struct kw_gearing_seen *out,
                                    struct kw_error *error)
{
    struct kw_profile states_nothing;
    kw_profile_init(&states_nothing);
    const struct kw_scene scene = {.session = &review->session,
                                   .profile = &states_nothing,
                                   .running = &review->running,
                                   .laps = &review->laps};
    struct kw_drive drive = {0};
    enum kw_status status = kw_find_drive(&scene, &drive, error);
    if (status != KW_OK || drive.axle_rpm == NULL) {
        kw_drive_free(&drive);
        return status;
    }
    double *scratch =
        kw_array_new(review->session.n_samples, sizeof *scratch, error);
    double *shares =
        kw_array_new(review->laps.n + N_PARTS, sizeof *shares, error);
    if (scratch == NULL || shares == NULL)
        status = KW_NO_MEMORY;
    if (status == KW_OK) {
        const size_t n = collect_shares(review, &drive, shares, scratch);
        if (n > 0)
            summarise(shares, n, drive.rpm_per_m_s * tyre_m / SECONDS_A_MINUTE,
                      out);
    }
    free(scratch);
    free(shares);
    kw_drive_free(&drive);
    return status;
}

/* Peaks need laps, the ratio needs a speed: each may be missing without the
 * other. */
enum kw_status kw_gearing_look(const struct kw_review *review,
                               double tyre_circumference_m,
                               double above_rpm,
                               struct kw_gearing_seen *out,
                               struct kw_error *error)
{
    *out = (struct kw_gearing_seen){
        .ratio = NAN, .ratio_low = NAN, .ratio_high = NAN, .peak_rpm = NAN};
    enum kw_status status = look_at_laps(review, above_rpm, out, error);
    if (status == KW_OK)
        status = look_at_ratio(review, tyre_circumference_m, out, error);
    if (status != KW_OK)
        kw_gearing_seen_free(out);
    return status;
}
