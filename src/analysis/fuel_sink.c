/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RPM that sinks in a pull. A foot that eases off leaves the exhaust where it
 * was or cools it, a limiter lets nothing sink, and a bend that scrubs or a
 * hill makes the best laps sink as well. Fuel that no longer comes takes power,
 * so RPM sinks to what is left, and makes the mixture lean, so the gas climbs:
 * faster than it did just before, which the pipe that still warms up does not.
 */
#include "analysis/fuel_sink.h"

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

/* A pull, whatever its load was taken for: above where the clutch may slip, and
 * falling no faster than this; shares of the top end, the second in a second.
 * After a lift a two-stroke falls at 0.1 to 0.3 of it (common practice, no
 * source). */
static const double LOCKED_SHARE = 0.45;
static const double LIFTED_SHARE_S = 0.1;
/* So long before it sinks: what the gas did before has to be known, over at
 * most the second of these. */
static const double BEFORE_S = 1.2;
static const double TREND_S = 3.0;

/* A sink: so far (share of the top end), in so long at least, no faster in the
 * mean (share in a second), with gas that climbs by so much more than it would
 * have gone on to, and passes what is expected there (what climbs by much may
 * stay below it by so much). 20 C is two percent of fuel (10 C each; common
 * practice, no source). */
static const double SINKS_SHARE = 0.04;
static const double SINKS_S = 1.5;
static const double MOST_SHARE_S = 0.05;
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

/* All [n_samples]; a channel's slope each second, and RPM of the best laps at
 * the same place. */
struct search {
    const struct kw_scene *scene;
    double top_rpm;
    double *rpm;
    double *slope_rpm_s;
    const double *best_rpm;
    double *gas_c;
};

static bool is_pulling(const struct search *search, size_t i)
{
    return search->rpm[i] > LOCKED_SHARE * search->top_rpm &&
           search->slope_rpm_s[i] > -LIFTED_SHARE_S * search->top_rpm;
}

/* The first pull from a sample on, without the lift that ends it.
 *
 * at       moved behind it.
 * returns  false when there is none. */
static bool next_pull(const struct search *search,
                      size_t *at,
                      struct kw_span *pull)
{
    const size_t n = search->scene->session->n_samples;
    const double *time_s = search->scene->session->time_s;
    size_t i = *at;
    while (i < n && !is_pulling(search, i))
        i++;
    pull->from = i;
    while (i < n && is_pulling(search, i))
        i++;
    *at = i;
    /* The slope looks half its window ahead, into the lift, and so does the
     * gas. */
    while (i > pull->from + 1 && time_s[*at - 1] - time_s[i - 1] < LIFTS_S)
        i--;
    pull->to = i;
    return i > pull->from;
}

/* From the sample below which RPM sinks furthest, to the one where it is
 * lowest, which is in it. */
static struct kw_span deepest(const struct search *search,
                              const struct kw_span *pull)
{
    const double *rpm = search->rpm;
    struct kw_span deep = {pull->from, pull->from};
    size_t highest = pull->from;
    for (size_t i = pull->from; i < pull->to; i++) {
        if (rpm[i] > rpm[highest])
            highest = i;
        if (rpm[highest] - rpm[i] > rpm[deep.from] - rpm[deep.to])
            deep = (struct kw_span){highest, i};
    }
    return deep;
}

/* How fast the gas climbed in the pull before a sample; NAN where that is not
 * known, and no less than zero. */
static double trend_c_s(const struct search *search, size_t pull, size_t at)
{
    const double *time_s = search->scene->session->time_s;
    size_t first = at;
    while (first > pull && time_s[at] - time_s[first - 1] <= TREND_S)
        first--;
    const double for_s = time_s[at] - time_s[first];
    if (for_s < BEFORE_S)
        return NAN;
    return fmax((search->gas_c[at] - search->gas_c[first]) / for_s, 0.0);
}

/* The most that the gas climbs beyond its trend from a sample on, and how far
 * it then is above what is expected of a full pull. What is not known is NAN.
 */
struct climb {
    double most_c;
    double over_c;
};

static struct climb measure_climb(const struct search *search,
                                  size_t pull,
                                  size_t at,
                                  size_t to)
{
    const double *time_s = search->scene->session->time_s;
    const double before_c_s = trend_c_s(search, pull, at);
    struct climb climb = {0.0, NAN};
    for (size_t i = at; i <= to; i++) {
        const double beyond_c = search->gas_c[i] - search->gas_c[at] -
                                before_c_s * (time_s[i] - time_s[at]);
        if (beyond_c > climb.most_c)
            climb = (struct climb){beyond_c, search->gas_c[i] -
                                                 search->scene->expected_c[i]};
    }
    return climb;
}

/* So far, and above what is expected; what climbs by much need not be, for
 * where many laps starve they have taught what is expected. */
static bool is_lean(const struct climb *climb, bool is_open)
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
static bool warms(const struct search *search,
                  size_t pull,
                  const struct kw_span *sink,
                  bool is_open)
{
    const double *time_s = search->scene->session->time_s;
    const double peak_s = time_s[sink->from];
    struct climb climb = measure_climb(search, pull, sink->from, sink->to);
    if (is_lean(&climb, is_open) &&
        search->gas_c[sink->to] - search->gas_c[sink->from] >=
            STAYS_WARM * climb.most_c)
        return true;
    if (time_s[sink->to] - peak_s < HUMP_S)
        return false;
    for (size_t at = sink->from + 1;
         at-- > pull && peak_s - time_s[at] <= LEAD_S;) {
        climb = measure_climb(search, pull, at, sink->to);
        if (is_lean(&climb, is_open))
            return true;
    }
    return false;
}

/* The throttle is held open all the while; false where the log has none. */
static bool is_held_open(const struct search *search,
                         const struct kw_span *sink)
{
    const double *throttle = search->scene->session->throttle;
    for (size_t i = sink->from; throttle != NULL && i <= sink->to; i++) {
        if (!(throttle[i] >= OPEN))
            return false;
    }
    return throttle != NULL;
}

/* The best laps do not sink there; false where no laps tell. */
static bool is_behind_best(const struct search *search,
                           const struct kw_span *sink)
{
    const double sunk_rpm = search->rpm[sink->from] - search->rpm[sink->to];
    return search->best_rpm[sink->to] - search->rpm[sink->to] >=
           BEHIND_BEST * sunk_rpm;
}

/* The sink of a pull, to where RPM comes back or the pull ends.
 *
 * returns  false where it has none. */
static bool find_sink(const struct search *search,
                      const struct kw_span *pull,
                      struct kw_fuel_sag *sag)
{
    const double *time_s = search->scene->session->time_s;
    const struct kw_span sink = deepest(search, pull);
    const double sunk_rpm = search->rpm[sink.from] - search->rpm[sink.to];
    const double for_s = time_s[sink.to] - time_s[sink.from];
    const bool is_open = is_held_open(search, &sink);
    if (sunk_rpm < SINKS_SHARE * search->top_rpm || for_s < SINKS_S ||
        sunk_rpm > MOST_SHARE_S * search->top_rpm * for_s ||
        !(is_open || is_behind_best(search, &sink)) ||
        !warms(search, pull->from, &sink, is_open))
        return false;
    size_t to = sink.to;
    while (to < pull->to &&
           search->rpm[to] - search->rpm[sink.to] < CAME_BACK * sunk_rpm)
        to++;
    *sag = (struct kw_fuel_sag){
        .span = {sink.from, to}, .lost_rpm = sunk_rpm, .confidence = SURE};
    return true;
}

static enum kw_status search_pulls(const struct search *search,
                                   struct kw_fuel_sags *out,
                                   struct kw_error *error)
{
    const size_t first = out->n;
    size_t at = 0;
    struct kw_span pull;
    enum kw_status status = KW_OK;
    while (status == KW_OK && next_pull(search, &at, &pull)) {
        struct kw_fuel_sag sag;
        if (find_sink(search, &pull, &sag))
            status = kw_fuel_sags_add(out, &sag, error);
    }
    if (out->n - first < FEWEST)
        out->n = first;
    return status;
}

enum kw_status kw_find_fuel_sinks(const struct kw_scene *scene,
                                  const struct kw_rate_limits *limits,
                                  const double *best_rpm,
                                  struct kw_fuel_sags *out,
                                  struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    struct search search = {
        .scene = scene, .top_rpm = limits->top_rpm, .best_rpm = best_rpm};
    search.rpm = kw_array_new_nan(session->n_samples, error);
    search.slope_rpm_s = kw_array_new_nan(session->n_samples, error);
    search.gas_c = kw_array_new_nan(session->n_samples, error);
    enum kw_status status = KW_NO_MEMORY;
    if (search.rpm != NULL && search.slope_rpm_s != NULL &&
        search.gas_c != NULL) {
        kw_smooth(session, session->rpm, RPM_S, search.rpm);
        kw_slope(session, session->rpm, SLOPE_S, search.slope_rpm_s);
        kw_smooth(session, session->gas_c, GAS_S, search.gas_c);
        status = search_pulls(&search, out, error);
    }
    free(search.rpm);
    free(search.slope_rpm_s);
    free(search.gas_c);
    return status;
}
