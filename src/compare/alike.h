/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What makes two sides hard to compare, beside the change that was meant. */
#ifndef KARTWRIGHT_COMPARE_ALIKE_H
#define KARTWRIGHT_COMPARE_ALIKE_H

#include "compare/lap_figures.h"
#include "compare/shared_gas.h"

/* sessions, tables  of both sides.
 * gas               for the probes.
 * driven_rpm        as in struct kw_figure_options.
 * course_fit        of kw_turn_course(). */
struct kw_alike_source {
    const struct kw_compare_sessions *sessions[KW_N_SIDES];
    const struct kw_lap_table *tables[KW_N_SIDES];
    const struct kw_shared_gas *gas;
    double driven_rpm;
    double course_fit;
};

/* what was found to differ, for the summary.
 *
 * same      no difference at all: each log of one side stands on the other too.
 * idle      idle[side]: the kart was not driven there; nothing else is asked.
 * kart      two karts or engines; nothing else is asked.
 * logger    the sample rates differ.
 * doubtful  the probe may be another one; it is asked. */
struct kw_differences {
    bool same;
    bool idle[KW_N_SIDES];
    bool order;
    bool track;
    bool kart;
    bool gearing;
    bool probe;
    bool logger;
    bool doubtful;
};

/* Looks for two sessions in the wrong order, two tracks, another gearing,
 * another probe, another sample rate; adds a sentence for each.
 *
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_differences(const struct kw_alike_source *source,
                                   struct kw_differences *found,
                                   struct kw_notices *notices,
                                   struct kw_error *error);

/* Engine turns for each metre while the engine pulls at speed, the clutch
 * locked; NAN without speed. */
double kw_turns_per_m(const struct kw_review *review);

#endif
