/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings that leap about. A pickup lead that chafes or a plug cap that sparks
 * over adds pulses and takes others away, so that one reading has nothing to do
 * with the next. None of them need be nothing, half or twice of what is right;
 * it is the leaping up and down by itself that no turning mass can do. */
#include "analysis/dropout_signal.h"

#include "core/text.h"
#include "signal/rpm.h"

#include <math.h>

/* One leap: this share of the top end from one reading to the next, and faster
 * than the kart. A wheel that hops or spins takes RPM along by a tenth. Common
 * practice, no source. */
static const double LEAP_SHARE = 0.15;

/* A wheel that locks, or a gear that is changed, makes one leap down and one
 * up; a signal that scatters goes on. */
enum { FEWEST_LEAPS = 3, FEWEST_TURNS = 2 };

/* It is over when so many readings, for so long, have not leapt, and are where
 * RPM may be by then; or have not for this long. */
enum { CALM_READINGS = 3 };
static const double CALM_S = 0.2;
static const double LONGEST_CALM_S = 1.0;

/* How sure, by judgement: more leaps than the fewest, and no more. */
static const double SURE = 0.95;
static const double FEW_LEAPS = 0.7;

/* A stretch of leaps.
 *
 * before, first  the last good reading, and the first that is off.
 * back           the last leap's end.
 * settled        where RPM is where it may be by then; back if nowhere.
 * turns          how often a leap went the other way than the one before.
 * low, high      lowest and highest reading between the good ones. */
struct stretch {
    size_t before;
    size_t first;
    size_t back;
    size_t settled;
    size_t leaps;
    size_t turns;
    double low_rpm;
    double high_rpm;
};

static bool leaps(const struct kw_rpm_search *search, size_t a, size_t b)
{
    const double *rpm = search->session->rpm;
    return fabs(rpm[b] - rpm[a]) > LEAP_SHARE * search->limits->top_rpm &&
           !kw_is_plausible(search, a, b);
}

/* At b, after so many readings without a leap. */
static bool is_over(const struct kw_rpm_search *search,
                    const struct stretch *stretch,
                    size_t calm,
                    size_t b)
{
    const double calm_s = kw_rpm_seconds(search, stretch->back, b);
    return (calm >= CALM_READINGS && calm_s > CALM_S &&
            kw_is_plausible(search, stretch->before, b)) ||
           calm_s > LONGEST_CALM_S;
}

/* From a first leap, a to b, to where they end. */
static struct stretch follow(const struct kw_rpm_search *search,
                             size_t a,
                             size_t b)
{
    const size_t n = search->session->n_samples;
    const double *rpm = search->session->rpm;
    struct stretch found = {.before = a,
                            .first = b,
                            .back = b,
                            .settled = b,
                            .low_rpm = rpm[b],
                            .high_rpm = rpm[b]};
    double low_rpm = rpm[b];
    double high_rpm = rpm[b];
    bool up = rpm[b] > rpm[a];
    size_t calm = 0;
    for (; b < n; a = b, b = kw_rpm_next(search, b)) {
        if (leaps(search, a, b)) {
            found.turns += found.leaps > 0 && up != (rpm[b] > rpm[a]) ? 1 : 0;
            up = rpm[b] > rpm[a];
            found.leaps++;
            found.back = b;
            found.settled = b;
            found.low_rpm = low_rpm;
            found.high_rpm = high_rpm;
            calm = 0;
        } else if (is_over(search, &found, ++calm, b)) {
            if (kw_rpm_seconds(search, found.back, b) <= LONGEST_CALM_S)
                found.settled = b;
            break;
        }
        low_rpm = fmin(low_rpm, rpm[b]);
        high_rpm = fmax(high_rpm, rpm[b]);
    }
    return found;
}

/* Up and down, with the clutch locked, and in the end where the kart can be. */
static bool is_scatter(const struct kw_rpm_search *search,
                       const struct stretch *stretch)
{
    const double *rpm = search->session->rpm;
    const struct kw_rate_limits *limits = search->limits;
    return stretch->leaps >= FEWEST_LEAPS && stretch->turns >= FEWEST_TURNS &&
           rpm[stretch->before] > limits->locked_rpm &&
           kw_rpm_seconds(search, stretch->first, stretch->back) >
               KW_GLITCH_S &&
           kw_is_plausible(search, stretch->before, stretch->settled);
}

/* Farthest from where RPM was before and after. */
static double depth_of(const struct kw_rpm_search *search,
                       const struct stretch *stretch)
{
    const double *rpm = search->session->rpm;
    const double right_rpm = (rpm[stretch->before] + rpm[stretch->back]) / 2.0;
    return fmax(right_rpm - stretch->low_rpm, stretch->high_rpm - right_rpm);
}

static enum kw_status tell(const struct kw_scene *scene,
                           const struct kw_rpm_search *search,
                           const struct stretch *stretch,
                           struct kw_events *found,
                           struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    struct kw_text text = {0};
    kw_text_add(&text, "RPM leapt about between ");
    kw_text_add_whole(&text, stretch->low_rpm);
    kw_text_add(&text, " and ");
    kw_text_add_whole(&text, stretch->high_rpm);
    kw_text_add(&text, " for ");
    kw_text_add_number(
        &text, kw_rpm_seconds(search, stretch->first, stretch->back), 2);
    kw_text_add(&text, " s, up and down faster than an engine can.");
    struct kw_event event = {
        .start_s = time_s[stretch->first],
        .end_s = time_s[stretch->back],
        .lap = kw_lap_at(scene->laps, time_s[stretch->first]),
        .confidence = stretch->leaps > FEWEST_LEAPS ? SURE : FEW_LEAPS,
        .detail.dropout.depth_rpm = depth_of(search, stretch),
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

/* From reading to reading; behind a stretch it goes on. */
enum kw_status kw_find_scattered_signal(const struct kw_scene *scene,
                                        const struct kw_rpm_search *search,
                                        struct kw_events *found,
                                        struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < n && status == KW_OK;) {
        const size_t next = kw_rpm_next(search, i);
        if (next == n || isnan(scene->session->rpm[i]) ||
            !leaps(search, i, next)) {
            i = next == n ? i + 1 : next;
            continue;
        }
        const struct stretch stretch = follow(search, i, next);
        if (is_scatter(search, &stretch))
            status = tell(scene, search, &stretch, found, error);
        i = stretch.back;
    }
    return status;
}
