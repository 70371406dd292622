/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One probe's readings, cleaned step by step: impossible values, spikes,
 * stretches that were reached and left too fast, stretches that do not move.
 *
 * All rest on how fast this probe can go. A first-order probe moves at (gas -
 * probe) / lag. The session shows how fast it goes where the driver lifts: a
 * step of the gas by some 250 C. A spark that cuts is a step by some 600 C
 * (common practice, no source), and that must stay in: it tells a cut spark
 * from a lost signal. */
#include "signal/egt.h"

#include "core/array.h"
#include "core/robust.h"
#include "signal/spike.h"

#include <math.h>
#include <stdlib.h>

/* Nothing in a kart's exhaust is outside (common practice, no source). */
static const double LOWEST_C = -40.0;
static const double HIGHEST_C = 1100.0;
/* Nearly the fastest usual change, and how many times as fast a cut of the
 * spark may be; within what any sheathed probe does. The share leaves out
 * single spikes, the factor is what 600 C over 250 C give with room (common
 * practice, no source). */
static const double USUAL_SHARE = 0.99;
static const double TIMES_USUAL = 4.0;
/* Nothing heats the gas as a lost spark cools it: a reading above those around
 * it was climbed to in a pull, as fast as usual and half as fast again where
 * more gas flows (common practice, no source). */
static const double TIMES_USUAL_UP = 1.5;
/* Changes of a healthy probe lie within some four times of each other between
 * the slow four fifths and the fastest (common practice, no source). */
static const double SOUND_SHARE = 0.80;
static const double TIMES_SOUND = 4.0;
/* A log without a lift in it teaches too low a limit, one of nothing but spikes
 * too high a one: both are bounded (common practice, no source). */
static const double SLOWEST_LIMIT_C_S = 200.0;
static const double SLOWEST_CLIMB_C_S = 100.0;
static const double FASTEST_LIMIT_C_S = 2000.0;
/* From pulling to a cut spark, and what goes on over seconds without a reading
 * (common practice, no source). */
static const double MOST_CHANGE_C = 500.0;
static const double LONG_CHANGE_C_S = 100.0;
/* A stretch that goes astray for longer is believed. A wire that lets go for so
 * long and comes back to the same degree is rare; an engine that was cut and
 * restarted is not (common practice, no source). */
static const double ASTRAY_S = 5.0;
/* Astray means: by this share of the leap at least. */
static const double AWAY_SHARE = 0.4;
/* Below this a departure is noise, whatever the logger. The two others: times
 * the noise, and steps of the logger's resolution, above which a departure is
 * none of theirs (common practice, no source). */
static const double SMALLEST_ODD_C = 8.0;
static const double ODD_NOISES = 6.0;
static const double ODD_STEPS = 3.0;
/* Longest spike that the moving median removes; longer ones are stretches.
 * Half a window, so that a spike of a quarter second is outvoted by its
 * neighbours. */
static const double SPIKE_S = 0.25;
/* Slowest update that is believed of a sensor. A converter for thermocouples
 * takes 0.1 to 0.3 s; loggers read it once a second at the slowest (common
 * practice, no source). */
static const double SLOWEST_UPDATE_S = 1.0;
/* One value this long, and so many times longer than the longest usual one,
 * while RPM moves over this share of its range: stuck. Six seconds hold a
 * straight and a corner: the gas must have changed (common practice, no
 * source). */
static const double STUCK_S = 6.0;
static const double STUCK_TIMES_USUAL = 5.0;
static const double STUCK_RPM_SHARE = 0.2;
/* RPM that moves in the last of them proves nothing: a slow probe shows no heat
 * for it yet (common practice, no source). */
static const double FOLLOWS_S = 2.5;
/* An exhaust under way is hotter than this (common practice, no source). A
 * minute at work warms the header well beyond boiling water wherever the probe
 * sits in it, and once warm no seconds at work cool it. */
static const double COLD_C = 100.0;
static const double COLD_AFTER_S = 60.0;
static const double COLD_AGAIN_S = 5.0;

/* What the steps share. */
struct probe {
    const struct kw_session *session;
    double *egt_c;
    double *scratch;
    size_t *at;       /* samples with a reading */
    double *readings; /* their readings */
    size_t n;
    bool is_stale;    /* readings were set aside since they were gathered */
    double spacing_s; /* between two readings: a row, or more with blanks */
    double update_s;  /* between two fresh readings */
    double usual_c_s; /* how fast it usually goes at most */
    double limit_c_s; /* how fast it can go, be the spark cut */
    double climb_c_s; /* how fast it can climb in a pull */
    double slack_c;   /* what noise and rounding add */
    double top_rpm;
    struct kw_egt_verdict *verdict;
};

/* A reading is set aside once, for the first reason that is found. */
static void set_aside(struct probe *p, size_t sample, enum kw_egt_fault why)
{
    /* Each reading is counted under one fault only, so that the numbers told to
     * the person add up. */
    if (isnan(p->egt_c[sample]))
        return;
    p->is_stale = true;
    if (p->verdict->readings[why]++ == 0)
        p->verdict->first_s[why] = p->session->time_s[sample];
    p->egt_c[sample] = NAN;
}

/* Gathers what is left, so that a step sees readings only. */
static void gather(struct probe *p)
{
    if (!p->is_stale)
        return;
    p->is_stale = false;
    p->n = 0;
    for (size_t i = 0; i < p->session->n_samples; i++) {
        if (isnan(p->egt_c[i]))
            continue;
        p->at[p->n] = i;
        p->readings[p->n++] = p->egt_c[i];
    }
}

/* When the i-th of the readings that are left was taken. */
static double time_at(const struct probe *p, size_t i)
{
    return p->session->time_s[p->at[i]];
}

/* An open circuit of type K often reads the end of the converter, far beyond
 * any exhaust; a broken ground reads below zero. */
static void drop_beyond(struct probe *p)
{
    for (size_t i = 0; i < p->session->n_samples; i++) {
        if (p->egt_c[i] < LOWEST_C || p->egt_c[i] > HIGHEST_C)
            set_aside(p, i, KW_EGT_BEYOND);
    }
}

/* The one between the two others: what a spike beside sound readings is not. */
static double middle(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* A value that was converted from F to C repeats to the last bit but one. */
static bool is_same(double a, double b)
{
    return fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b));
}

/* How fast the fresh readings of this probe usually change at most. Each is
 * taken as the middle one of itself and its two neighbours, or a chafed wire
 * would teach its own leaps; where spikes meet, the slower four fifths still
 * bound what is usual. */
static double usual_fastest_c_s(const struct probe *p)
{
    /* The last three that differ. */
    double fresh_c[3] = {NAN, NAN, p->n > 0 ? p->readings[0] : NAN};
    double before_c = NAN; /* the middle one of the three before */
    double took_s = NAN;   /* to the second of the three */
    size_t kept = 0;
    for (size_t i = 1; i < p->n; i++) {
        if (is_same(p->readings[i], p->readings[i - 1]))
            continue;
        fresh_c[0] = fresh_c[1];
        fresh_c[1] = fresh_c[2];
        fresh_c[2] = p->readings[i];
        const double now_c = middle(fresh_c[0], fresh_c[1], fresh_c[2]);
        const double change_c = fabs(now_c - before_c);
        if (change_c > 0.0)
            p->scratch[kept++] = change_c / took_s;
        before_c = now_c;
        /* A reading that shows up between two rows was made within one update
         * of the converter, not within one row of the logger. */
        took_s = fmax(time_at(p, i) - time_at(p, i - 1), p->update_s);
    }
    const double sound_c_s =
        kw_quantile(p->scratch, kept, SOUND_SHARE, p->scratch);
    const double fastest_c_s =
        kw_quantile(p->scratch, kept, USUAL_SHARE, p->scratch);
    return fmin(fastest_c_s, TIMES_SOUND * sound_c_s);
}

/* A logger that writes EGT once a second leaves the rows between blank: what is
 * counted in readings takes so many seconds, not so many rows. */
static double usual_spacing_s(const struct probe *p)
{
    for (size_t i = 1; i < p->n; i++)
        p->scratch[i - 1] = time_at(p, i) - time_at(p, i - 1);
    const double usual_s =
        p->n > 1 ? kw_median(p->scratch, p->n - 1, p->scratch) : NAN;
    return fmax(1.0 / p->session->rate_hz, usual_s);
}

/* What this probe, on this logger, does when all is well. Noise and rounding
 * come on top of every limit: a reading in steps of 5 C leaps by 5 C. */
static void learn(struct probe *p)
{
    const double noise_c = kw_noise_sd(p->readings, p->n, p->scratch);
    const double step_c = kw_resolution(p->readings, p->n, p->scratch);
    const double samples = kw_update_samples(p->readings, p->n, p->scratch);
    p->spacing_s = usual_spacing_s(p);
    /* Flat readings tell nothing of the converter; then each counts as
     * fresh. */
    p->update_s = isnan(samples)
                      ? p->spacing_s
                      : fmin(samples * p->spacing_s, SLOWEST_UPDATE_S);
    p->slack_c =
        fmax(SMALLEST_ODD_C, fmax(ODD_NOISES * noise_c, ODD_STEPS * step_c));
    p->usual_c_s = usual_fastest_c_s(p);
    p->limit_c_s = fmin(fmax(TIMES_USUAL * p->usual_c_s, SLOWEST_LIMIT_C_S),
                        FASTEST_LIMIT_C_S);
    p->climb_c_s = fmin(fmax(TIMES_USUAL_UP * p->usual_c_s, SLOWEST_CLIMB_C_S),
                        p->limit_c_s);
}

/* Most that the probe can change in a time. */
static double most_change_c(const struct probe *p, double took_s)
{
    /* Within a gap of seconds the engine may have been cut and cooled: slow
     * changes are allowed on top, from 2 s on. */
    const double fast_c = fmin(p->limit_c_s * took_s, MOST_CHANGE_C);
    const double slow_c = LONG_CHANGE_C_S * fmax(took_s - 2.0, 0.0);
    return p->slack_c + fast_c + slow_c;
}

/* True when the probe cannot have gone from reading i - 1 to reading i. */
static bool is_jump(const struct probe *p, size_t i)
{
    const double change_c = fabs(p->readings[i] - p->readings[i - 1]);
    /* The usual answer without a look at the clock. */
    if (change_c <= p->slack_c)
        return false;
    const double took_s = fmax(time_at(p, i) - time_at(p, i - 1), p->update_s);
    return change_c > most_change_c(p, took_s);
}

/* First reading after i that differs from it. */
static size_t end_of_value(const struct probe *p, size_t i)
{
    size_t to = i + 1;
    while (to < p->n && is_same(p->readings[to], p->readings[i]))
        to++;
    return to;
}

/* Readings from .. to - 1. */
static void set_run_aside(struct probe *p,
                          size_t from,
                          size_t to,
                          enum kw_egt_fault why)
{
    for (size_t i = from; i < to; i++)
        set_aside(p, p->at[i], why);
}

/* True when the run of one value from .. to - 1 is an open circuit: it lasts,
 * and was reached or left at once. */
static bool is_open(const struct probe *p, size_t from, size_t to)
{
    /* Two equal readings at the end of the scale happen by chance at the top of
     * every pull. */
    enum { FEWEST = 3 };
    const double lasts_s = time_at(p, to - 1) - time_at(p, from);
    return to - from >= FEWEST && lasts_s > 2.0 * p->update_s &&
           ((from > 0 && is_jump(p, from)) || (to < p->n && is_jump(p, to)));
}

/* An open circuit reads one end of the scale. */
static void drop_open(struct probe *p)
{
    double lowest_c = INFINITY;
    double highest_c = -INFINITY;
    /* An open input floats to the rail of the converter, whatever that reads on
     * this logger: so the log's own extremes are asked, and no table of
     * numbers. */
    for (size_t i = 0; i < p->n; i++) {
        lowest_c = p->readings[i] < lowest_c ? p->readings[i] : lowest_c;
        highest_c = p->readings[i] > highest_c ? p->readings[i] : highest_c;
    }
    for (size_t from = 0; from < p->n;) {
        size_t to = from + 1;
        if (is_same(p->readings[from], lowest_c) ||
            is_same(p->readings[from], highest_c)) {
            to = end_of_value(p, from);
            if (is_open(p, from, to))
                set_run_aside(p, from, to, KW_EGT_OPEN);
        }
        from = to;
    }
}

/* Single readings and short runs of them, by the moving median. First of the
 * steps that need neighbours, so that a spike is no edge to the others. */
static enum kw_status drop_spikes(struct probe *p, struct kw_error *error)
{
    const double step_s = p->spacing_s;
    const double reach_s = fmax(fmax(SPIKE_S, 2.0 * step_s), p->update_s);
    /* Where the probe turns from falling to climbing, half a window of climb
     * lies between it and its neighbours' median. */
    const double turn_c = p->usual_c_s * reach_s / 2.0;
    const double took_s = fmax(step_s, p->update_s);
    const struct kw_spike_rule rule = {
        /* The subtraction keeps a product that rounding left a hair above a
         * whole number from going up by one. */
        .half = (size_t)ceil(reach_s / step_s - 1e-6),
        .above = p->slack_c + p->climb_c_s * took_s + turn_c,
        .below = most_change_c(p, took_s) + turn_c,
    };
    bool *odd = kw_array_new(p->n, sizeof *odd, error);
    if (odd == NULL)
        return KW_NO_MEMORY;
    enum kw_status status =
        kw_mark_spikes(p->readings, p->n, &rule, odd, error);
    for (size_t i = 0; status == KW_OK && i < p->n; i++) {
        if (odd[i])
            set_aside(p, p->at[i], KW_EGT_SPIKE);
    }
    free(odd);
    return status;
}

/* The level of the last few readings before `to`; one of them may be odd. */
static double level_before(const struct probe *p, size_t from, size_t to)
{
    enum { FEW = 5 };
    double few[FEW];
    const size_t n = to - from < FEW ? to - from : FEW;
    return kw_median(p->readings + to - n, n, few);
}

/* True when the readings away .. to - 1 were all off the level that was there
 * before, on one side, and `to` is back at it. */
static bool was_astray(const struct probe *p,
                       double level_c,
                       size_t away,
                       size_t to)
{
    /* In shares of the leap, so that one rule serves leaps up and down. */
    const double leap_c = p->readings[away] - level_c;
    const double took_s = time_at(p, to) - time_at(p, away - 1);
    const double most_c =
        p->slack_c + fmin(p->usual_c_s * took_s, MOST_CHANGE_C);
    if (took_s > ASTRAY_S || fabs(leap_c) <= most_change_c(p, p->update_s) ||
        fabs(p->readings[to] - level_c) > most_c)
        return false;
    for (size_t i = away; i < to; i++) {
        if ((p->readings[i] - level_c) / leap_c < AWAY_SHARE)
            return false;
    }
    return true;
}

/* A stretch that was entered by a jump and left by one, back to where the
 * reading had been for at least as many readings, is no temperature. */
static void drop_astray(struct probe *p)
{
    size_t settled = 0; /* where the readings before the stretch began */
    size_t away = 0;    /* where the stretch began; 0: there is none */
    for (size_t i = 1; i < p->n; i++) {
        if (!is_jump(p, i))
            continue;
        const bool back =
            away > 0 && away - settled >= i - away &&
            was_astray(p, level_before(p, settled, away), away, i);
        if (back) {
            set_run_aside(p, away, i, KW_EGT_ASTRAY);
            settled = i;
            away = 0;
        } else {
            /* Not back yet: what began with the jump before is now what was
             * there before this one. */
            settled = away;
            away = i;
        }
    }
}

/* How long one value usually lasts at most, while the engine is working. */
static double usual_hold_s(const struct probe *p)
{
    size_t kept = 0;
    for (size_t from = 0; from < p->n;) {
        const size_t to = end_of_value(p, from);
        /* Only while working: at idle a probe may rest for minutes. */
        if (p->session->rpm[p->at[from]] > p->top_rpm / 2.0)
            p->scratch[kept++] = time_at(p, to - 1) - time_at(p, from);
        from = to;
    }
    return kw_quantile(p->scratch, kept, 0.9, p->scratch);
}

/* A probe may well read one value for seconds while the engine idles or the
 * kart rolls along: only an engine that works at changing RPM must move it, and
 * the pull that ends a slow lap before the probe can follow has not yet. */
static bool rpm_moves(const struct probe *p, size_t from, size_t to)
{
    const double *time_s = p->session->time_s;
    const double stop_s = time_at(p, to - 1) - FOLLOWS_S;
    double lowest = INFINITY;
    double highest = -INFINITY;
    for (size_t i = p->at[from]; time_s[i] < stop_s; i++) {
        /* fmin() and fmax() pass over a missing RPM. */
        lowest = fmin(lowest, p->session->rpm[i]);
        highest = fmax(highest, p->session->rpm[i]);
    }
    return highest - lowest > STUCK_RPM_SHARE * p->top_rpm;
}

/* A reading that froze. The length of the usual runs of one value is the
 * measure: a logger that writes EGT in steps of 10 C repeats itself for long.
 */
static void drop_stuck(struct probe *p)
{
    const double usual_s = usual_hold_s(p);
    for (size_t from = 0; from < p->n;) {
        const size_t to = end_of_value(p, from);
        const double lasts_s = time_at(p, to - 1) - time_at(p, from);
        /* One value throughout: nothing usual to measure it by. */
        const bool alone = from == 0 && to == p->n;
        if (lasts_s > STUCK_S &&
            (alone || lasts_s > STUCK_TIMES_USUAL * usual_s) &&
            rpm_moves(p, from, to))
            set_run_aside(p, from, to, KW_EGT_STUCK);
        from = to;
    }
}

/* How long the engine worked over readings from .. to - 1. */
static double worked_s(const struct probe *p, size_t from, size_t to)
{
    double seconds = 0.0;
    for (size_t i = from; i < to; i++) {
        if (p->session->rpm[p->at[i]] > p->top_rpm / 2.0)
            seconds += p->spacing_s;
    }
    return seconds;
}

/* A probe that hangs beside the exhaust, or a lead that came off: cold though
 * the engine works, all day or from some moment on. */
static void drop_cold(struct probe *p)
{
    size_t to = 0;
    for (size_t from = 0; from < p->n; from = to + 1) {
        to = from;
        while (to < p->n && p->readings[to] < COLD_C)
            to++;
        if (worked_s(p, from, to) > (from > 0 ? COLD_AGAIN_S : COLD_AFTER_S))
            set_run_aside(p, from, to, KW_EGT_COLD);
    }
}

/* Each step sees only what the steps before it have left. */
static enum kw_status clean(struct probe *p, struct kw_error *error)
{
    /* The level that one sample in a hundred passes: glitches of the pickup are
     * rarer. */
    p->top_rpm = kw_quantile_of_sample(p->session->rpm, p->session->n_samples,
                                       0.99, p->scratch);
    drop_beyond(p);
    /* Nothing was gathered yet, whether or not anything was set aside. */
    p->is_stale = true;
    gather(p);
    learn(p);
    enum kw_status status = drop_spikes(p, error);
    gather(p);
    drop_open(p);
    gather(p);
    drop_astray(p);
    gather(p);
    drop_stuck(p);
    gather(p);
    drop_cold(p);
    gather(p);
    p->verdict->left = p->n;
    return status;
}

/* What every step needs is taken at once; only the search for spikes needs
 * more. */
enum kw_status kw_clean_egt(const struct kw_session *session,
                            double *egt_c,
                            struct kw_egt_verdict *verdict,
                            struct kw_error *error)
{
    const size_t n = session->n_samples;
    *verdict = (struct kw_egt_verdict){0};
    for (size_t i = 0; i < KW_N_EGT_FAULTS; i++)
        verdict->first_s[i] = NAN;
    struct probe p = {
        .session = session,
        .egt_c = egt_c,
        .scratch = kw_array_new(n, sizeof *p.scratch, error),
        .at = kw_array_new(n, sizeof *p.at, error),
        .readings = kw_array_new(n, sizeof *p.readings, error),
        .verdict = verdict,
    };
    enum kw_status status = KW_NO_MEMORY;
    if (p.scratch != NULL && p.at != NULL && p.readings != NULL)
        status = clean(&p, error);
    free(p.scratch);
    free(p.at);
    free(p.readings);
    return status;
}
