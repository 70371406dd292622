/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM that sinks in a pull. A foot that eases off leaves the exhaust where it
 * was or cools it, a limiter lets nothing sink, and a bend that scrubs or a
 * hill makes the best laps sink as well. Fuel that no longer comes takes power,
 * so RPM sinks to what is left, and makes the mixture lean, so the gas climbs:
 * faster than it did just before, which the pipe that still warms up does not.
 */
#include "analysis/fuel_sink.h"

#include "analysis/fuel_pull.h"

#include <math.h>

/* A sink: so far (share of the top end), in so long at least, with gas that
 * climbs by so much more than it would have gone on to, and passes what is
 * expected there (what climbs by much may stay below it by so much). 20 C is
 * two percent of fuel (10 C each; common practice, no source). */
static const double SINKS_SHARE = 0.04;
static const double SINKS_S = 1.5;
static const double WARMS_C = 20.0;
static const double HOTTER_C = 5.0;
static const double WARMS_MUCH_C = 60.0;
static const double NOT_COOLER_C = 10.0;
/* Where most of the climb is gone again when RPM is lowest the sink has to be
 * this long; then the climb may have begun so long before it. */
static const double STAYS_WARM = 0.5;
static const double HUMP_S = 2.0;
static const double LEAD_S = 2.0;
/* A throttle that is held open (share of its travel) leaves no lift to be told
 * from: half of that climb is enough, and no laps are asked. */
static const double OPEN = 0.8;
static const double WARMS_OPEN_C = 10.0;
/* A bend makes the best laps sink as well: most of the sink is behind them. */
static const double BEHIND_BEST = 0.7;
/* RPM that has come back by this share of the sink is fed again. */
static const double CAME_BACK = 0.4;

/* Fewer are not believed: they speak for each other. How sure, by judgement. */
enum { FEWEST = 2 };
static const double SURE = 0.9;

/* So far, and above what is expected; what climbs by much need not be, for
 * where many laps starve they have taught what is expected. */
static bool is_lean(const struct kw_fuel_climb *climb, bool is_open)
{
    if (is_open)
        return climb->most_c >= WARMS_OPEN_C;
    return climb->most_c >= WARMS_C &&
           climb->over_c >=
               (climb->most_c >= WARMS_MUCH_C ? -NOT_COOLER_C : HOTTER_C);
}

/* Lean comes before weak, so it is looked for from a little before RPM is
 * highest. With too little fuel to burn at all the gas cools again; after a
 * lift it does so without having climbed. A climb that lasts needs less time.
 */
static bool warms(const struct kw_fuel_channels *channels,
                  size_t pull,
                  const struct kw_span *sink,
                  bool is_open)
{
    const double *time_s = channels->scene->session->time_s;
    const double peak_s = time_s[sink->from];
    struct kw_fuel_climb climb =
        kw_measure_fuel_climb(channels, pull, sink->from, sink->to);
    if (is_lean(&climb, is_open) &&
        channels->gas_c[sink->to] - channels->gas_c[sink->from] >=
            STAYS_WARM * climb.most_c)
        return true;
    if (time_s[sink->to] - peak_s < HUMP_S)
        return false;
    for (size_t at = sink->from + 1;
         at-- > pull && peak_s - time_s[at] <= LEAD_S;) {
        climb = kw_measure_fuel_climb(channels, pull, at, sink->to);
        if (is_lean(&climb, is_open))
            return true;
    }
    return false;
}

/* The throttle is held open all the while; false where the log has none. */
static bool is_held_open(const struct kw_fuel_channels *channels,
                         const struct kw_span *sink)
{
    const double *throttle = channels->scene->session->throttle;
    for (size_t i = sink->from; throttle != NULL && i <= sink->to; i++) {
        if (!(throttle[i] >= OPEN))
            return false;
    }
    return throttle != NULL;
}

/* The best laps do not sink there; false where no laps tell. */
static bool is_behind_best(const struct kw_fuel_channels *channels,
                           const struct kw_span *sink)
{
    const double sunk_rpm = channels->rpm[sink->from] - channels->rpm[sink->to];
    return channels->best_rpm[sink->to] - channels->rpm[sink->to] >=
           BEHIND_BEST * sunk_rpm;
}

/* The sink of a pull, to where RPM comes back or the pull ends.
 *
 * returns  false where it has none. */
static bool find_sink(const struct kw_fuel_channels *channels,
                      const struct kw_span *pull,
                      struct kw_fuel_sag *sag)
{
    const double *time_s = channels->scene->session->time_s;
    const struct kw_span sink =
        kw_deepest_sink(channels->rpm, pull->from, pull->to);
    const double sunk_rpm = channels->rpm[sink.from] - channels->rpm[sink.to];
    const double for_s = time_s[sink.to] - time_s[sink.from];
    const bool is_open = is_held_open(channels, &sink);
    if (for_s < SINKS_S || !kw_is_fuel_sink(channels, &sink, SINKS_SHARE) ||
        !(is_open || is_behind_best(channels, &sink)) ||
        !warms(channels, pull->from, &sink, is_open))
        return false;
    size_t to = sink.to;
    while (to < pull->to &&
           channels->rpm[to] - channels->rpm[sink.to] < CAME_BACK * sunk_rpm)
        to++;
    *sag = (struct kw_fuel_sag){
        .span = {sink.from, to}, .lost_rpm = sunk_rpm, .confidence = SURE};
    return true;
}

enum kw_status kw_find_fuel_sinks(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error)
{
    struct kw_fuel_channels channels;
    enum kw_status status =
        kw_fuel_channels_new(scene, limits, best_rpm, &channels, error);
    if (status == KW_OK)
        status = kw_search_fuel_pulls(&channels, find_sink, FEWEST, out, error);
    kw_fuel_channels_free(&channels);
    return status;
}
