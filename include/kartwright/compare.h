/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compare: did a change help? Sessions before it and after it, lap for lap.
 *
 *     const struct kw_compare_sessions before = {reviews_before, 1, NULL};
 *     const struct kw_compare_sessions after = {reviews_after, 2, &air};
 *     struct kw_comparison comparison;
 *     if (kw_compare(&before, &after, NULL, &comparison, &error) == KW_OK) {
 *         ... comparison.summary, comparison.measures.items[0].verdict ...
 *         kw_comparison_free(&comparison);
 *     }
 *
 * The unit of evidence is the lap (for the clutch: the start): samples inside a
 * lap are not independent. Pure sums: no files, no state, and the same answer
 * for the same sessions.
 */
#ifndef KARTWRIGHT_COMPARE_H
#define KARTWRIGHT_COMPARE_H

#include "kartwright/error.h"
#include "kartwright/notice.h"
#include "kartwright/profile.h"
#include "kartwright/review.h"
#include "kartwright/trackside.h"

#ifdef __cplusplus
extern "C" {
#endif
#if defined(__GNUC__)
#pragma GCC visibility push(default)
#endif

/* The two sides; also indices of the arrays below. */
enum kw_side { KW_BEFORE, KW_AFTER, KW_N_SIDES };

/* ---- what is compared ---------------------------------------------------- */

/* One side as it goes in.
 *
 * reviews  reviews[n], n >= 1, in the order in which they were driven.
 * air      of that day, NULL where it is not known. */
struct kw_compare_sessions {
    const struct kw_review *reviews;
    size_t n;
    const struct kw_air *air;
};

/* profile  for the owner's limit and the engine's own top; NULL for none. */
struct kw_compare_options {
    const struct kw_profile *profile;
};

/* ---- laps ---------------------------------------------------------------- */

/* Why a lap does not count. Only one reason is given, the first that holds. */
enum kw_lap_use {
    KW_LAP_USED,
    KW_LAP_IS_OUT,
    KW_LAP_IS_IN,
    KW_LAP_IS_SPOILT,   /* a spin, a stop, a gap, a visit to the pits */
    KW_LAP_HAS_DROPOUT, /* its RPM cannot be trusted, or the engine was ill */
    KW_LAP_HAS_NO_EGT,  /* the probe was dead or set aside for a tenth of it */
    KW_LAP_IS_SLOW,     /* traffic, a yellow flag: far from the usual time */
    KW_LAP_IS_COLD,     /* the pipe was still warming up */
    KW_LAP_IS_IDLE,     /* no lap: the engine was never taken up */
    KW_N_LAP_USES
};

/* returns  constant words, "still warming up"; "" for a value outside. */
const char *kw_lap_use_words(enum kw_lap_use use);

/* log     index of the session on its side.
 * number  kw_lap.number in it. */
struct kw_compared_lap {
    size_t log;
    size_t number;
    enum kw_lap_use use;
};

/* ---- measures ------------------------------------------------------------ */

/* Usable laps (for the clutch: starts) of each side: fewer have no scatter to
 * judge by. */
enum { KW_FEWEST_LAPS = 3 };

/* What can be said of a change. "No clear change" is not "no change": see
 * kw_measure.smallest for what would have been seen. */
enum kw_change {
    KW_NO_CLEAR_CHANGE,
    KW_ROSE,
    KW_FELL,
    KW_TOO_FEW_LAPS /* fewer than KW_FEWEST_LAPS on a side */
};

/* returns  the contract's word, "no_clear_change"; constant. */
const char *kw_change_name(enum kw_change change);

/* What one measure did.
 *
 * name         the contract's: "egt_c", "lap_time_s"; constant.
 * unit         "C", "s", "rpm", "rpm/s", "" for a count; constant.
 * rpm_from, rpm_to  the band; NAN for a measure of the whole lap.
 * values       values[side][n[side]], one for each lap or start; owned.
 * laps         laps[side][n[side]]: index in kw_compare_side.laps of the lap
 *              that gave the value; NULL for starts; owned.
 * mean         mean[side], at the same time into the session on both sides
 *              where enough laps tell how it drifts; NAN without values.
 * difference   mean after minus mean before.
 * low, high    95 % interval of it.
 * df           Welch's degrees of freedom.
 * p            two-sided; p_adjusted the same, corrected for the number of
 *              measures, question by question (Hochberg 1988).
 * smallest     a change that these laps would have shown four times in five,
 *              the correction included. NAN, like low, high and p, where there
 *              are too few. */
struct kw_measure {
    const char *name;
    const char *unit;
    double rpm_from;
    double rpm_to;
    double *values[KW_N_SIDES];
    size_t *laps[KW_N_SIDES];
    size_t n[KW_N_SIDES];
    double mean[KW_N_SIDES];
    double difference;
    double low;
    double high;
    double df;
    double p;
    double p_adjusted;
    double smallest;
    enum kw_change verdict;
};

struct kw_measures {
    struct kw_measure *items;
    size_t n;
    size_t capacity;
};

/* ---- curves for plots ---------------------------------------------------- */

enum { KW_COURSE_PIECES = 100, KW_MOST_HEAT_STEPS = 100 };

/* What one side shows, from its used laps.
 *
 * laps, n_laps      every lap of its sessions, used or not; owned.
 * n_used, n_left_out  counts of them.
 * air_density_kg_m3   NAN where the air is not known.
 * course_rpm, course_egt_c  middle of the laps at each piece of the track; the
 *                     after side is turned to start where the before side
 *                     does. NAN where not known.
 * heat_c, heat_low_c, heat_high_c  EGT under load, lag taken out, at
 *                     (i + 0.5) * heat_step_rpm: mean of the laps' means and
 *                     two standard deviations of them on each side; NAN where
 *                     fewer than 3 laps went. */
struct kw_compare_side {
    struct kw_compared_lap *laps;
    size_t n_laps;
    size_t n_used;
    size_t n_left_out;
    double air_density_kg_m3;
    double course_rpm[KW_COURSE_PIECES];
    double course_egt_c[KW_COURSE_PIECES];
    double heat_c[KW_MOST_HEAT_STEPS];
    double heat_low_c[KW_MOST_HEAT_STEPS];
    double heat_high_c[KW_MOST_HEAT_STEPS];
};

/* ---- the whole ----------------------------------------------------------- */

/* How much of the mixture change the air alone explains; percent of fuel/air,
 * richer is positive.
 *
 * air_percent   NAN unless both days' air is known.
 * seen_percent  from the change of EGT under load, 10 C for each percent
 *               (common practice, no source), on the rich side of the hottest
 *               mixture; NAN without EGT on both sides, and where track,
 *               gearing or probe differ.
 * left_percent  what is left for the jet; NAN where one is not known. */
struct kw_air_share {
    double air_percent;
    double seen_percent;
    double left_percent;
};

/* sides       what was compared.
 * heat_step_rpm  of the heat curves.
 * measures    in the order in which they are shown.
 * air         see above.
 * not_alike   what makes the two sides hard to compare: other track, gearing,
 *             probe, order, rate; one sentence each.
 * summary     one sentence or two that a person can act on; owned.
 * suggestion  what to do, with the caution that goes with it; owned. */
struct kw_comparison {
    struct kw_compare_side sides[KW_N_SIDES];
    double heat_step_rpm;
    struct kw_measures measures;
    struct kw_air_share air;
    struct kw_notices not_alike;
    char *summary;
    char *suggestion;
};

/* Compares.
 *
 * options  NULL for no profile.
 * out      the caller frees it with kw_comparison_free(). Zeroed on error.
 * returns  KW_OK, also where there are too few laps, or none; KW_NO_MEMORY.
 * source   Welch, Biometrika 34 (1947) 28; Hochberg, Biometrika 75 (1988)
 *          800; serial dependence: Bayley and Hammersley 1946 (from memory). */
enum kw_status kw_compare(const struct kw_compare_sessions *before,
                          const struct kw_compare_sessions *after,
                          const struct kw_compare_options *options,
                          struct kw_comparison *out,
                          struct kw_error *error);

/* Takes a zeroed comparison, and may be called twice. The reviews stay. */
void kw_comparison_free(struct kw_comparison *comparison);

/* The measure of that name in the band that holds rpm (NAN for a whole lap).
 *
 * returns  NULL when it is not shown. */
const struct kw_measure *kw_measure_named(const struct kw_comparison *from,
                                          const char *name,
                                          double rpm);

#if defined(__GNUC__)
#pragma GCC visibility pop
#endif
#ifdef __cplusplus
}
#endif
#endif
