/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chamber of the carburettor runs low in the middle of a pull: from that
 * moment on the mixture is lean, so the gas turns upward, and power is lacking,
 * so RPM turns over. Nothing else does both at once. A foot that lifts and a
 * bend that scrubs let the gas cool or go on as it was, a limiter and a
 * governor as well; a jet that is lean at the top end turns the gas upward, and
 * RPM goes on rising, a little flatter. */
#include "analysis/fuel_kink.h"

#include "analysis/fuel_pull.h"

#include <math.h>

/* RPM and gas are looked at for so long before the moment, and the gas for so
 * long after it, or for a part of that where the pull ends. */
static const double BEFORE_S = 1.5;
static const double AFTER_S = 1.0;
static const double LEAST_AFTER_S = 0.6;

/* Until then RPM is high enough for full throttle and rises (shares of the top
 * end, the second in a second), and neither it nor the gas (C) dips by more
 * than their noise: what dips and climbs again was a lift. */
static const double HIGH_SHARE = 0.6;
static const double ROSE_SHARE_S = 0.01;
static const double DIPS_SHARE = 0.005;
static const double DIPS_C = 3.0;

/* The gas climbs so much faster than before. */
static const double FASTER_C_S = 10.0;

/* Then, within so long as well as until the pull ends, RPM rises by less than
 * this part of what it did; by the other, where the best laps draw far away. */
static const double TURNS_S = 3.0;
static const double STILL_RISES = 0.3;
static const double STILL_RISES_BEHIND = 0.5;

/* What makes it hunger: the gas climbs by so much more than it would have, RPM
 * rose so fast until then, and sinks by so much in the end (shares of the top
 * end). Three percent of fuel are some 30 C (common practice, no source); a
 * small climb is believed where RPM sinks far, and a small sink where the gas
 * climbs far: no limiter lets RPM sink. */
struct proof {
    double climbs_c;
    double rose_share_s;
    double sinks_share;
};
static const struct proof PROOFS[] = {{30.0, 0.01, 0.01},
                                      {60.0, 0.015, 0.005},
                                      {14.0, 0.015, 0.02}};
enum { N_PROOFS = sizeof PROOFS / sizeof PROOFS[0] };

/* Or the gas climbs by so much, RPM rose so fast, and the best laps draw away
 * from it by this share; far away: by the last. */
static const double CLIMBS_C = 30.0;
static const double ROSE_FAST_SHARE_S = 0.015;
static const double FALLS_BEHIND_SHARE = 0.01;
static const double FALLS_FAR_BEHIND_SHARE = 0.03;

/* RPM that comes back by this share of the top end had only been let go. */
static const double COMES_BACK_SHARE = 0.01;

/* Fewer are not believed: a fault of the fuel comes back. How sure, by
 * judgement. */
enum { FEWEST = 3 };
static const double SURE = 0.9;

/* The moment of a pull at which the gas turns upward most.
 *
 * before, after  the first and the last sample that are looked at.
 * faster_c_s     how much faster the gas climbs. */
struct kink {
    size_t before;
    size_t at;
    size_t after;
    double faster_c_s;
};

static double slope(const struct kw_fuel_channels *channels,
                    const double *values,
                    size_t from,
                    size_t to)
{
    const double *time_s = channels->scene->session->time_s;
    return (values[to] - values[from]) / (time_s[to] - time_s[from]);
}

/* By how much values sink between two samples, both in it. */
static double sinks_by(const double *values, size_t from, size_t to)
{
    const struct kw_span sink = kw_deepest_sink(values, from, to + 1);
    return values[sink.from] - values[sink.to];
}

/* Full throttle until then: RPM high and rising, and neither it nor the gas has
 * dipped. */
static bool was_pulling(const struct kw_fuel_channels *channels,
                        const struct kink *kink)
{
    const double *rpm = channels->rpm;
    const double top = channels->top_rpm;
    return rpm[kink->at] >= HIGH_SHARE * top &&
           slope(channels, rpm, kink->before, kink->at) >= ROSE_SHARE_S * top &&
           sinks_by(rpm, kink->before, kink->at) <= DIPS_SHARE * top &&
           sinks_by(channels->gas_c, kink->before, kink->at) <= DIPS_C;
}

/* returns  false where a pull is too short, or the gas nowhere turns upward. */
static bool find_kink(const struct kw_fuel_channels *channels,
                      const struct kw_span *pull,
                      struct kink *out)
{
    const double *time_s = channels->scene->session->time_s;
    const double *gas_c = channels->gas_c;
    struct kink kink = {.before = pull->from, .after = pull->from};
    *out = (struct kink){.faster_c_s = FASTER_C_S};
    for (kink.at = pull->from; kink.at < pull->to; kink.at++) {
        while (time_s[kink.at] - time_s[kink.before] > BEFORE_S)
            kink.before++;
        while (kink.after + 1 < pull->to &&
               time_s[kink.after + 1] - time_s[kink.at] <= AFTER_S)
            kink.after++;
        if (time_s[kink.after] - time_s[kink.at] < LEAST_AFTER_S)
            break;
        if (time_s[kink.at] - time_s[pull->from] < BEFORE_S)
            continue;
        kink.faster_c_s =
            slope(channels, gas_c, kink.at, kink.after) -
            fmax(slope(channels, gas_c, kink.before, kink.at), 0.0);
        if (kink.faster_c_s >= out->faster_c_s && was_pulling(channels, &kink))
            *out = kink;
    }
    return out->at > 0;
}

/* What comes of a kink until its pull ends.
 *
 * climb_c        by how much the gas climbs.
 * rose_share_s   how fast RPM rose until then, a share of the top end a second;
 * rises_share_s  and how fast it rises from then on.
 * behind_share   by how much the best laps draw away, of the top end. */
struct outcome {
    double climb_c;
    double rose_share_s;
    double rises_share_s;
    double behind_share;
};

static bool is_hunger(const struct kw_fuel_channels *channels,
                      const struct outcome *outcome,
                      const struct kw_span *sink)
{
    for (size_t k = 0; k < N_PROOFS; k++) {
        const struct proof *proof = &PROOFS[k];
        if (outcome->climb_c >= proof->climbs_c &&
            outcome->rose_share_s >= proof->rose_share_s &&
            kw_is_fuel_sink(channels, sink, proof->sinks_share))
            return true;
    }
    return outcome->climb_c >= CLIMBS_C &&
           outcome->rose_share_s >= ROSE_FAST_SHARE_S &&
           outcome->behind_share >= FALLS_BEHIND_SHARE;
}

/* RPM turns over at the kink.
 *
 * climb_c  by how much the gas climbs.
 * sag      from the kink on; what it lost is filled in. */
static bool turns_over(const struct kw_fuel_channels *channels,
                       const struct kink *kink,
                       double climb_c,
                       struct kw_fuel_sag *sag)
{
    const double *time_s = channels->scene->session->time_s;
    const double *rpm = channels->rpm;
    const double top = channels->top_rpm;
    const size_t at = kink->at;
    const size_t end = sag->span.to - 1;
    const double behind_rpm =
        channels->best_rpm[end] - channels->best_rpm[at] - (rpm[end] - rpm[at]);
    const struct outcome outcome = {
        .climb_c = climb_c,
        .rose_share_s = slope(channels, rpm, kink->before, at) / top,
        .rises_share_s = slope(channels, rpm, at, end) / top,
        .behind_share = behind_rpm / top};
    const struct kw_span sink = kw_deepest_sink(rpm, at, end + 1);
    sag->lost_rpm = fmax(rpm[sink.from] - rpm[sink.to], behind_rpm);
    size_t soon = end;
    while (time_s[soon] - time_s[at] > TURNS_S)
        soon--;
    const double most_share_s =
        outcome.rose_share_s * (outcome.behind_share >= FALLS_FAR_BEHIND_SHARE
                                    ? STILL_RISES_BEHIND
                                    : STILL_RISES);
    return slope(channels, rpm, at, soon) < most_share_s * top &&
           outcome.rises_share_s < most_share_s &&
           is_hunger(channels, &outcome, &sink);
}

/* What looks like one pull may have a lift in it from which RPM fell slowly and
 * came back: then the load tells where the first part ends. */
static size_t end_of_sag(const struct kw_fuel_channels *channels,
                         size_t at,
                         size_t to)
{
    const double *rpm = channels->rpm;
    const struct kw_pulls *pulls = channels->scene->pulls;
    const struct kw_span sink = kw_deepest_sink(rpm, at, to);
    const bool comes_back =
        rpm[to - 1] - rpm[sink.to] > COMES_BACK_SHARE * channels->top_rpm;
    for (size_t k = 0; comes_back && k < pulls->n; k++) {
        const struct kw_span *span = &pulls->items[k].span;
        if (span->from <= at && at < span->to && span->to < to)
            return span->to;
    }
    return to;
}

/* returns  false where the pull shows none. */
static bool find_sag(const struct kw_fuel_channels *channels,
                     const struct kw_span *pull,
                     struct kw_fuel_sag *sag)
{
    struct kink kink;
    if (!find_kink(channels, pull, &kink))
        return false;
    const size_t to = end_of_sag(channels, kink.at, pull->to);
    *sag = (struct kw_fuel_sag){.span = {kink.at, to}, .confidence = SURE};
    const double climb_c =
        kw_measure_fuel_climb(channels, pull->from, kink.at, to - 1).most_c;
    return turns_over(channels, &kink, climb_c, sag);
}

enum kw_status kw_find_fuel_kinks(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error)
{
    struct kw_fuel_channels channels;
    enum kw_status status =
        kw_fuel_channels_new(scene, limits, best_rpm, &channels, error);
    if (status == KW_OK)
        status = kw_search_fuel_pulls(&channels, find_sag, FEWEST, out, error);
    kw_fuel_channels_free(&channels);
    return status;
}
