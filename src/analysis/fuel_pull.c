/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls as the witnesses of hunger see them. */
#include "analysis/fuel_pull.h"

#include "core/array.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Windows: short beside a sag, long beside the noise of a reading. */
static const double RPM_S = 0.5;
static const double SLOPE_S = 1.0;
static const double GAS_S = 1.0;
/* Half of the widest: by so much a lift is seen before it comes. */
static const double LIFTS_S = 0.5;

/* A pull: above where the clutch may slip, and falling no faster than this;
 * shares of the top end, the second in a second. After a lift a two-stroke
 * falls at 0.1 to 0.3 of it (common practice, no source). */
static const double LOCKED_SHARE = 0.45;
static const double LIFTED_SHARE_S = 0.1;

/* No sag sinks faster in the mean (share of the top end in a second); common
 * practice, no source. */
static const double MOST_SHARE_S = 0.05;

/* What the gas did before has to be known for so long, and counts for so long
 * at most. */
static const double BEFORE_S = 1.2;
static const double TREND_S = 3.0;

enum kw_status kw_fuel_channels_new(const struct kw_scene *scene,
                                    const struct kw_rate_limits *limits,
                                    const double *best_rpm,
                                    struct kw_fuel_channels *out,
                                    struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    *out = (struct kw_fuel_channels){
        .scene = scene,
        .top_rpm = limits->top_rpm,
        .rpm = kw_array_new_nan(session->n_samples, error),
        .slope_rpm_s = kw_array_new_nan(session->n_samples, error),
        .best_rpm = best_rpm,
        .gas_c = kw_array_new_nan(session->n_samples, error),
    };
    if (out->rpm == NULL || out->slope_rpm_s == NULL || out->gas_c == NULL)
        return KW_NO_MEMORY;
    kw_smooth(session, session->rpm, RPM_S, out->rpm);
    kw_slope(session, session->rpm, SLOPE_S, out->slope_rpm_s);
    kw_smooth(session, session->gas_c, GAS_S, out->gas_c);
    return KW_OK;
}

void kw_fuel_channels_free(struct kw_fuel_channels *channels)
{
    free(channels->rpm);
    free(channels->slope_rpm_s);
    free(channels->gas_c);
    *channels = (struct kw_fuel_channels){0};
}

static bool is_pulling(const struct kw_fuel_channels *channels, size_t i)
{
    return channels->rpm[i] > LOCKED_SHARE * channels->top_rpm &&
           channels->slope_rpm_s[i] > -LIFTED_SHARE_S * channels->top_rpm;
}

bool kw_next_fuel_pull(const struct kw_fuel_channels *channels,
                       size_t *at,
                       struct kw_span *pull)
{
    const size_t n = channels->scene->session->n_samples;
    const double *time_s = channels->scene->session->time_s;
    size_t i = *at;
    while (i < n && !is_pulling(channels, i))
        i++;
    pull->from = i;
    while (i < n && is_pulling(channels, i))
        i++;
    *at = i;
    /* The slope looks half its window ahead, into the lift, and so does the
     * gas. */
    while (i > pull->from + 1 && time_s[*at - 1] - time_s[i - 1] < LIFTS_S)
        i--;
    pull->to = i;
    return i > pull->from;
}

struct kw_span kw_deepest_sink(const double *values, size_t from, size_t to)
{
    struct kw_span deep = {from, from};
    size_t highest = from;
    for (size_t i = from; i < to; i++) {
        if (values[i] > values[highest])
            highest = i;
        if (values[highest] - values[i] > values[deep.from] - values[deep.to])
            deep = (struct kw_span){highest, i};
    }
    return deep;
}

bool kw_is_fuel_sink(const struct kw_fuel_channels *channels,
                     const struct kw_span *sink,
                     double least_share)
{
    const double *time_s = channels->scene->session->time_s;
    const double top = channels->top_rpm;
    const double sunk_rpm = channels->rpm[sink->from] - channels->rpm[sink->to];
    return sunk_rpm >= least_share * top &&
           sunk_rpm <=
               MOST_SHARE_S * top * (time_s[sink->to] - time_s[sink->from]);
}

enum kw_status kw_search_fuel_pulls(const struct kw_fuel_channels *channels,
                                    kw_fuel_pull_witness *witness,
                                    size_t fewest,
                                    struct kw_fuel_sags *out,
                                    struct kw_error *error)
{
    const size_t first = out->n;
    size_t at = 0;
    struct kw_span pull;
    enum kw_status status = KW_OK;
    while (status == KW_OK && kw_next_fuel_pull(channels, &at, &pull)) {
        struct kw_fuel_sag sag;
        if (witness(channels, &pull, &sag))
            status = kw_fuel_sags_add(out, &sag, error);
    }
    if (out->n - first < fewest)
        out->n = first;
    return status;
}

/* How fast the gas climbed in the pull before a sample; NAN where that is not
 * known, and no less than zero. */
static double trend_c_s(const struct kw_fuel_channels *channels,
                        size_t from,
                        size_t at)
{
    const double *time_s = channels->scene->session->time_s;
    size_t first = at;
    while (first > from && time_s[at] - time_s[first - 1] <= TREND_S)
        first--;
    const double for_s = time_s[at] - time_s[first];
    if (for_s < BEFORE_S)
        return NAN;
    return fmax((channels->gas_c[at] - channels->gas_c[first]) / for_s, 0.0);
}

struct kw_fuel_climb kw_measure_fuel_climb(
    const struct kw_fuel_channels *channels,
    size_t from,
    size_t at,
    size_t to)
{
    const double *time_s = channels->scene->session->time_s;
    const double *gas_c = channels->gas_c;
    const double before_c_s = trend_c_s(channels, from, at);
    struct kw_fuel_climb climb = {0.0, NAN};
    for (size_t i = at; i <= to; i++) {
        const double beyond_c =
            gas_c[i] - gas_c[at] - before_c_s * (time_s[i] - time_s[at]);
        if (beyond_c > climb.most_c)
            climb = (struct kw_fuel_climb){
                beyond_c, gas_c[i] - channels->scene->expected_c[i]};
    }
    return climb;
}
