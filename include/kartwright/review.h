/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Analysis and advice: what happened in a session, and what to do about it.
 *
 *     struct kw_log log;
 *     struct kw_review review;
 *     if (kw_log_read("session.csv", NULL, &log, &error) == KW_OK &&
 *         kw_review_log(&log, NULL, &review, &error) == KW_OK) {
 *         ... review.laps, review.events, review.suggestions ...
 *     }
 *     kw_review_free(&review);
 *     kw_log_free(&log);
 *
 * Seconds are those of the session's clock: 0 at the log's first data row.
 */
#ifndef KARTWRIGHT_REVIEW_H
#define KARTWRIGHT_REVIEW_H

#include "kartwright/error.h"
#include "kartwright/log.h"
#include "kartwright/profile.h"
#include "kartwright/session.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* How soon something has to be done, least first. */
enum kw_urgency { KW_WATCH, KW_BEFORE_NEXT_RACE, KW_BEFORE_NEXT_RUN };

/* ---- running ------------------------------------------------------------- */

/* seconds   the engine turned under its own power.
 * starts    how often it came to life; running at the first row is none.
 * spans     the runs themselves, in samples, rising, none overlapping. A
 *           drop-out of the signal does not end a run; a hole of the log longer
 *           than KW_LONG_GAP_S does, and counts as no running. */
struct kw_running {
    double seconds;
    size_t starts;
    struct kw_spans spans;
};

/* ---- laps ---------------------------------------------------------------- */

/* How laps were told apart, most exact first: by the logger's own column, by
 * crossing the start/finish line, by the pattern that speed or RPM repeats. A
 * pattern knows the lap, but not where the line is painted. */
enum kw_lap_method {
    KW_LAPS_NONE,
    KW_LAPS_BY_COLUMN,
    KW_LAPS_BY_POSITION,
    KW_LAPS_BY_SPEED,
    KW_LAPS_BY_RPM
};

/* From the pits, from line to line, back to the pits. */
enum kw_lap_kind { KW_LAP_OUT, KW_LAP_FLYING, KW_LAP_IN };

/* number      1-based, in order of time, out and in laps counted too.
 * spoilt      a spin, a stop, a gap or a pit visit: kept in the list, left out
 *             of statistics and of the common pattern.
 * rpm_*, egt_*  over the lap, cleaned readings; NAN where not known. */
struct kw_lap {
    size_t number;
    enum kw_lap_kind kind;
    bool spoilt;
    double start_s;
    double end_s;
    double rpm_max;
    double rpm_min;
    double egt_max_c;
    double egt_mean_c;
};

/* items   by start_s, each starting where the last one ended.
 * place   place[n_samples]: how far round the lap a sample is, 0 to 1, the same
 *         place of the track on every lap (not the same share of the lap time);
 *         NAN outside laps. NULL when method is KW_LAPS_NONE.
 * line_*  the two ends of the line that was used with KW_LAPS_BY_POSITION, on
 *         the session's plane; NAN otherwise. */
struct kw_laps {
    enum kw_lap_method method;
    struct kw_lap *items;
    size_t n;
    size_t capacity;
    double *place;
    double line_x_m[2];
    double line_y_m[2];
};

/* ---- events -------------------------------------------------------------- */

/* What a detector can find. The first three have lists of their own in the
 * JSON, the others stand under "findings". */
enum kw_event_kind {
    KW_LEAN,
    KW_CLUTCH_ENGAGEMENT,
    KW_DROPOUT,
    KW_RICH,          /* cold under load: four-stroking, wet plug */
    KW_AIR_LEAK,      /* idle hangs or runs high, hot low down */
    KW_CLUTCH_SLIP,   /* slow starts, or a flare out of a slow corner */
    KW_CHAIN_JUMP,    /* RPM against speed jumps while locked */
    KW_EXHAUST_LEAK,  /* EGT low or erratic on all laps */
    KW_SEIZURE_ONSET, /* hot, then RPM falls against the throttle */
    KW_PROBE_FAULT,   /* EGT probe open, stuck or spiking */
    KW_N_EVENT_KINDS
};

/* What a drop-out speaks for: a wire (the signal or the spark goes at once and
 * comes back), the fuel (RPM sags and EGT rises), or neither clearly. */
enum kw_cause {
    KW_CAUSE_UNCLEAR,
    KW_CAUSE_LOOSE_CONNECTION,
    KW_CAUSE_FUEL_RESTRICTION
};

/* Where in the engine's own RPM range; it names the jet, needle or screw to
 * turn to. */
enum kw_rpm_region { KW_REGION_LOW, KW_REGION_MIDDLE, KW_REGION_TOP };

/* What lean was held against: the owner's limit, the rest of this session, or
 * another session that was good. */
enum kw_basis { KW_BASIS_LIMIT, KW_BASIS_SESSION, KW_BASIS_REFERENCE };

/* Engine against axle, or from the shape of RPM alone, which is an estimate. */
enum kw_clutch_method { KW_CLUTCH_BY_SPEED, KW_CLUTCH_BY_RPM };

/* Too hot for this RPM and load, for a while.
 *
 * peak_egt_c  hottest gas in it.
 * excess_c    how far above the basis, > 0.
 * region      the RPM at which it was hot.
 * basis       what it was held against. */
struct kw_lean {
    double peak_egt_c;
    double excess_c;
    enum kw_rpm_region region;
    enum kw_basis basis;
};

/* A start from a stand-still: the event runs from the first load on the clutch
 * to the moment in which engine and axle turn together.
 *
 * start_rpm       at which the clutch takes hold.
 * hold_rpm        at which it holds the engine while it slips.
 * slip_energy_kj  heat that went into the lining; NAN where not known. */
struct kw_engagement {
    double start_rpm;
    double hold_rpm;
    double slip_energy_kj;
    enum kw_clutch_method method;
};

/* RPM that went away though the driver did not lift.
 *
 * depth_rpm  how far from where it should have been, at most, > 0; NAN where
 *            only the exhaust showed it.
 * cause      what its shape speaks for.
 * one_reading  it was seen in a single reading. */
struct kw_dropout {
    double depth_rpm;
    enum kw_cause cause;
    bool one_reading;
};

/* One thing that was found.
 *
 * lap         kw_lap.number, 0 outside laps.
 * confidence  0 to 1: of the events given 0.9, nine in ten are right.
 * evidence    one sentence with the numbers that led to it; owned. Plain words,
 *             C and RPM, fit for a tired beginner.
 * detail      by kind: lean, engagement, dropout; else unused. */
struct kw_event {
    enum kw_event_kind kind;
    double start_s;
    double end_s;
    size_t lap;
    enum kw_urgency severity;
    double confidence;
    char *evidence;
    union {
        struct kw_lean lean;
        struct kw_engagement engagement;
        struct kw_dropout dropout;
    } detail;
};

/* A list that grows; start with a zeroed one. */
struct kw_events {
    struct kw_event *items;
    size_t n;
    size_t capacity;
};

/* Adds one event; evidence is copied (NULL stands for "").
 *
 * returns  KW_OK; KW_NO_MEMORY, and the list is as it was. */
enum kw_status kw_events_add(struct kw_events *events,
                             const struct kw_event *event,
                             struct kw_error *error);

/* Sorts by start_s, then kind. */
void kw_events_sort(struct kw_events *events);

/* Takes a zeroed list, and may be called twice. */
void kw_events_free(struct kw_events *events);

/* How many events of a kind there are. */
size_t kw_events_count(const struct kw_events *events, enum kw_event_kind kind);

/* RPM above the owner's own limit, glitches and drop-outs of the signal set
 * aside.
 *
 * limit_rpm    the profile's max_rpm; NAN where it states none.
 * times        how often; 0 for never, and then the rest is 0.
 * seconds      for how long in all.
 * highest_rpm, highest_s  how high, and when. */
struct kw_over_rev {
    double limit_rpm;
    size_t times;
    double seconds;
    double highest_rpm;
    double highest_s;
};

/* ---- advice -------------------------------------------------------------- */

/* What the whole log says about running the engine again, worst last; and last
 * of all that it says nothing. */
enum kw_verdict {
    KW_NOTHING_STANDS_OUT, /* nothing found; what could not be judged is said */
    KW_KEEP_WATCHING,      /* small things, not worth an evening yet */
    KW_MEND_BEFORE_RACE,   /* safe to run, but see to it before the race */
    KW_DO_NOT_RUN,         /* see to it before the engine runs again */
    KW_VERDICT_NOT_KNOWN   /* nothing found, and too little to find it in */
};

/* One thing to do. Texts are owned, UTF-8, a few plain sentences.
 *
 * rank     1 is first.
 * part     what to look at first: "fuel line, filter and tank vent".
 * why      what was found, how often, on which laps, with the numbers.
 * check    numbered steps, cheap and likely first, each with how to tell good
 *          from bad.
 * caution  what can hurt, and where the maker's sheet comes first. */
struct kw_suggestion {
    size_t rank;
    enum kw_urgency urgency;
    char *part;
    char *why;
    char *check;
    char *caution;
};

/* Most pressing first. */
struct kw_suggestions {
    struct kw_suggestion *items;
    size_t n;
    size_t capacity;
};

/* ---- the whole ----------------------------------------------------------- */

/* What the reviewer may know beside the log; every field may be zero.
 *
 * profile    of the kart.
 * reference  another session of the same kart that is known to be good.
 * reference_is_unproven  nothing was found in it, and no more is known: it
 *            shows what is different, and proves no mixture right.
 * since_reference  what was changed on the kart since then, to be said with all
 *            that is seen against it: "the main jet was changed from 145 to
 *            142". Untrusted text. */
struct kw_review_options {
    const struct kw_profile *profile;
    const struct kw_session *reference;
    bool reference_is_unproven;
    const char *since_reference;
};

/* log, session   as read and as cleaned; owned.
 * load           load[n_samples]: 1 under load, 0 not, NAN not known.
 * expected_c     expected_c[n_samples]: gas temperature that a right mixture
 *                gives here; NAN where not known; NULL without EGT.
 * expected_spread_c  two standard deviations around it, NAN likewise.
 * locked_rpm_per_m_s  engine RPM for each m/s of kart while the clutch is
 *                locked, as the log shows it; NAN without a speed.
 * reference_is_of_another  the two work at hardly any RPM in common: the
 *                reference was not used.
 * above_reference_c  how far the exhaust under load stands above that of the
 *                reference at the same RPM, in the middle of the session; NAN
 *                where it was not compared.
 * reference_c    reference_c[n_samples]: gas temperature that the reference
 *                gives at this RPM and load; NAN where it tells nothing; NULL
 *                where it was not compared.
 * reference_spread_c  two standard deviations around it.
 * egt_limit_c    the owner's own; NAN where none was stated.
 * over_rev       the owner's limit of RPM, where it was passed.
 * events         all kinds together, by start.
 * verdict        the worst that the suggestions ask for; not known where there
 *                are none and the engine hardly ran.
 * verdict_text   the same as one or two plain sentences; owned.
 * suggestions    most pressing first.
 * not_judged     what this log could not tell and why, one sentence each. */
struct kw_review {
    struct kw_log log;
    struct kw_session session;
    struct kw_running running;
    struct kw_laps laps;
    double *load;
    double *expected_c;
    double *expected_spread_c;
    double locked_rpm_per_m_s;
    bool reference_is_of_another;
    double above_reference_c;
    double *reference_c;
    double reference_spread_c;
    double egt_limit_c;
    struct kw_over_rev over_rev;
    struct kw_events events;
    enum kw_verdict verdict;
    char *verdict_text;
    struct kw_suggestions suggestions;
    struct kw_notices not_judged;
};

/* Reviews one log: signal, analysis, advice.
 *
 * log      as read; moved into *out when the result is KW_OK and then zeroed,
 *          else it stays the caller's as it was.
 * options  NULL for no profile and no reference.
 * out      the caller frees it with kw_review_free(). Zeroed on error.
 * error    filled in when the result is not KW_OK, else untouched.
 * returns  KW_OK; KW_BAD_INPUT (fewer than 2 rows); KW_NO_MEMORY. */
enum kw_status kw_review_log(struct kw_log *log,
                             const struct kw_review_options *options,
                             struct kw_review *out,
                             struct kw_error *error);

/* What load[i], or a mean of several, says: the engine pulls, the driver's foot
 * is down; or it is dragged, idles or stands. Both are false for NAN. */
bool kw_under_load(double load);
bool kw_off_load(double load);

/* Takes a zeroed review, and may be called twice. Frees the log too. */
void kw_review_free(struct kw_review *review);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
