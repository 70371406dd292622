/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive as the session shows it. With the clutch locked RPM over speed is
 * one number: the ratio that most of the samples share.
 *
 * Idle, top, the logger's own pace of reading and its noise are learned here
 * too: the detectors ask in shares of them, so that none of them has to know
 * what a kart is. */
#include "analysis/gearing.h"

#include "analysis/idle.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/spike.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* The ratio is looked for where the clutch is locked on every kart: above these
 * shares of the highest RPM and of the highest speed. */
static const double LOCKED_RPM_SHARE = 0.35;
static const double LOCKED_SPEED_SHARE = 0.25;
/* Width of a bin of the ratio, and how many samples must share the best three:
 * fewer, and there is no fixed gearing (a car with a gearbox, a bad sensor). */
static const double BIN = 0.015;
static const double SHARED_BY = 0.3;
/* Of log(RPM / speed): the bins begin at a tenth of a turn each minute for each
 * unit of speed and end at some millions, whatever the unit. */
static const double LOWEST_LOG_RATIO = -2.3;
/* About the best bin, what belongs to it; and what is still a locked clutch
 * with wheelspin or a poor fix rather than a slipping one (shares; common
 * practice, no source). */
static const double NEAR = 0.05;
static const double CLOSE_TO_LOCKED = 0.12;

/* Speed that comes late: looked for over this span in these steps. */
static const double EARLIEST_S = -0.3;
static const double LATEST_S = 1.2;
static const double LATENCY_STEP_S = 0.1;
/* A latency is believed when it leaves less than this share of the scatter: a
 * little is always won by trying (common practice, no source). */
static const double WORTH_IT = 0.85;

/* A speed that is the same for so long while RPM changes by this share is one
 * that a lost receiver repeats (common practice, no source). */
static const double STUCK_S = 0.7;
static const double STUCK_SHARE = 0.06;

/* From this many times the profile's on an idle is plainly another: owners
 * write a round number down. Up to this share of where the clutch takes hold a
 * stay is an idle; above it may be a clutch that slips (common practice, no
 * source). */
static const double PLAINLY_HIGHER = 1.15;
static const double BELOW_CLUTCH = 0.97;

/* More samples than these teach nothing new, and fewer ratios nothing. */
enum { RATIO_BINS = 1200, MOST_SAMPLES = 6000, FEWEST_RATIOS = 20 };

/* RPM and the quantity that tells the axle's speed. */
struct pair {
    const struct kw_session *session;
    const double *speed;
    double least_rpm;
    double least_speed;
    size_t stride;
};

/* Room to work in: log_ratio[n], scratch[n]. */
struct room {
    double *log_ratio;
    double *scratch;
};

struct latencies {
    double from_s, to_s, step_s;
};

/* What explains the ratio best so far. */
struct best {
    double latency_s;
    double log_gearing;
    double scatter;
};

/* Well above the RPM at which the clutch takes hold, and fast enough for a
 * speedometer to mean something. */
static bool is_driven(const struct pair *pair, size_t i)
{
    return pair->session->rpm[i] > pair->least_rpm &&
           pair->speed[i] > pair->least_speed;
}

/* Mode of log(rpm / speed); NAN when too few samples share it. */
static double find_mode(const double *log_ratio, size_t n)
{
    size_t count[RATIO_BINS] = {0};
    size_t total = 0;
    for (size_t i = 0; i < n; i++) {
        const double bin = (log_ratio[i] - LOWEST_LOG_RATIO) / BIN;
        if (!(bin >= 1.0 && bin < RATIO_BINS - 1))
            continue;
        count[(size_t)bin]++;
        total++;
    }
    size_t best = 0;
    size_t most = 0;
    for (size_t k = 1; k + 1 < RATIO_BINS; k++) {
        const size_t shared = count[k - 1] + count[k] + count[k + 1];
        if (shared > most) {
            most = shared;
            best = k;
        }
    }
    if (total < FEWEST_RATIOS || (double)most < SHARED_BY * (double)total)
        return NAN;
    return ((double)best + 0.5) * BIN + LOWEST_LOG_RATIO;
}

/* Median of what lies near the mode. */
static double refine(const double *log_ratio,
                     size_t n,
                     double mode,
                     double near,
                     double *scratch)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (fabs(log_ratio[i] - mode) < near)
            scratch[kept++] = log_ratio[i];
    }
    return kw_median(scratch, kept, scratch);
}

/* The speed that is logged at a moment, on the line between two readings. The
 * search goes on from *at, which rises with the time asked for. */
static double speed_at(const struct pair *pair, double time_s, size_t *at)
{
    const double *t = pair->session->time_s;
    const size_t n = pair->session->n_samples;
    while (*at + 1 < n && t[*at + 1] <= time_s)
        (*at)++;
    if (*at + 1 >= n || t[*at] > time_s)
        return NAN;
    const double part = (time_s - t[*at]) / (t[*at + 1] - t[*at]);
    return pair->speed[*at] + part * (pair->speed[*at + 1] - pair->speed[*at]);
}

/* log(RPM / speed) with speed read that much later, where the kart drives.
 *
 * returns  how many there are. */
static size_t take_ratios(const struct pair *pair,
                          double latency_s,
                          double *log_ratio)
{
    size_t n = 0;
    size_t at = 0;
    for (size_t i = 0; i < pair->session->n_samples; i += pair->stride) {
        const double speed =
            speed_at(pair, pair->session->time_s[i] + latency_s, &at);
        if (is_driven(pair, i) && speed > pair->least_speed)
            log_ratio[n++] = log(pair->session->rpm[i] / speed);
    }
    return n;
}

/* The gearing that a latency shows.
 *
 * scatter  mean departure from it, each no more than CLOSE_TO_LOCKED.
 * returns  log of the gearing; NAN where there is none. */
static double gearing_with(const struct pair *pair,
                           double latency_s,
                           const struct room *room,
                           double *scatter)
{
    const size_t n = take_ratios(pair, latency_s, room->log_ratio);
    const double mode = find_mode(room->log_ratio, n);
    const double gearing =
        refine(room->log_ratio, n, mode, NEAR, room->scratch);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += fmin(fabs(room->log_ratio[i] - gearing), CLOSE_TO_LOCKED);
    *scatter = isfinite(gearing) ? sum / (double)n : INFINITY;
    return gearing;
}

/* Latencies from..to are tried; what explains more than `least` is kept.
 *
 * gearing  log of the gearing with the best latency so far. */
static void try_latencies(const struct pair *pair,
                          const struct room *room,
                          const struct latencies *tried,
                          struct best *best)
{
    for (double s = tried->from_s; s <= tried->to_s; s += tried->step_s) {
        double scatter;
        const double gearing = gearing_with(pair, s, room, &scatter);
        if (scatter < best->scatter)
            *best = (struct best){s, gearing, scatter};
    }
}

/* The gearing at the latency that explains most: first coarsely, then about the
 * best. */
static struct best find_gearing(const struct pair *pair,
                                const struct room *room)
{
    struct best best = {0};
    best.log_gearing = gearing_with(pair, 0.0, room, &best.scatter);
    best.scatter *= WORTH_IT;
    const struct latencies coarse = {EARLIEST_S, LATEST_S, LATENCY_STEP_S};
    try_latencies(pair, room, &coarse, &best);
    const struct latencies fine = {best.latency_s - LATENCY_STEP_S / 2.0,
                                   best.latency_s + LATENCY_STEP_S,
                                   LATENCY_STEP_S};
    try_latencies(pair, room, &fine, &best);
    return best;
}

/* The speed of a moment later stands for this one: receivers tell late. */
static void fill_axle(const struct pair *pair,
                      double gearing,
                      struct kw_drive *out)
{
    size_t at = 0;
    for (size_t i = 0; i < pair->session->n_samples; i++)
        out->axle_rpm[i] =
            gearing *
            speed_at(pair, pair->session->time_s[i] + out->latency_s, &at);
}

/* The end of the run of one value that begins at `from`. */
static size_t end_of_run(const double *values, size_t n, size_t from)
{
    size_t to = from + 1;
    while (to < n && fabs(values[to] - values[from]) < 1e-9)
        to++;
    return to;
}

/* A receiver that has lost the sky repeats its last speed: RPM tells. */
static void clear_stuck(const struct kw_session *session, double *axle_rpm)
{
    const size_t n = session->n_samples;
    for (size_t from = 0; from < n;) {
        const size_t to = end_of_run(axle_rpm, n, from);
        double lowest = INFINITY;
        double highest = -INFINITY;
        for (size_t i = from; i < to; i++) {
            lowest = fmin(lowest, session->rpm[i]);
            highest = fmax(highest, session->rpm[i]);
        }
        const bool stuck =
            session->time_s[to - 1] - session->time_s[from] > STUCK_S &&
            axle_rpm[from] > 0.0 && highest - lowest > STUCK_SHARE * highest;
        for (size_t i = from; stuck && i < to; i++)
            axle_rpm[i] = NAN;
        from = to;
    }
}

/* Scatter of the engine about the axle while they turn together. */
static double locked_scatter(const struct pair *pair,
                             const double *axle_rpm,
                             double *scratch)
{
    size_t n = 0;
    for (size_t i = 0; i < pair->session->n_samples; i += pair->stride) {
        const double off = pair->session->rpm[i] / axle_rpm[i] - 1.0;
        if (is_driven(pair, i) && fabs(off) < CLOSE_TO_LOCKED)
            scratch[n++] = off;
    }
    return kw_mad_sd(scratch, n, 0.001, scratch);
}

/* What the profile states; NAN where it does not state enough. */
static double stated_gearing(const struct kw_session *session,
                             const struct kw_profile *profile)
{
    return session->axle_rpm != NULL ? kw_profile_gearing(profile)
                                     : kw_profile_rpm_per_m_s(profile);
}

/* The ratio is learned from the log itself, and the profile asked only where
 * the log does not show it: teeth are changed more often than profiles. */
static enum kw_status learn_axle(const struct kw_session *session,
                                 const struct kw_profile *profile,
                                 double *scratch,
                                 struct kw_drive *out,
                                 struct kw_error *error)
{
    const size_t n = session->n_samples;
    struct pair pair = {.session = session, .stride = n / MOST_SAMPLES + 1};
    pair.speed =
        session->axle_rpm != NULL ? session->axle_rpm : session->speed_m_s;
    if (pair.speed == NULL)
        return KW_OK;
    pair.least_rpm = LOCKED_RPM_SHARE * out->top_rpm;
    pair.least_speed = LOCKED_SPEED_SHARE *
                       kw_quantile_of_sample(pair.speed, n, 0.99, scratch);
    double *log_ratio = kw_array_new_nan(n, error);
    if (log_ratio == NULL)
        return KW_NO_MEMORY;
    const struct room room = {log_ratio, scratch};
    const struct best best = find_gearing(&pair, &room);
    free(log_ratio);
    out->latency_s = best.latency_s;
    double gearing = exp(best.log_gearing);
    if (!(gearing > 0.0))
        gearing = stated_gearing(session, profile);
    if (!(gearing > 0.0) || isinf(gearing))
        return KW_OK;
    out->axle_rpm = kw_array_new_nan(n, error);
    if (out->axle_rpm == NULL)
        return KW_NO_MEMORY;
    fill_axle(&pair, gearing, out);
    clear_stuck(session, out->axle_rpm);
    out->scatter = locked_scatter(&pair, out->axle_rpm, scratch);
    if (session->axle_rpm == NULL)
        out->rpm_per_m_s = gearing;
    return KW_OK;
}

/* Noise of one fresh reading: repeats in between would hide it, and the steps
 * of a staircase would look like it. */
static double reading_noise_rpm(const struct kw_session *session,
                                size_t stride,
                                double *scratch,
                                double *fresh)
{
    size_t n = 0;
    for (size_t i = 0; i < session->n_samples; i += stride)
        fresh[n++] = session->rpm[i];
    const double step_rpm = kw_resolution(fresh, n, scratch);
    const double rounding_rpm = isnan(step_rpm) ? 1.0 : step_rpm / sqrt(12.0);
    return fmax(fmax(kw_noise_sd(fresh, n, scratch), rounding_rpm), 1.0);
}

/* An engine that leaks air idles above what the profile says of it, and starts
 * begin above the idle that it has. A stay far above the profile's, or where
 * the clutch takes hold, is no idle. */
static bool idles_higher(const struct kw_profile *profile, double seen_rpm)
{
    return seen_rpm > PLAINLY_HIGHER * profile->idle_rpm &&
           seen_rpm < KW_NO_IDLE_TIMES * profile->idle_rpm &&
           !(seen_rpm > BELOW_CLUTCH * profile->clutch_rpm);
}

/* What the owner states counts, unless the engine plainly idles higher: then
 * the owner's is the other one to try. */
static void learn_idle(const struct kw_profile *profile,
                       const struct kw_idle *seen,
                       struct kw_drive *out)
{
    const bool stated = profile->idle_rpm > 0.0;
    const bool higher = stated && idles_higher(profile, seen->rpm);
    out->idle_seen_rpm = seen->rpm;
    out->idle_rpm = stated && !higher ? profile->idle_rpm : seen->rpm;
    out->other_idle_rpm = !stated  ? seen->later_rpm
                          : higher ? profile->idle_rpm
                                   : NAN;
}

/* What is normal for this engine and this logger: top and idle, how often it
 * really reads anew, and how noisy a reading is. */
static void learn_rpm(const struct kw_scene *scene,
                      double *scratch,
                      double *fresh,
                      struct kw_drive *out)
{
    const struct kw_session *session = scene->session;
    const size_t n = session->n_samples;
    const struct kw_span whole = {0, n};
    const struct kw_spans all = {(struct kw_span *)&whole, 1, 1};
    out->top_rpm = kw_quantile_of_sample(session->rpm, n, 0.99, scratch);
    const double update = kw_update_samples(session->rpm, n, scratch);
    const double hold = fmax(isnan(update) ? 1.0 : update, 1.0);
    out->fresh_s = hold / session->rate_hz;
    out->noise_rpm =
        reading_noise_rpm(session, (size_t)(hold + 0.5), scratch, fresh);
    const struct kw_idle idle = kw_find_idle(
        session, scene->running != NULL ? &scene->running->spans : &all,
        out->top_rpm);
    learn_idle(scene->profile, &idle, out);
}

/* Without a speed there is no axle, and the engine alone is known; that is no
 * error. */
enum kw_status kw_find_drive(const struct kw_scene *scene,
                             struct kw_drive *out,
                             struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    *out = (struct kw_drive){.rpm_per_m_s = NAN, .scatter = NAN};
    enum kw_status status = KW_NO_MEMORY;
    double *scratch = kw_array_new(n, sizeof *scratch, error);
    double *fresh = kw_array_new(n, sizeof *fresh, error);
    if (scratch == NULL || fresh == NULL)
        goto done;
    learn_rpm(scene, scratch, fresh, out);
    status = KW_OK;
    if (out->top_rpm > 0.0)
        status =
            learn_axle(scene->session, scene->profile, scratch, out, error);
done:
    free(scratch);
    free(fresh);
    if (status != KW_OK)
        kw_drive_free(out);
    return status;
}

void kw_drive_free(struct kw_drive *drive)
{
    free(drive->axle_rpm);
    *drive = (struct kw_drive){0};
}

/* Learned once for all detectors in a review; a detector that is tested alone
 * learns it for itself. */
enum kw_status kw_borrow_drive(const struct kw_scene *scene,
                               struct kw_drive *own,
                               const struct kw_drive **drive,
                               struct kw_error *error)
{
    *own = (struct kw_drive){0};
    if (scene->drive == NULL && kw_find_drive(scene, own, error) != KW_OK)
        return KW_NO_MEMORY;
    *drive = scene->drive != NULL ? scene->drive : own;
    return KW_OK;
}
