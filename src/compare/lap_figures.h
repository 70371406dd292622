/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One row of figures for each lap, and which laps count. */
#ifndef KARTWRIGHT_COMPARE_LAP_FIGURES_H
#define KARTWRIGHT_COMPARE_LAP_FIGURES_H

#include "kartwright/compare.h"

enum { KW_MOST_BANDS = 40 };

/* width_rpm  of a band; band i reaches from i * width_rpm to the next.
 * step_s     highest and lowest readings are taken so far apart at least: a
 *            quicker logger sees higher tops.
 * window_s, least_gain_rpm_s  the engine is under load where RPM climbs so fast
 *            over such a window. Not the review's own word for it: that is
 *            learned from each session, and would shift with it.
 * smooths    RPM and the peak of EGT are taken from means over window_s: each
 *            logger counts pulses over a time of its own, and a quicker or a
 *            noisier one sees higher tops and lower lows.
 * driven_rpm no lap was driven whose RPM stayed below this.
 * limit_c    the owner's, NAN for none.
 * has_egt    false where one of the two sides has none: laps need none then. */
struct kw_figure_options {
    double width_rpm;
    double step_s;
    double window_s;
    double least_gain_rpm_s;
    bool smooths;
    double driven_rpm;
    double limit_c;
    bool has_egt;
};

/* lap         which, and whether it counts.
 * NAN where a figure is not known.
 * turns       of the engine on the lap: with the clutch locked they hang on the
 *             track and the gearing alone, not on how fast it was driven.
 * band_s      under load in the band, with gas known; band_heat_c_s the gas
 *             over that time: their quotient is the mean.
 * gain_s      under load in the band; gain_rpm what RPM gained in it.
 * fine_s, fine_heat_c_s  the same in the steps of the heat curve. */
struct kw_lap_figures {
    struct kw_compared_lap lap;
    double time_s;
    double turns;
    double rpm_max;
    double rpm_min;
    double egt_peak_c;
    double egt_mean_c;
    double loaded_c;
    double over_limit_s;
    double lean_s;
    double dropouts;
    double band_s[KW_MOST_BANDS];
    double band_heat_c_s[KW_MOST_BANDS];
    double gain_s[KW_MOST_BANDS];
    double gain_rpm[KW_MOST_BANDS];
    double fine_s[KW_MOST_HEAT_STEPS];
    double fine_heat_c_s[KW_MOST_HEAT_STEPS];
};

/* Steps of the heat curve for each band. */
enum { KW_FINE_STEPS = 4 };

struct kw_lap_table {
    struct kw_lap_figures *rows;
    size_t n;
    size_t capacity;
};

/* Measures every lap of one side and says which count.
 *
 * gas      gas[log]: what to take for the gas temperature of each session, or
 *          NULL for its own gas_c.
 * out      the caller frees it with kw_lap_table_free().
 * returns  KW_OK; KW_NO_MEMORY. */
enum kw_status kw_measure_side(const struct kw_compare_sessions *sessions,
                               const double *const *gas,
                               const struct kw_figure_options *options,
                               struct kw_lap_table *out,
                               struct kw_error *error);
void kw_lap_table_free(struct kw_lap_table *table);

#endif
