/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Losses whose edges are drawn out: see absence_drawn.h. */
#include "analysis/absence_drawn.h"

#include <math.h>

/* An edge may go on for so long behind the readings that are beyond what is
 * possible: 95 % of a step have come when a first-order filter of 0.15 s, as
 * some loggers have, has had three of its time constants. It may have begun so
 * long before them. Common practice, no source. */
static const double TAIL_S = 0.45;
static const double ONSET_S = 0.2;

/* At rest RPM moves by no more top ends a second, down and up: braking by 1 g
 * takes less, and so does an engine that pulls its kart. Common practice, no
 * source. */
static const double BRAKES_SHARE = 0.4;
static const double PULLS_SHARE = 0.25;

/* However it is drawn out, an edge begins at once: so much of it has come after
 * two readings, or this time. An engine that falls off its clutch, or is caught
 * by it, begins slowly. Common practice, no source. */
static const double BEGINS_S = 0.1;
static const double BEGUN_SHARE = 0.4;

/* So near to half or twice are both edges, and how many readings rest between:
 * an engine that drops off its clutch comes to idle, not to half. Common
 * practice, no source. */
static const double EXACT = 0.1;
enum { FEWEST_AT_REST = 3 };

/* From this share of the top end on the clutch is locked in any kart; no clutch
 * slips at the second. An engine that a starter turned, or that idles, is below
 * the third. Common practice, no source. */
static const double SURELY_LOCKED_SHARE = 0.55;
static const double NO_SLIP_SHARE = 0.7;
static const double ABOVE_IDLE_SHARE = 0.35;

/* Nobody gets an engine that died going again within this time. Common
 * practice, no source. */
static const double QUICKEST_RESTART_S = 3.0;

/* A kart that brakes with its wheels locked, its engine dragged down and up
 * again, comes out slower than by this share of the top end. Common practice,
 * no source. */
static const double UNSLOWED_SHARE = 0.05;
static const double LONGEST_UNSLOWED_S = 4.0;

/* An engine that dropped off its clutch, in a spin or at a stand, is this near
 * to idle for such a share of the time. Common practice, no source. */
static const double NEAR_IDLE = 0.15;
static const double IDLES_SHARE = 0.3;

/* A probe of 3 s goes on rising after the gas has died, and soon no more; and
 * what it rises by later, in so many degrees, is fire. Metal hotter than the
 * gas warms it by less. Common practice, no source. */
static const double PROBE_TELLS_LATE_S = 3.0;
static const double FIRE_C = 15.0;

/* One fresh reading on, so that a repeated one is not taken for rest. */
static size_t next_fresh(const struct kw_rpm_search *search, size_t i)
{
    const size_t n = search->session->n_samples;
    const double fresh_s =
        search->limits->fresh_s - search->limits->step_s / 2.0;
    size_t k = kw_rpm_next(search, i);
    while (k < n && kw_rpm_seconds(search, i, k) < fresh_s)
        k = kw_rpm_next(search, k);
    return k;
}

/* From a to b by more than so many times what brakes and engine do: what a
 * session full of drop-outs taught may be more. */
static bool moves_on(const struct kw_rpm_search *search,
                     size_t a,
                     size_t b,
                     bool up,
                     double times)
{
    const struct kw_rate_limits *limits = search->limits;
    const double *rpm = search->session->rpm;
    const double took_s = fmax(kw_rpm_seconds(search, a, b), limits->fresh_s);
    const double most_rpm = times * limits->top_rpm * took_s;
    return up ? rpm[b] - rpm[a] > PULLS_SHARE * most_rpm
              : rpm[a] - rpm[b] > BRAKES_SHARE * most_rpm;
}

size_t kw_rest_behind(const struct kw_rpm_search *search,
                      size_t end,
                      bool up,
                      double times)
{
    const size_t n = search->session->n_samples;
    size_t rest = end;
    for (size_t k = next_fresh(search, rest);
         k < n && kw_rpm_seconds(search, end, k) <= TAIL_S &&
         moves_on(search, rest, k, up, times);
         k = next_fresh(search, rest))
        rest = k;
    return rest;
}

/* The last reading before RPM began to move so fast. */
static size_t rest_before(const struct kw_rpm_search *search,
                          size_t begin,
                          bool up)
{
    const double *rpm = search->session->rpm;
    size_t rest = begin;
    for (size_t k = begin;
         k-- > 0 && kw_rpm_seconds(search, k, begin) <= ONSET_S;) {
        if (isnan(rpm[k]))
            continue;
        if (!moves_on(search, k, rest, up, 1.0))
            break;
        rest = k;
    }
    return rest;
}

static bool is_near(double value, double right)
{
    return fabs(value / right - 1.0) < EXACT;
}

/* What is right at i, on the line from the reading before to that behind. */
static double right_rpm(const struct kw_rpm_search *search,
                        const struct kw_absence *drawn,
                        size_t i)
{
    const double *rpm = search->session->rpm;
    const double share = kw_rpm_seconds(search, drawn->before, i) /
                         kw_rpm_seconds(search, drawn->before, drawn->back);
    return rpm[drawn->before] + share * (rpm[drawn->back] - rpm[drawn->before]);
}

/* Every reading at rest is so many times what is right on a line. */
static bool is_on_line(const struct kw_rpm_search *search,
                       const struct kw_absence *drawn,
                       double times)
{
    const double *rpm = search->session->rpm;
    for (size_t i = drawn->gone; i <= drawn->leaves;
         i = kw_rpm_next(search, i)) {
        if (!is_near(rpm[i], times * right_rpm(search, drawn, i)))
            return false;
    }
    return true;
}

/* Or those at both edges are, without a jump between. */
static bool is_at_edges(const struct kw_rpm_search *search,
                        const struct kw_absence *drawn,
                        double times)
{
    const double *rpm = search->session->rpm;
    for (size_t i = drawn->gone; i < drawn->leaves;) {
        const size_t next = kw_rpm_next(search, i);
        if (next > drawn->leaves || !kw_is_plausible(search, i, next))
            return false;
        i = next;
    }
    return is_near(rpm[drawn->gone], times * rpm[drawn->before]) &&
           is_near(rpm[drawn->leaves], times * rpm[drawn->back]);
}

static bool begins_at_once(const struct kw_rpm_search *search,
                           size_t from,
                           size_t to)
{
    const double *rpm = search->session->rpm;
    const struct kw_rate_limits *limits = search->limits;
    const double begins_s =
        fmax(BEGINS_S, 2.0 * limits->fresh_s) + limits->step_s / 2.0;
    size_t begun = from;
    for (size_t i = from; i <= to && kw_rpm_seconds(search, from, i) < begins_s;
         i = kw_rpm_next(search, i))
        begun = i;
    return fabs(rpm[begun] - rpm[from]) >=
           BEGUN_SHARE * fabs(rpm[to] - rpm[from]);
}

/* Over some readings, and between edges that begin as a lost signal does. */
static bool is_exactly(const struct kw_rpm_search *search,
                       const struct kw_absence *drawn,
                       double times)
{
    const double *rpm = search->session->rpm;
    size_t n = 0;
    for (size_t i = drawn->gone; i <= drawn->leaves; i++)
        n += isnan(rpm[i]) ? 0 : 1;
    return n >= FEWEST_AT_REST &&
           kw_rpm_seconds(search, drawn->gone, drawn->leaves) >
               (FEWEST_AT_REST - 1.5) * search->limits->fresh_s &&
           begins_at_once(search, drawn->before, drawn->gone) &&
           begins_at_once(search, drawn->leaves, drawn->back) &&
           (is_on_line(search, drawn, times) ||
            is_at_edges(search, drawn, times));
}

/* With the edges as far as they were drawn out, away at so many times what is
 * right. */
static struct kw_absence with_whole_edges(const struct kw_rpm_search *search,
                                          const struct kw_absence *absence,
                                          double times)
{
    struct kw_absence drawn = *absence;
    drawn.before = rest_before(search, absence->before, absence->up);
    drawn.gone = kw_rest_behind(search, absence->gone, absence->up, times);
    drawn.leaves = rest_before(search, absence->leaves, !absence->up);
    drawn.back = kw_rest_behind(search, absence->back, !absence->up, 1.0);
    return drawn;
}

/* Half, from where the clutch is locked to there. */
static bool is_drawn_half(const struct kw_rpm_search *search,
                          const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double locked_rpm = SURELY_LOCKED_SHARE * search->limits->top_rpm;
    const struct kw_absence drawn = with_whole_edges(search, absence, 0.5);
    return rpm[drawn.before] > locked_rpm && rpm[drawn.back] > locked_rpm &&
           !kw_reaches_idle(search, &drawn) && is_exactly(search, &drawn, 0.5);
}

/* Both edges faster than a free engine falls. */
static bool is_steep(const struct kw_rpm_search *search,
                     const struct kw_absence *absence)
{
    return kw_is_steep(search, absence->before, absence->gone) &&
           kw_is_steep(search, absence->leaves, absence->back);
}

/* Twice: a free engine is revved up as fast, but neither rests at exactly twice
 * nor falls from there so fast. */
static bool is_drawn_double(const struct kw_rpm_search *search,
                            const struct kw_absence *absence)
{
    const struct kw_absence drawn = with_whole_edges(search, absence, 2.0);
    return is_steep(search, absence) && is_exactly(search, &drawn, 2.0);
}

/* Nothing, or what little scatters, too soon over for an engine that died. */
static bool is_drawn_nothing(const struct kw_rpm_search *search,
                             const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double runs_rpm = ABOVE_IDLE_SHARE * search->limits->top_rpm;
    const size_t back = kw_rest_behind(search, absence->back, true, 1.0);
    return kw_is_nothing(search, rpm[absence->leaves]) &&
           rpm[absence->before] > runs_rpm && rpm[back] > runs_rpm &&
           kw_rpm_seconds(search, absence->first, absence->back) <=
               QUICKEST_RESTART_S &&
           is_steep(search, absence);
}

static bool idles(const struct kw_rpm_search *search,
                  const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    size_t n = 0;
    size_t n_idle = 0;
    for (size_t i = absence->gone; i <= absence->leaves; i++) {
        n += isnan(rpm[i]) ? 0 : 1;
        n_idle += fabs(rpm[i] / search->idle_rpm - 1.0) < NEAR_IDLE ? 1 : 0;
    }
    return (double)n_idle > IDLES_SHARE * (double)n;
}

/* Anything low, from where no clutch slips to there, and the kart unslowed. */
static bool is_from_high_to_high(const struct kw_rpm_search *search,
                                 const struct kw_absence *absence)
{
    const double *rpm = search->session->rpm;
    const double top_rpm = search->limits->top_rpm;
    const size_t back = kw_rest_behind(search, absence->back, true, 1.0);
    return rpm[absence->before] > NO_SLIP_SHARE * top_rpm &&
           rpm[back] > rpm[absence->before] - UNSLOWED_SHARE * top_rpm &&
           kw_rpm_seconds(search, absence->before, absence->leaves) <=
               LONGEST_UNSLOWED_S &&
           !idles(search, absence) && is_steep(search, absence);
}

bool kw_is_drawn_loss(const struct kw_rpm_search *search,
                      const struct kw_absence *absence)
{
    /* On a stand a foot does all of that, and an axle that goes with the engine
     * says that it is right. */
    if (!search->is_driven || kw_meets_axle(search, absence->leaves, 1.0))
        return false;
    if (absence->up)
        return is_drawn_double(search, absence);
    return is_drawn_half(search, absence) ||
           is_drawn_nothing(search, absence) ||
           is_from_high_to_high(search, absence);
}

bool kw_heats_meanwhile(const struct kw_rpm_search *search,
                        size_t from,
                        size_t to)
{
    const double *egt_c = search->session->egt_c;
    double lowest_c = INFINITY;
    bool heats = false;
    if (egt_c == NULL)
        return false;
    for (size_t i = from; i < to; i++) {
        const double since_s = kw_rpm_seconds(search, from, i);
        if (since_s > TAIL_S && !isnan(search->session->rpm[i]) &&
            !kw_is_nothing(search, search->session->rpm[i]))
            return false;
        if (isnan(egt_c[i]) || since_s < PROBE_TELLS_LATE_S)
            continue;
        lowest_c = fmin(lowest_c, egt_c[i]);
        heats = heats || egt_c[i] > lowest_c + FIRE_C;
    }
    return heats;
}
