/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finds the starts through the clutch: from each rise out of idle the holds
 * that follow are judged (see clutch_judge.h), and those of one session have to
 * be alike. */
#include "analysis/clutch_start.h"

#include "analysis/clutch_hold.h"
#include "analysis/clutch_judge.h"
#include "analysis/lap_axis.h"
#include "core/array.h"
#include "signal/hold.h"
#include "signal/slope.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* No number here has a source where none is named. */

/* Below this many times idle the clutch is open on every kart (it takes hold at
 * 1.4 to 2.5 times idle: common practice, no source); idle where it is not
 * known, as a share of the highest RPM. */
static const double OPEN_TIMES_IDLE = 1.22;
static const double IDLE_SHARE_OF_TOP = 0.13;
/* Where no start shows, it may be a rental kart, which takes hold close above a
 * fast and steady idle; a foot that plays with the throttle there holds for
 * less than this. Common practice, no source. */
static const double OPEN_AT_LEAST = 1.08;
static const double SHORTEST_NEAR_IDLE_S = 1.0;
/* Above blips, and still below where most clutches hold. */
static const double HIGHER_TIMES_IDLE[] = {1.5, 1.8};
enum { N_HIGHER = sizeof HIGHER_TIMES_IDLE / sizeof HIGHER_TIMES_IDLE[0] };
/* A shorter one is a blip or a gap in the readings. */
static const double SHORTEST_S = 0.25;
/* Holds of one session are alike within the second of these shares; within the
 * first where nothing but that speaks for them. */
static const double ALIKE = 0.05;
static const double LIKE = 0.12;
/* Of the highest RPM in a second: two thirds of g at 95 km/h. A kart that
 * climbs faster has more grip and power than most (common practice, no source).
 */
static const double USUAL_CLIMB = 0.25;
/* Of another start's speed at the moment it locked, or more, within the noise
 * of a receiver: less is no start that locked. Common practice, no source. */
static const double CAUGHT_UP = 0.85;
/* One poor reading at the lift must not count: the highest of so long does. */
static const double LIFT_S = 1.0;
/* A kart that is about to go has stood for so long, and blips took the engine
 * no higher than this many times the hold; by RPM alone the clutch is believed
 * to hold it no lower than this share of the blip. Common practice, no
 * source. */
static const double STOOD_S = 4.0;
static const double ABOVE_BLIPS = 1.1;
static const double NOT_BELOW = 0.95;
/* A flare is over so soon after the rise, of an engine that idled for so long.
 * Common practice, no source. */
static const double FLARES_S = 2.0;
static const double IDLED_S = 2.0;
/* After a rise so many holds are looked at: a driver blips once or twice. */
enum { MOST_HOLDS = 3 };
/* The axle is smoothed over this time where its speed is clean, and over that
 * where it is not: a start of a second must not be smoothed away. */
static const double CLEAN_SMOOTH_S = 0.1;
static const double ROUGH_SMOOTH_S = 0.4;
/* Of the profile's figure for the clutch: what lies between is above any idle
 * and below any hold. */
static const double BELOW_STATED = 0.85;
static const double JUST_BELOW_STATED = 0.95;
/* Of the RPM at which the clutch was seen to take hold. */
static const double BELOW_SEEN = 0.92;

/* In the seconds before the rise no reading was above its hold: the kart stood,
 * and was not slowing for a corner. */
static bool stood_before(const struct kw_clutch_trace *s,
                         const struct kw_rise *rise)
{
    for (size_t i = rise->up; i-- > 0;) {
        if (kw_after_s(s, i, rise->up) > STOOD_S)
            return true;
        if (s->rpm[i] > ABOVE_BLIPS * rise->hold_rpm)
            return false;
    }
    return true;
}

/* An engine at full throttle flares before the clutch has gripped, and is drawn
 * down to the hold, from which it climbs with the kart, higher than before: a
 * foot that plays on the stand seldom does, and who lifted in a slow corner did
 * not idle for long. */
static bool ends_flare(const struct kw_clutch_trace *s,
                       const struct kw_rise *rise,
                       double flare_rpm)
{
    return rise->climbs && s->rpm[rise->stop - 1] > flare_rpm &&
           kw_after_s(s, rise->up, rise->flat) < FLARES_S &&
           kw_low_before_s(s, rise->up) >= IDLED_S;
}

/* The first hold may be a blip of the throttle on the way: one that is left
 * upward gives way to the next, and so does one of a kart that stands, where
 * the engine did not come down to its idle in between. */
static bool look_at_rise(const struct kw_clutch_trace *s,
                         size_t up,
                         struct kw_start *start,
                         size_t *go_on)
{
    struct kw_rise rise;
    size_t from = up;
    double blip_rpm = 0.0;
    bool stood = true;
    for (int tries = 0; tries < MOST_HOLDS; tries++) {
        if (!kw_find_hold(s, up, from, &rise))
            return false;
        /* Lower than before it is a foot that eases off, or the end of a flare.
         * A clutch that slips holds lower with less throttle, as in a pit lane:
         * there the speed decides, where there is one. */
        const bool lower =
            s->axle_rpm == NULL && rise.hold_rpm < NOT_BELOW * blip_rpm;
        if ((lower || !stood) && !ends_flare(s, &rise, blip_rpm))
            return false;
        *go_on = rise.flat + 1;
        const enum kw_judgement judgement = kw_judge_hold(s, &rise, start);
        if (judgement != KW_LOOK_ON)
            return judgement == KW_STARTS;
        stood = rise.climbs || stood_before(s, &rise);
        blip_rpm = rise.climbs ? 0.0 : rise.hold_rpm;
        from = rise.leave;
    }
    return false;
}

/* From each rise out of idle on; where a hold was looked at, the search goes on
 * behind it, so that no start is found twice. */
static enum kw_status search_all(const struct kw_clutch_trace *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    out->n = 0;
    size_t go_on = 1;
    for (size_t i = 1; i < s->session->n_samples; i = go_on) {
        go_on = i + 1;
        struct kw_start start;
        if (!(s->rpm[i] >= s->low_rpm) || s->rpm[i - 1] >= s->low_rpm ||
            !kw_stays_up(s, i) || !kw_idled_before(s, i) ||
            !look_at_rise(s, i, &start, &go_on))
            continue;
        if (kw_array_reserve(&out->items, &out->capacity, out->n + 1,
                             sizeof *out->items, error) != KW_OK)
            return KW_NO_MEMORY;
        out->items[out->n++] = start;
    }
    return KW_OK;
}

/* Seen in the speed, or with a climb behind it: others need company, see
 * keep_alike(). */
static bool is_sure(const struct kw_start *start)
{
    return start->by_speed || !isnan(start->climb_rpm_s);
}

static bool has_sure(const struct kw_starts *starts)
{
    for (size_t i = 0; i < starts->n; i++) {
        if (is_sure(&starts->items[i]))
            return true;
    }
    return false;
}

/* The highest speed from a moment on, for so long. */
static double speed_from(const struct kw_clutch_trace *s,
                         double from_s,
                         double for_s)
{
    const struct kw_session *session = s->session;
    size_t i = kw_sample_at(session->time_s, session->n_samples, from_s);
    double highest_m_s = session->speed_m_s[i];
    for (; i < session->n_samples && session->time_s[i] <= from_s + for_s; i++)
        highest_m_s = fmax(highest_m_s, session->speed_m_s[i]);
    return highest_m_s;
}

/* How much a start says about where the clutch holds: one that is not sure
 * little, and one that climbs faster than most karts can less than the others.
 * A foot on the stand lets an engine do that, and holds it for longer than any
 * clutch. */
enum trust { TRUST_ANY, TRUST_SURE, TRUST_FULL };

static enum trust trust_in(const struct kw_clutch_trace *s,
                           const struct kw_start *start)
{
    if (!is_sure(start))
        return TRUST_ANY;
    return start->climb_rpm_s > USUAL_CLIMB * s->drive->top_rpm ? TRUST_SURE
                                                                : TRUST_FULL;
}

/* The hold of the longest start, of those that are trusted most: the longer it
 * was, the less the driver's foot had to do with it. NAN where none is trusted
 * so much. */
static double usual_hold_rpm(const struct kw_clutch_trace *s,
                             const struct kw_starts *starts,
                             enum trust least)
{
    double longest_s = 0.0;
    double hold_rpm = NAN;
    enum trust most = least;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start *start = &starts->items[i];
        const double for_s = start->locked_s - start->start_s;
        const enum trust trust = trust_in(s, start);
        if (trust > most || (trust == most && for_s > longest_s)) {
            longest_s = for_s;
            hold_rpm = start->hold_rpm;
            most = trust;
        }
    }
    return hold_rpm;
}

/* What was slower than this when the driver lifted had not caught up with the
 * engine: of the slowest start that a climb followed, else of the fastest. For
 * a log with a speed of a kart that never went fast enough to tell its gearing;
 * NAN where none tells. */
static double caught_up_m_s(const struct kw_clutch_trace *s,
                            const struct kw_starts *starts)
{
    double slowest_m_s = NAN;
    double fastest_m_s = NAN;
    for (size_t i = 0; i < starts->n && s->session->speed_m_s != NULL; i++) {
        const struct kw_start *start = &starts->items[i];
        if (is_sure(start))
            slowest_m_s =
                fmin(slowest_m_s, speed_from(s, start->locked_s, 0.0));
        else
            fastest_m_s =
                fmax(fastest_m_s, speed_from(s, start->locked_s, LIFT_S));
    }
    return CAUGHT_UP * (isnan(slowest_m_s) ? fastest_m_s : slowest_m_s);
}

/* Starts hold alike. Those without a knee or a speed must hold like the others,
 * or like each other when all are so; a lone one must fit the profile. */
static void keep_alike(const struct kw_clutch_trace *s,
                       struct kw_starts *starts)
{
    double usual_rpm = usual_hold_rpm(s, starts, TRUST_SURE);
    if (isnan(usual_rpm) && starts->n > 1)
        usual_rpm = usual_hold_rpm(s, starts, TRUST_ANY);
    if (isnan(usual_rpm))
        usual_rpm = s->profile->clutch_rpm / KW_TAKES_HOLD_SHARE;
    const double least_m_s = caught_up_m_s(s, starts);
    size_t kept = 0;
    for (size_t i = 0; i < starts->n; i++) {
        const struct kw_start start = starts->items[i];
        const double off = fabs(start.hold_rpm - usual_rpm) / usual_rpm;
        const bool slow = !is_sure(&start) && !isnan(least_m_s) &&
                          speed_from(s, start.locked_s, LIFT_S) < least_m_s;
        if (start.by_speed || (off < (is_sure(&start) ? LIKE : ALIKE) && !slow))
            starts->items[kept++] = start;
    }
    starts->n = kept;
}

/* The axle smoothed as far as its scatter asks for. */
static enum kw_status take_axle(struct kw_clutch_trace *s,
                                struct kw_error *error)
{
    if (s->drive->axle_rpm == NULL)
        return KW_OK;
    s->axle_rpm = kw_array_new_nan(s->session->n_samples, error);
    if (s->axle_rpm == NULL)
        return KW_NO_MEMORY;
    kw_smooth(s->session, s->drive->axle_rpm,
              kw_has_clean_speed(s) ? CLEAN_SMOOTH_S : ROUGH_SMOOTH_S,
              s->axle_rpm);
    return KW_OK;
}

/* Where the search for rises begins: above idle and below the hold. The
 * profile's figure for the clutch bounds it from both sides. */
static double low_rpm_of(const struct kw_clutch_trace *s,
                         double times_idle,
                         double idle_rpm)
{
    const double known_rpm =
        isnan(idle_rpm) ? IDLE_SHARE_OF_TOP * s->drive->top_rpm : idle_rpm;
    const double low_rpm = times_idle * known_rpm;
    return s->profile->clutch_rpm > 0.0
               ? fmax(BELOW_STATED * s->profile->clutch_rpm,
                      fmin(low_rpm, JUST_BELOW_STATED * s->profile->clutch_rpm))
               : low_rpm;
}

/* A second look where the first has told how high the clutch holds: after a
 * spin the engine may not have come down to its idle. */
static enum kw_status look_again(struct kw_clutch_trace *s,
                                 struct kw_starts *out,
                                 struct kw_error *error)
{
    const double low_rpm =
        BELOW_SEEN * kw_takes_hold_rpm(s, usual_hold_rpm(s, out, TRUST_SURE));
    if (!(low_rpm > s->low_rpm))
        return KW_OK;
    s->low_rpm = low_rpm;
    return search_all(s, out, error);
}

/* From where a search goes up; as in the trace. */
struct level {
    double low_rpm;
    double open_rpm;
    double shortest_s;
};

/* At most so many are tried. */
enum { MOST_LEVELS = 3 + N_HIGHER };

/* Above the idle; above the other one that it may be (gearing.h); closer above
 * the idle; and above the blips of a driver who does not let it come down to
 * its idle before he goes. What is not found at once has to last longer to be a
 * start.
 *
 * returns  how many. */
static size_t list_levels(const struct kw_clutch_trace *s, struct level *levels)
{
    const double idle_rpm = s->drive->idle_rpm;
    const double other_rpm = s->drive->other_idle_rpm;
    const double open_rpm = low_rpm_of(s, OPEN_TIMES_IDLE, idle_rpm);
    const double near_rpm = low_rpm_of(s, OPEN_AT_LEAST, idle_rpm);
    size_t n = 0;
    levels[n++] = (struct level){open_rpm, open_rpm, SHORTEST_S};
    if (isnan(idle_rpm))
        return n;
    if (!isnan(other_rpm)) {
        const double other_open_rpm = low_rpm_of(s, OPEN_TIMES_IDLE, other_rpm);
        levels[n++] = (struct level){other_open_rpm, other_open_rpm,
                                     SHORTEST_NEAR_IDLE_S};
    }
    levels[n++] = (struct level){near_rpm, near_rpm, SHORTEST_NEAR_IDLE_S};
    /* The speed tells a start from a foot that plays with the throttle. */
    for (size_t k = 0; k < N_HIGHER && s->axle_rpm != NULL; k++)
        levels[n++] =
            (struct level){low_rpm_of(s, HIGHER_TIMES_IDLE[k], idle_rpm),
                           near_rpm, SHORTEST_NEAR_IDLE_S};
    return n;
}

static void set_level(struct kw_clutch_trace *s, const struct level *level)
{
    s->low_rpm = level->low_rpm;
    s->open_rpm = level->open_rpm;
    s->shortest_s = level->shortest_s;
}

/* Level by level, until a start is sure. Where none is, the first level that
 * shows any stands, and the trace is left at it. */
static enum kw_status search_levels(struct kw_clutch_trace *s,
                                    struct kw_starts *out,
                                    struct kw_error *error)
{
    struct level levels[MOST_LEVELS];
    const size_t n = list_levels(s, levels);
    size_t best = 0;
    struct kw_starts found = {0};
    enum kw_status status = KW_OK;
    for (size_t k = 0; k < n && status == KW_OK && !has_sure(out); k++) {
        set_level(s, &levels[k]);
        status = search_all(s, &found, error);
        if (status == KW_OK &&
            (has_sure(&found) || (out->n == 0 && found.n > 0))) {
            const struct kw_starts less = *out;
            *out = found;
            found = less;
            best = k;
        }
    }
    set_level(s, &levels[best]);
    kw_starts_free(&found);
    return status;
}

/* Again where something was found, for its hold says where to look for the
 * others. */
enum kw_status kw_find_starts(const struct kw_scene *scene,
                              const struct kw_drive *drive,
                              struct kw_starts *out,
                              struct kw_error *error)
{
    *out = (struct kw_starts){0};
    struct kw_clutch_trace s = {
        .session = scene->session, .profile = scene->profile, .drive = drive};
    s.rpm = kw_array_new(scene->session->n_samples, sizeof *s.rpm, error);
    if (s.rpm == NULL)
        return KW_NO_MEMORY;
    memcpy(s.rpm, scene->session->rpm,
           scene->session->n_samples * sizeof *s.rpm);
    enum kw_status status = kw_join_updates(scene->session, s.rpm, error);
    if (status == KW_OK)
        status = take_axle(&s, error);
    if (status == KW_OK)
        status = search_levels(&s, out, error);
    if (status == KW_OK)
        status = look_again(&s, out, error);
    if (status == KW_OK)
        keep_alike(&s, out);
    free(s.rpm);
    free(s.axle_rpm);
    if (status != KW_OK)
        kw_starts_free(out);
    return status;
}

void kw_starts_free(struct kw_starts *starts)
{
    free(starts->items);
    *starts = (struct kw_starts){0};
}
