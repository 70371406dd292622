/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How cold the exhaust is beside what lifts do to it: see gas_depth.h. */
#include "analysis/gas_depth.h"

#include "analysis/load.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Long beside the noise of a reading, short beside a lift. Common practice, no
 * source. */
static const double GAS_S = 0.3;

/* Levels are learned from so much around, and anew so often: three laps and
 * more, for the pipe warms up in two minutes. The one under load is the middle
 * of so much at least. Common practice, no source. */
static const double AROUND_S = 150.0;
static const double EACH_S = 15.0;
static const double LEAST_LOADED_S = 15.0;

/* The one after lifts is seen in two ways, and the colder of them counts. Most
 * of the time without load is a lift: so much at least, and below this share of
 * it the gas is as cold as a lift makes it, however many cuts there are. And
 * each fall of RPM by such a share of the top end, until they rise by the
 * other, is a lift or a cut: of so many at least this share are colder than a
 * lift that rolls on with the throttle a little open. Common practice, no
 * source. */
static const double LEAST_UNLOADED_S = 8.0;
static const double UNLOADED_QUANTILE = 0.3;
static const double LIFTED = 0.08;
static const double RISES = 0.02;
static const double FALLS_QUANTILE = 0.65;
enum { FEWEST_FALLS = 4 };

/* Levels nearer to each other tell nothing. A lift lets the gas fall by 100 to
 * 250 C (common practice, no source). */
static const double LEAST_GAP_C = 40.0;

/* gas_c    [n_samples], smoothed.
 * lift_c   [n_samples], see find_lifts().
 * scratch  [n_samples], for quantiles. */
struct levels {
    const struct kw_scene *scene;
    const double *rpm;
    double top_rpm;
    double *gas_c;
    double *lift_c;
    double *scratch;
};

/* The lowest gas of each lift, at the sample where RPM is lowest; NAN at the
 * others. */
static void find_lifts(const struct levels *l)
{
    const double *rpm = l->rpm;
    struct kw_span fall = {0, 0};
    double lowest_c = INFINITY;
    for (size_t i = 0; i < l->scene->session->n_samples; i++) {
        l->lift_c[i] = NAN;
        if (isnan(rpm[i]))
            continue;
        lowest_c = fmin(lowest_c, l->gas_c[i]);
        if (rpm[i] < rpm[fall.to])
            fall.to = i;
        const bool rises = rpm[i] - rpm[fall.to] > RISES * l->top_rpm;
        if (rises && rpm[fall.from] - rpm[fall.to] >= LIFTED * l->top_rpm)
            l->lift_c[fall.to] = lowest_c;
        if (rises || !(rpm[i] <= rpm[fall.from])) {
            fall = (struct kw_span){i, i};
            lowest_c = INFINITY;
        }
    }
}

/* The share of the gas from .. to - 1, driven with or without load; NAN where
 * there was less of it. */
static double driven_level_c(const struct levels *l,
                             const struct kw_span *around,
                             bool loaded,
                             double least_s,
                             double share)
{
    size_t n = 0;
    for (size_t i = around->from; i < around->to; i++) {
        const double load = l->scene->load[i];
        if (l->rpm[i] > KW_DRIVEN_SHARE * l->top_rpm &&
            (loaded ? kw_under_load(load) : kw_off_load(load)))
            l->scratch[n++] = l->gas_c[i];
    }
    return (double)n < least_s * l->scene->session->rate_hz
               ? NAN
               : kw_quantile(l->scratch, n, share, l->scratch);
}

/* How far lifts let it fall from .. to - 1; NAN where there are too few. */
static double lift_level_c(const struct levels *l, const struct kw_span *around)
{
    const size_t n = kw_finite_copy(&l->lift_c[around->from],
                                    around->to - around->from, l->scratch);
    return n < FEWEST_FALLS
               ? NAN
               : kw_quantile(l->scratch, n, FALLS_QUANTILE, l->scratch);
}

/* fmin() takes the one that is known. */
static void measure(const struct levels *l, double *depth)
{
    const struct kw_session *session = l->scene->session;
    const size_t each = (size_t)fmax(1.0, EACH_S * session->rate_hz);
    const size_t half = (size_t)(AROUND_S / 2.0 * session->rate_hz);
    const size_t n = session->n_samples;
    for (size_t from = 0; from < n; from += each) {
        const size_t to = from + each < n ? from + each : n;
        const struct kw_span around = {from > half ? from - half : 0,
                                       to + half < n ? to + half : n};
        const double lifted_c =
            fmin(driven_level_c(l, &around, false, LEAST_UNLOADED_S,
                                UNLOADED_QUANTILE),
                 lift_level_c(l, &around));
        const double gap_c =
            driven_level_c(l, &around, true, LEAST_LOADED_S, 0.5) - lifted_c;
        for (size_t i = from; i < to; i++)
            depth[i] =
                gap_c >= LEAST_GAP_C ? (lifted_c - l->gas_c[i]) / gap_c : NAN;
    }
}

bool kw_has_gas_depth(const struct kw_scene *scene)
{
    return scene->session->gas_c != NULL && scene->load != NULL &&
           scene->laps != NULL && scene->laps->n > 0 &&
           !isnan(scene->session->probe_lag_s);
}

enum kw_status kw_find_gas_depth(const struct kw_scene *scene,
                                 const double *rpm,
                                 double top_rpm,
                                 double *depth,
                                 struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    double *room = kw_array_new(n, 3 * sizeof *room, error);
    if (room == NULL)
        return KW_NO_MEMORY;
    const struct levels levels = {scene, rpm,      top_rpm,
                                  room,  room + n, room + 2 * n};
    kw_smooth(scene->session, scene->session->gas_c, GAS_S, levels.gas_c);
    find_lifts(&levels);
    measure(&levels, depth);
    free(room);
    return KW_OK;
}
