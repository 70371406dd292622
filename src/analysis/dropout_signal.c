/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps that come in pairs. A driver who lifts, brakes or spins can make RPM
 * fall fast, but not jump back to where it was; so a jump away counts only with
 * the jump back, landing where the kart could have been by then, and with
 * readings between them that no engine gives: nothing, half or twice of what is
 * right. */
#include "analysis/dropout_signal.h"

#include "analysis/absence.h"
#include "analysis/absence_drawn.h"
#include "analysis/dead_signal.h"
#include "core/text.h"
#include "signal/rpm.h"

#include <math.h>

/* Longest absence that any reading tells; beyond it nothing says where the kart
 * should be. A reading of nothing at all may be followed longer: no engine
 * comes back from there by itself. Common practice, no source. */
static const double LONGEST_AWAY_S = 4.0;
static const double LONGEST_NOTHING_S = 6.0;
/* Exactly half or twice at both edges is looked for longer, and nothing so long
 * while the exhaust tells that the engine runs. Common practice, no source. */
static const double LONGEST_EXACT_S = 8.0;
static const double LONGEST_HOT_NOTHING_S = 20.0;

/* What was off in some looks of the logger may have lasted a step less: this
 * share of one is taken off. */
static const double ROUNDED = 0.4;

/* Confidence for a pair of jumps well beyond what is possible, and for one
 * reading alone, which might have been shorter than a drop-out. */
static const double SURE = 0.95;
static const double ONE_READING = 0.7;

/* One reading alone has to be this much longer than a glitch. */
static const double ONE_READING_MARGIN = 1.2;
/* Shorter than so many usual steps from one fresh reading to the next it is
 * one: a logger that repeats its readings does not do so evenly (common
 * practice, no source). */
static const double ONE_READING_STEPS = 1.75;

/* By the last reading before the jump back, or the one before: a logger that
 * averages may have one in which it has begun. */
static double longest_away_s(const struct kw_rpm_search *search,
                             const struct kw_absence *absence,
                             size_t i)
{
    const double *rpm = search->session->rpm;
    return kw_is_nothing(search, rpm[i]) ||
                   (i > absence->gone && kw_is_nothing(search, rpm[i - 1]))
               ? LONGEST_HOT_NOTHING_S
               : LONGEST_EXACT_S;
}

/* Short enough for it to tell; nothing for longer may be an engine that died
 * and was started again. */
static bool is_short(const struct kw_rpm_search *search,
                     const struct kw_absence *absence)
{
    const double away_s =
        kw_rpm_seconds(search, absence->before, absence->leaves);
    if (absence->up || !kw_was_nothing(search, absence))
        return away_s <= LONGEST_AWAY_S;
    return away_s <= LONGEST_NOTHING_S ||
           kw_heats_meanwhile(search, absence->first, absence->leaves);
}

/* Landing where the kart could be by then, at the latest when the jump has come
 * to rest, and what was read between is no engine's. */
static bool is_lost(const struct kw_rpm_search *search,
                    const struct kw_absence *absence)
{
    if (is_short(search, absence) &&
        kw_is_plausible(search, absence->before, absence->back) &&
        kw_is_telling(search, absence))
        return true;
    const size_t rest =
        kw_rest_behind(search, absence->back, !absence->up, 1.0);
    return kw_is_plausible(search, absence->before, rest) &&
           kw_is_drawn_loss(search, absence);
}

/* Looks for the jump back: opposite, and landing where the kart could be. */
static bool comes_back(const struct kw_rpm_search *search,
                       struct kw_absence *absence)
{
    const size_t n = search->session->n_samples;
    for (size_t i = absence->gone; i < n; i = kw_rpm_next(search, i)) {
        if (kw_rpm_seconds(search, absence->before, i) >
            longest_away_s(search, absence, i))
            return false;
        if (kw_jump_from(search, i, !absence->up) == n)
            continue;
        absence->leaves = kw_begin_of_jump(search, i, !absence->up);
        absence->back = kw_end_of_jump(search, i, !absence->up);
        if (is_lost(search, absence))
            return true;
    }
    return false;
}

/* A jump away that is seen from `good`, whole. */
static bool goes_away(const struct kw_rpm_search *search,
                      size_t good,
                      struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const size_t n = search->session->n_samples;
    if (kw_stays_near(search, good))
        return false;
    absence->up = false;
    if (kw_jump_from(search, good, false) == n) {
        absence->up = true;
        if (kw_jump_from(search, good, true) == n)
            return false;
    }
    if (!kw_is_turning(search, rpm[good]))
        return false;
    absence->before = kw_begin_of_jump(search, good, absence->up);
    absence->first = kw_rpm_next(search, absence->before);
    absence->gone = kw_end_of_jump(search, good, absence->up);
    return absence->first < n;
}

/* ---- telling it ---------------------------------------------------------- */

/* How far from where it should have been, at most: on the line between the
 * readings before and after. */
static double depth_of(const struct kw_rpm_search *search,
                       const struct kw_absence *absence,
                       double *extreme)
{
    const double *rpm = search->session->rpm;
    const double from = rpm[absence->before];
    const double to = rpm[absence->back];
    const double whole = kw_rpm_seconds(search, absence->before, absence->back);
    double depth = 0.0;
    *extreme = rpm[absence->first];
    for (size_t i = absence->first; i < absence->back; i++) {
        if (isnan(rpm[i]))
            continue;
        const double share = kw_rpm_seconds(search, absence->before, i) / whole;
        const double off = fabs(from + share * (to - from) - rpm[i]);
        if (off > depth) {
            depth = off;
            *extreme = rpm[i];
        }
    }
    return depth;
}

/* A smoothed jump back is over when it begins: the rest is the logger's. */
static size_t end_of_absence(const struct kw_rpm_search *search,
                             const struct kw_absence *absence)
{
    return kw_is_quick(search, absence->leaves, absence->back)
               ? absence->back
               : kw_rpm_next(search, absence->leaves);
}

static void say_what_happened(struct kw_text *text,
                              const struct kw_rpm_search *search,
                              const struct kw_absence *absence,
                              double extreme)
{
    const double *rpm = search->session->rpm;
    const double away = kw_rpm_seconds(search, absence->first, absence->back);
    kw_text_add(text, "RPM jumped from ");
    kw_text_add_whole(text, rpm[absence->before]);
    kw_text_add(text, " to ");
    kw_text_add_whole(text, extreme);
    kw_text_add(text, " and back to ");
    kw_text_add_whole(text, rpm[absence->back]);
    kw_text_add(text, " within ");
    kw_text_add_number(text, away, 2);
    kw_text_add(text, " s; braking changes it by at most ");
    kw_text_add_whole(text, search->limits->fall_rpm_s);
    kw_text_add(text, " RPM a second.");
}

enum kw_status kw_add_loose_connection(struct kw_event *event,
                                       struct kw_text *text,
                                       struct kw_events *found,
                                       struct kw_error *error)
{
    event->kind = KW_DROPOUT;
    event->severity = KW_BEFORE_NEXT_RACE;
    event->detail.dropout.cause = KW_CAUSE_LOOSE_CONNECTION;
    return kw_events_tell(found, event, text, error);
}

/* A glitch is the sensor's and no drop-out (contract); one reading alone may
 * have been as short as that between two looks of the logger. */
static enum kw_status tell_absence(const struct kw_scene *scene,
                                   const struct kw_rpm_search *search,
                                   const struct kw_absence *absence,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    const size_t end = end_of_absence(search, absence);
    const double away = kw_rpm_seconds(search, absence->first, end);
    double extreme = 0.0;
    const double depth = depth_of(search, absence, &extreme);
    const double step_s = search->limits->step_s;
    const bool one =
        away < ONE_READING_STEPS * fmax(step_s, search->limits->fresh_s);
    if (away < (one ? ONE_READING_MARGIN * KW_GLITCH_S
                    : KW_GLITCH_S + ROUNDED * step_s))
        return KW_OK;
    struct kw_text text = {0};
    say_what_happened(&text, search, absence, extreme);
    struct kw_event event = {
        .start_s = time_s[absence->first],
        .end_s = time_s[end],
        .lap = kw_lap_at(scene->laps, time_s[absence->first]),
        .confidence = one ? ONE_READING : SURE,
        .detail.dropout = {.depth_rpm = depth, .one_reading = one},
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

/* As deep as it was high; what was hidden later is not known as well. */
static enum kw_status tell_dead_signal(const struct kw_scene *scene,
                                       const struct kw_rpm_search *search,
                                       const struct kw_absence *absence,
                                       struct kw_events *found,
                                       struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const double from_rpm = session->rpm[absence->before];
    const double to_rpm = session->rpm[absence->gone];
    struct kw_text text = {0};
    kw_text_add(&text, "RPM jumped from ");
    kw_text_add_whole(&text, from_rpm);
    kw_text_add(&text, " to ");
    kw_text_add_whole(&text, to_rpm);
    kw_text_add(&text, " and was away for ");
    kw_text_add_number(
        &text, kw_rpm_seconds(search, absence->first, absence->back), 1);
    kw_text_add(&text, " s, while by its speed the kart was driven on.");
    struct kw_event event = {
        .start_s = session->time_s[absence->first],
        .end_s = session->time_s[absence->back],
        .lap = kw_lap_at(scene->laps, session->time_s[absence->first]),
        .confidence = SURE,
        .detail.dropout.depth_rpm = from_rpm - to_rpm,
    };
    return kw_add_loose_connection(&event, &text, found, error);
}

/* From each good reading to the next. After a drop-out the search goes on from
 * the reading behind it, so that one is not told twice. */
enum kw_status kw_find_signal_dropouts(const struct kw_scene *scene,
                                       const struct kw_rpm_search *search,
                                       struct kw_events *found,
                                       struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    enum kw_status status = KW_OK;
    size_t good = 0;
    while (good < n && isnan(scene->session->rpm[good]))
        good++;
    while (good < n && status == KW_OK) {
        size_t next = kw_rpm_next(search, good);
        if (next == n) {
            /* The end, or a gap: start afresh behind it. */
            for (next = good + 1; next < n && isnan(scene->session->rpm[next]);)
                next++;
            good = next;
            continue;
        }
        struct kw_absence absence;
        if (goes_away(search, good, &absence)) {
            /* Never from the middle of a jump: half of the way down is no half
             * of the signal. */
            next = absence.gone;
            if (comes_back(search, &absence)) {
                status = tell_absence(scene, search, &absence, found, error);
                next = absence.back;
            } else if (kw_is_dead_signal(search, &absence)) {
                status =
                    tell_dead_signal(scene, search, &absence, found, error);
                next = absence.back;
            }
        }
        good = next;
    }
    return status;
}
