/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the figures of the laps to the measures that are shown. */
#ifndef KARTWRIGHT_COMPARE_MEASURES_H
#define KARTWRIGHT_COMPARE_MEASURES_H

#include "compare/lap_figures.h"

/* What both sides gave.
 *
 * sessions  sessions[side], for the starts through the clutch.
 * tables    tables[side].
 * width_rpm of the bands.
 * row_s     from one row to the next on the slower side.
 * lap_step_s, rpm_step, egt_step_c  resolution of the coarser side, 0 for none
 *           known: laps that agree better than that do not agree, they were
 *           rounded.
 * other_logger  the two sides were logged at other rates or resolutions. */
struct kw_measure_source {
    const struct kw_compare_sessions *sessions[KW_N_SIDES];
    const struct kw_lap_table *tables[KW_N_SIDES];
    double width_rpm;
    double row_s;
    double lap_step_s;
    double rpm_step;
    double egt_step_c;
    bool other_logger;
};

/* Adds every measure that both sides can show, tested and judged.
 *
 * out      empty before; the caller frees it with kw_measures_free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_find_measures(const struct kw_measure_source *source,
                                struct kw_measures *out,
                                struct kw_error *error);
void kw_measures_free(struct kw_measures *measures);

#endif
