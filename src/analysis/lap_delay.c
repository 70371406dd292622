/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The delay of position against engine turns.
 *
 * With the clutch locked the way by engine turns and that by position are the
 * same but for the gearing. Position that comes late makes the first the longer
 * one while the kart gathers speed and the shorter one while it brakes: the
 * logarithm of their ratio is the delay times the relative acceleration. A tyre
 * slips with the acceleration itself, which is a term of its own: the two are
 * told apart by the kart's speed and by what is known of tyres. Least squares,
 * again with the engine read that much earlier, until it stays. */
#include "analysis/lap_delay.h"

#include "analysis/lap_axis.h"
#include "core/array.h"
#include "core/robust.h"
#include "signal/least_squares.h"
#include "signal/position.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Ways are compared over this time, and at places this far apart. */
static const double WINDOW_S = 0.5;
static const double APART_S = 0.099;
/* Faster than this share of the usual top speed every clutch is locked. */
static const double LOCKED_SHARE = 0.35;
/* Ratios further from the usual one than this are wheelspin, a slipping clutch,
 * a wild fix; closer ones are judged by their own scatter. */
static const double WILD = 0.25;
static const double FAR_SD = 3.0;
/* Slip of a tyre for each m/s^2, as a share: some 1 % at the 3 m/s^2 that a
 * kart gathers speed with (common practice, no source), and how far it may be
 * from that. Where it comes out further off, what was fitted is no delay. */
static const double USUAL_SLIP = 0.003;
static const double SLIP_SD = 0.003;
static const double MOST_OFF = 0.006;
/* Delays that are believed: no receiver is later; a shorter one is not told
 * from the lag of the RPM itself. The standard error is no more than a third
 * of it, and than this. */
static const double SHORTEST_S = 0.06;
static const double LATEST_S = 0.4;
static const double KNOWN_S = 0.03;
/* Neighbouring windows share most of their fixes: so many of them are worth as
 * much as one alone. */
static const double SHARED = 5.0;
enum { ROUNDS = 5, FEWEST = 200 };

/* The terms of the model. */
enum { GEARING, DELAY, SLIP, N_TERMS };

/* One comparison.
 *
 * from_s, to_s  the window, by position.
 * chord_m       way by position.
 * row, ratio    as in the model. */
struct comparison {
    double from_s;
    double to_s;
    double chord_m;
    double row[N_TERMS];
    double ratio;
};

/* turns[n]: the integral of RPM, in RPM times seconds. */
struct comparisons {
    const struct kw_session *session;
    double *turns;
    struct comparison *items;
    size_t n;
    double *scratch;
};

/* Turns of the engine, in RPM times seconds, by the trapezium rule; across a
 * missing reading the last one holds. */
static void integrate(const struct kw_session *session, double *turns)
{
    double sum = 0.0;
    double last_rpm = 0.0;
    for (size_t i = 0; i < session->n_samples; i++) {
        const double rpm = isnan(session->rpm[i]) ? last_rpm : session->rpm[i];
        if (i > 0)
            sum += 0.5 * (rpm + last_rpm) *
                   (session->time_s[i] - session->time_s[i - 1]);
        turns[i] = sum;
        last_rpm = rpm;
    }
}

/* The search goes on from *at, which stays where it was left: times that rise
 * from call to call cost one step each. */
static double turns_at(const struct comparisons *c, double time_s, size_t *at)
{
    const double *t = c->session->time_s;
    while (*at > 0 && t[*at] > time_s)
        (*at)--;
    while (*at + 2 < c->session->n_samples && t[*at + 1] <= time_s)
        (*at)++;
    const double part = (time_s - t[*at]) / (t[*at + 1] - t[*at]);
    return c->turns[*at] +
           fmin(fmax(part, 0.0), 1.0) * (c->turns[*at + 1] - c->turns[*at]);
}

/* Chords of WINDOW_S across the whole session; a gap has none. */
static void take_chords(struct comparisons *c)
{
    const struct kw_session *s = c->session;
    size_t to = 0;
    double next_s = -INFINITY;
    for (size_t from = 0; from < s->n_samples; from++) {
        while (to + 1 < s->n_samples &&
               s->time_s[to] < s->time_s[from] + WINDOW_S)
            to++;
        const double took_s = s->time_s[to] - s->time_s[from];
        if (took_s < WINDOW_S || took_s > 2.0 * WINDOW_S ||
            s->time_s[from] < next_s || !kw_has_place(s, from) ||
            !kw_has_place(s, to))
            continue;
        next_s = s->time_s[from] + APART_S;
        c->items[c->n++] = (struct comparison){
            .from_s = s->time_s[from],
            .to_s = s->time_s[to],
            .chord_m =
                hypot(s->x_m[to] - s->x_m[from], s->y_m[to] - s->y_m[from]),
        };
    }
}

/* Of the chord between two fixes. */
static double speed_of(const struct comparison *item)
{
    return item->chord_m / (item->to_s - item->from_s);
}

/* Keeps the fast ones. */
static void keep_locked(struct comparisons *c)
{
    for (size_t i = 0; i < c->n; i++)
        c->scratch[i] = speed_of(&c->items[i]);
    const double top_m_s = kw_quantile(c->scratch, c->n, 0.98, c->scratch);
    size_t kept = 0;
    for (size_t i = 0; i < c->n; i++) {
        if (speed_of(&c->items[i]) > LOCKED_SHARE * top_m_s)
            c->items[kept++] = c->items[i];
    }
    c->n = kept;
}

/* What each comparison says with the engine read delay_s earlier. */
static void compare(struct comparisons *c, double delay_s)
{
    const double half_s = 0.5 * WINDOW_S;
    /* One for each time of a comparison: from one to the next all of them move
     * by a tenth of a second, but from the first to the last lies a second. */
    size_t at[6] = {0};
    for (size_t i = 0; i < c->n; i++) {
        struct comparison *item = &c->items[i];
        const double from_s = item->from_s - delay_s;
        const double to_s = item->to_s - delay_s;
        const double back = turns_at(c, from_s - half_s, &at[0]);
        const double from = turns_at(c, from_s, &at[1]);
        const double from_later = turns_at(c, from_s + half_s, &at[2]);
        const double to_earlier = turns_at(c, to_s - half_s, &at[3]);
        const double to = turns_at(c, to_s, &at[4]);
        const double on = turns_at(c, to_s + half_s, &at[5]);
        const double gain =
            log((on - from_later) / (to_earlier - back)) / (2.0 * half_s);
        item->row[GEARING] = 1.0;
        item->row[DELAY] = gain;
        item->row[SLIP] = gain * speed_of(item);
        item->ratio =
            log((to - from) / item->chord_m) - USUAL_SLIP * item->row[SLIP];
    }
}

/* What the model does not explain of the ratio of turns to way. */
static double left_over(const struct comparison *item, const double *model)
{
    double left = item->ratio;
    for (size_t k = 0; k < N_TERMS; k++)
        left -= item->row[k] * model[k];
    return left;
}

/* Robust: what is too far from the last model does not count. *error_s is the
 * standard error of the delay; false where there is no fit. */
static bool fit(const struct comparisons *c, double *model, double *error_s)
{
    size_t near = 0;
    for (size_t i = 0; i < c->n; i++) {
        const double left = fabs(left_over(&c->items[i], model));
        if (left < WILD)
            c->scratch[near++] = left;
    }
    const double sd = KW_MAD_TO_SD * kw_median(c->scratch, near, c->scratch);
    struct kw_least_squares sums;
    kw_least_squares_start(&sums, N_TERMS);
    for (size_t i = 0; i < c->n; i++) {
        const struct comparison *item = &c->items[i];
        if (fabs(left_over(item, model)) < fmin(FAR_SD * sd, WILD))
            kw_least_squares_add(&sums, item->row, item->ratio, 1.0);
    }
    const double noise = sd * sqrt(SHARED) / SLIP_SD;
    const double ridge[N_TERMS] = {0.0, 0.0, noise * noise};
    if (sums.weight < FEWEST || !kw_least_squares_solve(&sums, ridge, model))
        return false;
    const double variance =
        kw_least_squares_residual(&sums, model) / sums.weight;
    const double mean = sums.product[DELAY][GEARING] / sums.weight;
    const double spread =
        sums.product[DELAY][DELAY] / sums.weight - mean * mean;
    *error_s = sqrt(variance * SHARED / (sums.weight * spread));
    return true;
}

/* The gearing, as turns for each metre; the delay shows in how readings lie
 * about it. */
static double usual_ratio(const struct comparisons *c)
{
    for (size_t i = 0; i < c->n; i++)
        c->scratch[i] = c->items[i].ratio;
    return kw_median(c->scratch, c->n, c->scratch);
}

/* The delay; 0 where it is not known. Most often it stays at 0, where position
 * comes no later than RPM does: the next round would say the same. */
static double find_delay_s(struct comparisons *c)
{
    double delay_s = 0.0;
    double error_s = INFINITY;
    double off = INFINITY;
    for (size_t round = 0; round < ROUNDS; round++) {
        compare(c, delay_s);
        double model[N_TERMS] = {usual_ratio(c)};
        if (!fit(c, model, &error_s) || !fit(c, model, &error_s))
            return 0.0;
        const double last_s = delay_s;
        delay_s = fmin(fmax(delay_s + model[DELAY], 0.0), LATEST_S);
        off = fabs(model[SLIP]);
        if (!(fabs(delay_s - last_s) > 0.0))
            break;
    }
    const bool known = off < MOST_OFF && error_s < KNOWN_S &&
                       error_s < delay_s / 3.0 && delay_s > SHORTEST_S &&
                       delay_s < LATEST_S;
    return known ? delay_s : 0.0;
}

/* A receiver that is late by d shows the speed of d ago: while the kart speeds
 * up its way is too short for the engine's turns, while it brakes too long. The
 * delay is the slope of the one against the other. */
enum kw_status kw_position_delay(const struct kw_session *session,
                                 double *delay_s,
                                 struct kw_error *error)
{
    const size_t n = session->n_samples;
    *delay_s = 0.0;
    if (session->rpm == NULL || session->x_m == NULL || session->y_m == NULL ||
        n < FEWEST)
        return KW_OK;
    struct comparisons c = {.session = session};
    c.turns = kw_array_new(n, sizeof *c.turns, error);
    const size_t most = kw_most_samples(session->time_s, n, APART_S);
    c.items = kw_array_new(most, sizeof *c.items, error);
    c.scratch = kw_array_new(most, sizeof *c.scratch, error);
    const bool ok = c.turns != NULL && c.items != NULL && c.scratch != NULL;
    if (ok) {
        integrate(session, c.turns);
        take_chords(&c);
        keep_locked(&c);
        *delay_s = find_delay_s(&c);
    }
    free(c.turns);
    free(c.items);
    free(c.scratch);
    return ok ? KW_OK : KW_NO_MEMORY;
}
