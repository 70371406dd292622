/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps that come in pairs. A driver who lifts, brakes or spins can make RPM
 * fall fast, but not jump back to where it was; so a jump away counts only with
 * the jump back, landing where the kart could have been by then. */
#include "analysis/dropout_signal.h"

#include "core/array.h"
#include "core/number.h"
#include "core/robust.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* Longest absence that is followed; beyond it nothing tells where the kart
 * should be. A reading of nothing at all may be followed longer: no engine
 * comes back from there by itself. Common practice, no source. */
static const double LONGEST_AWAY_S = 2.5;
static const double LONGEST_NOTHING_S = 6.0;

/* Below this share of the top end no engine turns: idle is twice as much. */
static const double NOTHING_SHARE = 0.06;

/* A lost signal is gone within two readings, or this long in a quick log; an
 * engine that falls free takes longer. */
static const double QUICKEST_FALL_S = 0.08;
enum { READINGS_OF_A_JUMP = 2 };

/* From this share of the top end on the clutch is locked in any kart, so that
 * even a part of the signal missing is told; below it only nothing at all is,
 * for an engine may drop off its clutch in a hairpin. */
static const double SURELY_LOCKED_SHARE = 0.55;

/* Readings further apart than this many usual steps have a gap between: two
 * lost in a row happen, three are a hole. */
static const double GAP_STEPS = 2.6;

/* A single reading is this uncertain, in standard deviations of its noise and,
 * for what is no noise (kerbs, wheelspin), in shares of the top end: 500 of
 * 15,000 rpm. Common practice, no source. */
static const double NOISE_SDS = 5.0;
static const double UNSTEADY_SHARE = 0.035;

/* A doubled reading is so many times what it should be: two, and the change of
 * RPM between the readings beside it. */
static const double DOUBLED_LOW = 1.7;
static const double DOUBLED_HIGH = 2.3;
/* And half, where every second pulse is lost. */
static const double HALVED_LOW = 0.38;
static const double HALVED_HIGH = 0.63;

/* What is neither nothing nor half nor double counts for a moment only, and
 * when RPM is where it was. Common practice, no source. */
static const double BRIEF_PART_S = 0.6;
static const double UNMOVED_SHARE = 0.05;

/* An odd reading shorter than this is a glitch and no drop-out (contract). */
static const double GLITCH_S = 0.05;

/* A frozen reading stands still at least so long, and so many times longer than
 * readings usually do in this log. */
static const double SHORTEST_FREEZE_S = 0.15;
static const double FREEZE_HOLDS = 3.0;
enum { FEWEST_FROZEN = 4 };

/* A reading that hardly moved before it stood still may have stood still with
 * the engine: held in a bend, or on the rev limiter. How far back it is looked,
 * and what share of the top end is moving: common practice, no source. */
static const double MOVING_WINDOW_S = 0.6;
static const double MOVING_SHARE = 0.02;

/* Almost all readings stand still no longer. */
static const double USUAL_HOLD = 0.95;

/* Confidence for a pair of jumps well beyond what is possible, and for one
 * reading alone, which might have been shorter than a drop-out. */
static const double SURE = 0.95;
static const double ONE_READING = 0.7;

/* Back means back under load: landing this share of where the clutch locks. */
static const double LANDS_SHARE = 0.8;

/* One reading alone has to be this much longer than a glitch. */
static const double ONE_READING_MARGIN = 1.2;

struct search {
    const struct kw_session *session;
    const struct kw_rate_limits *limits;
    double step_s;
    double unsteady_rpm;
};

/* An absence: good before, away from `first` to before `back`. */
struct absence {
    size_t before;
    size_t first;
    size_t back;
    bool up;
};

static double seconds(const struct search *search, size_t from, size_t to)
{
    return search->session->time_s[to] - search->session->time_s[from];
}

/* With the clutch locked RPM is wheel speed: it can fall no faster than the
 * brakes slow the kart, but for what a single reading may be off. */
static bool falls_too_fast(const struct search *search, size_t a, size_t b)
{
    const double *rpm = search->session->rpm;
    return rpm[b] < rpm[a] -
                        search->limits->fall_rpm_s * seconds(search, a, b) -
                        search->unsteady_rpm;
}

/* The same upwards: no engine pushes a kart as hard as that. */
static bool rises_too_fast(const struct search *search, size_t a, size_t b)
{
    const double *rpm = search->session->rpm;
    return rpm[b] > rpm[a] +
                        search->limits->rise_rpm_s * seconds(search, a, b) +
                        search->unsteady_rpm;
}

/* Could the kart be at b what it was at a? */
static bool is_plausible(const struct search *search, size_t a, size_t b)
{
    return !falls_too_fast(search, a, b) && !rises_too_fast(search, a, b);
}

/* The next reading that is not missing; n_samples at the end or at a gap. */
static size_t next_reading(const struct search *search, size_t i)
{
    const struct kw_session *session = search->session;
    for (size_t k = i + 1; k < session->n_samples; k++) {
        if (!isnan(session->rpm[k]))
            return seconds(search, i, k) > GAP_STEPS * search->step_s + GLITCH_S
                       ? session->n_samples
                       : k;
    }
    return session->n_samples;
}

/* Down, from a locked clutch; or up, to about the double, which a second pulse
 * for each turn gives. Other jumps up are wheelspin and kerbs. */
static bool jumps_away(const struct search *search,
                       size_t a,
                       size_t b,
                       bool *up)
{
    const double *rpm = search->session->rpm;
    *up = rises_too_fast(search, a, b) && rpm[b] > DOUBLED_LOW * rpm[a] &&
          rpm[b] > search->limits->locked_rpm;
    return *up || (rpm[a] > search->limits->locked_rpm &&
                   falls_too_fast(search, a, b));
}

/* A logger that averages spreads a jump over two or three readings: go on while
 * the next one still jumps the same way. */
static size_t last_of_jump(const struct search *search, size_t i, bool up)
{
    for (size_t next = next_reading(search, i);
         next < search->session->n_samples; next = next_reading(search, i)) {
        if (up ? !rises_too_fast(search, i, next)
               : !falls_too_fast(search, i, next))
            break;
        i = next;
    }
    return i;
}

/* Is the reading gone at once, and not over the time that an engine takes? */
static bool is_abrupt(const struct search *search, size_t from, bool up)
{
    const size_t first = next_reading(search, from);
    const size_t last = last_of_jump(search, first, up);
    return last - from <= READINGS_OF_A_JUMP ||
           seconds(search, from, last) <= QUICKEST_FALL_S;
}

/* Twice, within what two rounded and jittering readings allow. */
static bool is_double(double off_rpm, double right_rpm)
{
    return off_rpm > DOUBLED_LOW * right_rpm &&
           off_rpm < DOUBLED_HIGH * right_rpm;
}

static bool is_half(double off_rpm, double right_rpm)
{
    return off_rpm > HALVED_LOW * right_rpm &&
           off_rpm < HALVED_HIGH * right_rpm;
}

/* A part of the signal lost for a moment, with the kart unmoved by it. A spin
 * drops the engine off its clutch too, but it comes back slower than it was. */
static bool is_brief_part(const struct search *search,
                          const struct absence *absence)
{
    const double *rpm = search->session->rpm;
    return seconds(search, absence->first, absence->back) <= BRIEF_PART_S &&
           fabs(rpm[absence->back] - rpm[absence->before]) <=
               UNMOVED_SHARE * search->limits->top_rpm;
}

/* Is that reading, the last one before the jump back, so far off that no engine
 * could give it? */
static bool is_telling(const struct search *search,
                       const struct absence *absence,
                       double off_rpm)
{
    const double *rpm = search->session->rpm;
    const double before = rpm[absence->before];
    if (absence->up)
        return is_double(rpm[absence->first], before) &&
               is_double(off_rpm, rpm[absence->back]);
    if (off_rpm < NOTHING_SHARE * search->limits->top_rpm)
        return true;
    return before > SURELY_LOCKED_SHARE * search->limits->top_rpm &&
           ((is_half(rpm[absence->first], before) &&
             is_half(off_rpm, rpm[absence->back])) ||
            is_brief_part(search, absence));
}

/* By the last reading before the jump back: see LONGEST_NOTHING_S. */
static double longest_away_s(const struct search *search, double off_rpm)
{
    return off_rpm < NOTHING_SHARE * search->limits->top_rpm ? LONGEST_NOTHING_S
                                                             : LONGEST_AWAY_S;
}

/* Looks for the jump back: opposite, and landing where the kart could be. */
static bool comes_back(const struct search *search, struct absence *absence)
{
    const struct kw_session *session = search->session;
    const double *rpm = session->rpm;
    for (size_t i = absence->first;;) {
        const size_t next = next_reading(search, i);
        if (next == session->n_samples ||
            seconds(search, absence->before, next) >
                longest_away_s(search, rpm[i]))
            return false;
        const bool back = absence->up ? falls_too_fast(search, i, next)
                                      : rises_too_fast(search, i, next);
        if (back) {
            const size_t landed = last_of_jump(search, next, !absence->up);
            absence->back = landed;
            if (is_plausible(search, absence->before, landed) &&
                rpm[landed] > LANDS_SHARE * search->limits->locked_rpm &&
                is_abrupt(search, i, !absence->up) &&
                is_telling(search, absence, rpm[i]))
                return true;
        }
        i = next;
    }
}

/* ---- telling it --------------------------------------------------------- */

/* How far from where it should have been, at most: on the line between the
 * readings before and after. */
static double depth_of(const struct search *search,
                       const struct absence *absence,
                       double *extreme)
{
    const double *rpm = search->session->rpm;
    const double from = rpm[absence->before];
    const double to = rpm[absence->back];
    const double whole = seconds(search, absence->before, absence->back);
    double depth = 0.0;
    *extreme = rpm[absence->first];
    for (size_t i = absence->first; i < absence->back; i++) {
        if (isnan(rpm[i]))
            continue;
        const double share = seconds(search, absence->before, i) / whole;
        const double off = fabs(from + share * (to - from) - rpm[i]);
        if (off > depth) {
            depth = off;
            *extreme = rpm[i];
        }
    }
    return depth;
}

static void say_what_happened(struct kw_text *text,
                              const struct search *search,
                              const struct absence *absence,
                              double extreme)
{
    const double *rpm = search->session->rpm;
    const double away = seconds(search, absence->first, absence->back);
    kw_text_add(text, "RPM jumped from ");
    kw_text_add_number(text, rpm[absence->before], 0);
    kw_text_add(text, " to ");
    kw_text_add_number(text, extreme, 0);
    kw_text_add(text, " and back to ");
    kw_text_add_number(text, rpm[absence->back], 0);
    kw_text_add(text, " within ");
    kw_text_add_number(text, away, 2);
    kw_text_add(text, " s; braking changes it by at most ");
    kw_text_add_number(text, search->limits->fall_rpm_s, 0);
    kw_text_add(text, " RPM a second.");
}

/* Adds a drop-out with the sentence that tells it; frees the sentence. */
static enum kw_status add_dropout(struct kw_event *event,
                                  struct kw_text *text,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    event->kind = KW_DROPOUT;
    event->severity = KW_BEFORE_NEXT_RACE;
    event->detail.dropout.cause = KW_CAUSE_LOOSE_CONNECTION;
    event->evidence = text->bytes;
    const enum kw_status status = kw_text_failed(text)
                                      ? kw_fail_memory(error)
                                      : kw_events_add(found, event, error);
    kw_text_free(text);
    return status;
}

/* A glitch is the sensor's and no drop-out (contract); one reading alone may
 * have been as short as that between two looks of the logger. */
static enum kw_status tell_absence(const struct kw_scene *scene,
                                   const struct search *search,
                                   const struct absence *absence,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    const double *time_s = scene->session->time_s;
    const double away = seconds(search, absence->first, absence->back);
    double extreme = 0.0;
    const double depth = depth_of(search, absence, &extreme);
    const bool one = absence->back == absence->first + 1;
    if (away < GLITCH_S || (one && away < ONE_READING_MARGIN * GLITCH_S))
        return KW_OK;
    struct kw_text text = {0};
    say_what_happened(&text, search, absence, extreme);
    struct kw_event event = {
        .start_s = time_s[absence->first],
        .end_s = time_s[absence->back],
        .lap = kw_lap_at(scene->laps, time_s[absence->first]),
        .confidence = one ? ONE_READING : SURE,
        .detail.dropout.depth_rpm = depth,
    };
    return add_dropout(&event, &text, found, error);
}

/* From each good reading to the next. After a drop-out the search goes on from
 * the reading behind it, so that one is not told twice. */
static enum kw_status find_absences(const struct kw_scene *scene,
                                    const struct search *search,
                                    struct kw_events *found,
                                    struct kw_error *error)
{
    const size_t n = scene->session->n_samples;
    enum kw_status status = KW_OK;
    size_t good = 0;
    while (good < n && isnan(scene->session->rpm[good]))
        good++;
    while (good < n && status == KW_OK) {
        size_t next = next_reading(search, good);
        if (next == n) {
            /* The end, or a gap: start afresh behind it. */
            for (next = good + 1; next < n && isnan(scene->session->rpm[next]);)
                next++;
            good = next;
            continue;
        }
        struct absence absence = {.before = good, .first = next};
        if (jumps_away(search, good, next, &absence.up) &&
            is_abrupt(search, good, absence.up) &&
            comes_back(search, &absence)) {
            status = tell_absence(scene, search, &absence, found, error);
            next = absence.back;
        }
        good = next;
    }
    return status;
}

/* ---- frozen readings ---------------------------------------------------- */

/* Equal to the bit: a logger that lost its pulse repeats what it last read. */
static size_t end_of_hold(const double *rpm, size_t n, size_t from)
{
    size_t to = from + 1;
    while (to < n && !(rpm[to] > rpm[from]) && !(rpm[to] < rpm[from]) &&
           !isnan(rpm[to]))
        to++;
    return to;
}

/* How long readings usually stand still while the kart is driven. */
static double usual_hold_s(const struct search *search, double *scratch)
{
    const struct kw_session *session = search->session;
    size_t n = 0;
    for (size_t i = 0; i + 1 < session->n_samples;) {
        const size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (session->rpm[i] > search->limits->locked_rpm &&
            to < session->n_samples)
            scratch[n++] = seconds(search, i, to);
        i = to;
    }
    return kw_quantile(scratch, n, USUAL_HOLD, scratch);
}

/* How far RPM went in the moments before: a reading that was on its way
 * somewhere does not stop dead by itself. */
static bool moves_before(const struct search *search, size_t from)
{
    const double *rpm = search->session->rpm;
    size_t i = from;
    while (i > 0 && seconds(search, i - 1, from) <= MOVING_WINDOW_S)
        i--;
    return fabs(rpm[from] - rpm[i]) >= MOVING_SHARE * search->limits->top_rpm;
}

/* A hold from `from` to before `to` that ends in an impossible jump. */
static bool is_freeze(const struct search *search,
                      size_t from,
                      size_t to,
                      double usual_s)
{
    const double *rpm = search->session->rpm;
    const double held = seconds(search, from, to);
    return rpm[from] > search->limits->locked_rpm &&
           to - from >= FEWEST_FROZEN && held >= SHORTEST_FREEZE_S &&
           held >= FREEZE_HOLDS * usual_s && moves_before(search, from) &&
           next_reading(search, to - 1) == to &&
           (falls_too_fast(search, to - 1, to) ||
            rises_too_fast(search, to - 1, to)) &&
           is_plausible(search, from, to);
}

/* Its depth is what was hidden: the jump at its end. */
static enum kw_status tell_freeze(const struct kw_scene *scene,
                                  size_t from,
                                  size_t to,
                                  struct kw_events *found,
                                  struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    struct kw_text text = {0};
    kw_text_add(&text, "RPM stood still at ");
    kw_text_add_number(&text, session->rpm[from], 0);
    kw_text_add(&text, " for ");
    kw_text_add_number(&text, session->time_s[to] - session->time_s[from], 2);
    kw_text_add(&text, " s and then jumped to ");
    kw_text_add_number(&text, session->rpm[to], 0);
    kw_text_add(&text, ", faster than the kart can.");
    struct kw_event event = {
        .start_s = session->time_s[from],
        .end_s = session->time_s[to],
        .lap = kw_lap_at(scene->laps, session->time_s[from]),
        .confidence = SURE,
        .detail.dropout.depth_rpm = fabs(session->rpm[to] - session->rpm[from]),
    };
    return add_dropout(&event, &text, found, error);
}

/* Told apart from absences: here RPM never left, it only stopped telling. */
static enum kw_status find_freezes(const struct kw_scene *scene,
                                   const struct search *search,
                                   double usual_s,
                                   struct kw_events *found,
                                   struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    enum kw_status status = KW_OK;
    for (size_t i = 0; i + 1 < session->n_samples && status == KW_OK;) {
        const size_t to = end_of_hold(session->rpm, session->n_samples, i);
        if (to < session->n_samples && is_freeze(search, i, to, usual_s))
            status = tell_freeze(scene, i, to, found, error);
        i = to;
    }
    return status;
}

/* How long readings usually stand still is learned: some loggers write faster
 * than they read, and all their readings repeat. */
enum kw_status kw_find_signal_dropouts(const struct kw_scene *scene,
                                       const struct kw_rate_limits *limits,
                                       struct kw_events *found,
                                       struct kw_error *error)
{
    const struct kw_session *session = scene->session;
    const struct search search = {
        .session = session,
        .limits = limits,
        .step_s = 1.0 / session->rate_hz,
        .unsteady_rpm =
            NOISE_SDS * limits->noise_rpm + UNSTEADY_SHARE * limits->top_rpm,
    };
    double *scratch = kw_array_new(session->n_samples, sizeof *scratch, error);
    if (scratch == NULL)
        return KW_NO_MEMORY;
    const double usual_s = usual_hold_s(&search, scratch);
    free(scratch);
    enum kw_status status = find_absences(scene, &search, found, error);
    if (status == KW_OK && !isnan(usual_s))
        status = find_freezes(scene, &search, usual_s, found, error);
    return status;
}
