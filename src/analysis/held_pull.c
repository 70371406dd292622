/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The moment in a pull at which the gain falls most, and what RPM and exhaust
 * do from there on. Cost: O(samples).
 *
 * A fed engine gains RPM less and less as the kart gathers speed: a curve
 * without a corner. A starved one has one, from which on RPM hardly rises while
 * the fuel in the bowl is used up. */
#include "analysis/held_pull.h"

#include "core/array.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>

/* Gain is compared between this long before and this long after: short beside a
 * pull, long beside the noise of a reading. */
static const double SIDE_S = 0.8;

/* The end of a rise: a gain worth the name before it (share of the top end in a
 * second), and at most this share of it after; no fall as under braking.
 * Common practice, no source. */
static const double LEAST_GAIN_SHARE_S = 0.025;
static const double MOST_LEFT_SHARE = 0.35;
static const double BRAKED_SHARE_S = 0.1;

/* No kart gains the whole of its range in less than some three seconds: what is
 * faster turns free, on a stand or through its clutch. */
static const double FREE_SHARE_S = 0.3;
/* Below this share of the top end the clutch may slip, and RPM stands while the
 * kart gains. Common practice, no source. */
static const double LOCKED_SHARE = 0.45;

/* A later fall may be the steeper one (RPM held first, then sagging): the first
 * that is nearly as steep counts, at its steepest moment in so long. */
static const double NEARLY = 0.8;
static const double SEARCH_S = 0.4;

/* Means at the ends are taken over so long, and the gas of the hold from so
 * long after its beginning: hotter gas needs that to be seen. */
static const double EDGE_S = 0.3;
static const double SETTLED_S = 0.4;

/* The hottest of many noisy readings is noise: gas is smoothed over so long
 * first. */
static const double SMOOTH_S = 0.6;

/* before_rpm_s, after_rpm_s  gains over SIDE_S before and after each sample.
 * smooth_c                   gas, smoothed. */
struct search {
    const struct kw_scene *scene;
    double top_rpm;
    double *before_rpm_s;
    double *after_rpm_s;
    double *smooth_c;
};

/* A slope over a window is that of its centre: seen from half a window later it
 * is what was before, from half a window earlier what comes after. */
static enum kw_status find_gains(struct search *search, struct kw_error *error)
{
    static const double TOLERANCE_S = 1e-6; /* even steps are not quite even */
    const struct kw_session *session = search->scene->session;
    const double *time_s = session->time_s;
    const size_t n = session->n_samples;
    double *slope_rpm_s = kw_array_new_nan(n, error);
    if (slope_rpm_s == NULL)
        return KW_NO_MEMORY;
    /* A reading just at the edge of a window is out of it, and not as the
     * rounding of its time has it. */
    kw_slope(session, session->rpm, SIDE_S - 2.0 * TOLERANCE_S, slope_rpm_s);
    const double half_s = 0.5 * SIDE_S - TOLERANCE_S;
    size_t before = 0;
    size_t after = 0;
    for (size_t i = 0; i < n; i++) {
        while (before + 1 < i && time_s[before + 1] <= time_s[i] - half_s)
            before++;
        while (after < n && time_s[after] < time_s[i] + half_s)
            after++;
        search->before_rpm_s[i] = slope_rpm_s[before];
        search->after_rpm_s[i] = after < n ? slope_rpm_s[after] : NAN;
    }
    free(slope_rpm_s);
    return KW_OK;
}

/* How much the gain falls at a sample, where that may be the end of a rise;
 * else 0. NAN makes every comparison false. */
static double fall_at(const struct search *search, size_t i)
{
    const double before = search->before_rpm_s[i];
    const double after = search->after_rpm_s[i];
    const double top = search->top_rpm;
    return search->scene->session->rpm[i] > LOCKED_SHARE * top &&
                   before > LEAST_GAIN_SHARE_S * top &&
                   after < MOST_LEFT_SHARE * before &&
                   after > -BRAKED_SHARE_S * top
               ? before - after
               : 0.0;
}

/* The sample at which the rise ends; pull->to where it does not. Both sides
 * have to lie within the pull. */
static size_t find_end_of_rise(const struct search *search,
                               const struct kw_span *pull)
{
    const double *time_s = search->scene->session->time_s;
    const double from_s = time_s[pull->from] + SIDE_S;
    const double to_s = time_s[pull->to - 1] - SIDE_S;
    double most = 0.0;
    for (size_t i = pull->from; i < pull->to; i++) {
        if (time_s[i] >= from_s && time_s[i] <= to_s)
            most = fmax(most, fall_at(search, i));
    }
    size_t at = pull->to;
    for (size_t i = pull->from; most > 0.0 && i < pull->to; i++) {
        if (time_s[i] < from_s || time_s[i] > to_s)
            continue;
        if (at < pull->to && time_s[i] > time_s[at] + SEARCH_S)
            break;
        const double fall = fall_at(search, i);
        if (at == pull->to ? fall >= NEARLY * most : fall > fall_at(search, at))
            at = i;
    }
    return at;
}

/* Whether the engine jumped as no loaded one can just before a sample. */
static bool turned_free(const struct search *search, size_t i)
{
    const double *time_s = search->scene->session->time_s;
    for (size_t k = i + 1; k-- > 0 && time_s[k] >= time_s[i] - SIDE_S;) {
        if (search->before_rpm_s[k] > FREE_SHARE_S * search->top_rpm)
            return true;
    }
    return false;
}

/* Mean of the gas from one moment to another, less what is expected where that
 * is asked for; NAN where nothing was read. */
static double mean_gas_c(const struct kw_scene *scene,
                         const struct kw_span *within,
                         double from_s,
                         double to_s,
                         const double *expected_c)
{
    const struct kw_session *session = scene->session;
    double sum_c = 0.0;
    double n = 0.0;
    for (size_t i = within->from; i < within->to; i++) {
        if (session->time_s[i] < from_s || session->time_s[i] > to_s)
            continue;
        const double gas_c =
            session->gas_c[i] - (expected_c != NULL ? expected_c[i] : 0.0);
        if (isnan(gas_c))
            continue;
        sum_c += gas_c;
        n += 1.0;
    }
    return n > 0.0 ? sum_c / n : NAN;
}

/* The exhaust of a hold, against its beginning and against what is expected. */
static void measure_gas(const struct search *search,
                        const struct kw_span *pull,
                        struct kw_held_pull *held)
{
    const struct kw_scene *scene = search->scene;
    const struct kw_session *session = scene->session;
    const double from_s = session->time_s[held->span.from];
    const double to_s = session->time_s[held->span.to - 1];
    const double settled_s = from_s + SETTLED_S;
    const double began_c =
        mean_gas_c(scene, pull, from_s - EDGE_S, from_s, NULL);
    held->hottest_c = NAN;
    for (size_t i = held->span.from; i < held->span.to; i++) {
        if (session->time_s[i] >= settled_s)
            held->hottest_c = fmax(held->hottest_c, search->smooth_c[i]);
    }
    held->warming_c = held->hottest_c - began_c;
    held->warmer_at_end_c =
        mean_gas_c(scene, pull, to_s - EDGE_S, to_s, NULL) - began_c;
    held->excess_before_c = mean_gas_c(scene, pull, from_s - 2.0 * SIDE_S,
                                       from_s - SETTLED_S, scene->expected_c);
    held->excess_c =
        mean_gas_c(scene, pull, settled_s, to_s, scene->expected_c);
}

/* Gain up to the highest of the last readings, since a pull may reach into the
 * lift that ends it. */
static double last_gain_rpm_s(const struct search *search,
                              const struct kw_span *span)
{
    const double *time_s = search->scene->session->time_s;
    const double *rpm = search->scene->session->rpm;
    const double to_s = time_s[span->to - 1];
    size_t last = span->to - 1;
    for (size_t i = span->to; i-- > span->from && to_s - time_s[i] <= SIDE_S;)
        last = isnan(rpm[last]) || rpm[i] > rpm[last] ? i : last;
    size_t first = last;
    while (first > span->from &&
           (time_s[last] - time_s[first] < SIDE_S || isnan(rpm[first])))
        first--;
    return first < last
               ? (rpm[last] - rpm[first]) / (time_s[last] - time_s[first])
               : NAN;
}

/* What happened from the knee on: whether RPM rose at all, and whether it came
 * back. */
static struct kw_held_pull measure(const struct search *search,
                                   const struct kw_span *pull,
                                   size_t at)
{
    const double *rpm = search->scene->session->rpm;
    const double *time_s = search->scene->session->time_s;
    const double to_s = time_s[pull->to - 1];
    struct kw_held_pull held = {.span = {at, pull->to}, .rpm = rpm[at]};
    held.before_rpm_s = search->before_rpm_s[at];
    held.after_rpm_s = search->after_rpm_s[at];
    held.last_rpm_s = last_gain_rpm_s(search, &held.span);
    held.again_rpm_s = NAN;
    double highest = rpm[at];
    double lowest = rpm[at];
    double last = rpm[at];
    for (size_t i = at; i < pull->to; i++) {
        highest = fmax(highest, rpm[i]);
        lowest = fmin(lowest, rpm[i]);
        last = isnan(rpm[i]) ? last : rpm[i];
        if (to_s - time_s[i] >= SIDE_S)
            held.again_rpm_s = fmax(held.again_rpm_s, search->after_rpm_s[i]);
    }
    held.most_gained_rpm = highest - rpm[at];
    held.regained_rpm = last - lowest;
    held.sunk_rpm = rpm[at] - last;
    measure_gas(search, pull, &held);
    return held;
}

/* Pull by pull: a pull starves once, or it hunts. */
static enum kw_status search_pulls(const struct search *search,
                                   struct kw_held_pulls *out,
                                   struct kw_error *error)
{
    const struct kw_pulls *pulls = search->scene->pulls;
    for (size_t k = 0; k < pulls->n; k++) {
        const struct kw_span *pull = &pulls->items[k].span;
        const size_t at = find_end_of_rise(search, pull);
        if (at == pull->to || turned_free(search, at))
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] = measure(search, pull, at);
    }
    return KW_OK;
}

enum kw_status kw_find_held_pulls(const struct kw_scene *scene,
                                  double top_rpm,
                                  struct kw_held_pulls *out,
                                  struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    struct search search = {.scene = scene, .top_rpm = top_rpm};
    *out = (struct kw_held_pulls){0};
    search.before_rpm_s = kw_array_new_nan(n, error);
    search.after_rpm_s = kw_array_new_nan(n, error);
    search.smooth_c = kw_array_new_nan(n, error);
    enum kw_status status = KW_NO_MEMORY;
    if (search.before_rpm_s != NULL && search.after_rpm_s != NULL &&
        search.smooth_c != NULL)
        status = find_gains(&search, error);
    if (status == KW_OK) {
        kw_smooth(scene->session, scene->session->gas_c, SMOOTH_S,
                  search.smooth_c);
        status = search_pulls(&search, out, error);
    }
    if (status != KW_OK) {
        free(out->items);
        *out = (struct kw_held_pulls){0};
    }
    free(search.before_rpm_s);
    free(search.after_rpm_s);
    free(search.smooth_c);
    return status;
}
